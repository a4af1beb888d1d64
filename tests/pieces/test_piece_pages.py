"""Typing, bringing, working up and deciding, as a teacher's browser asks for it."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from pieces.models import Arrangement, BroughtFile, Piece
from pieces.music.tab import read_tab
from pieces.workup import decide, revise, workup_of
from tests.tune import TUNE

pytestmark = pytest.mark.django_db

TUNE_IN_ABC = b"""X:1
T:Small Tune
M:3/4
L:1/4
K:G
GAB|d2B|A3|G3|]
"""


@pytest.fixture
def desk(cast, sign_in):
    return sign_in(cast.owner)


@pytest.fixture
def arrangement(desk):
    desk.post(reverse("piece_new"), {"text": TUNE, "rights": "own"})
    return Arrangement.objects.get()


def test_a_typed_piece_is_kept_and_shown_worked_up(desk, arrangement):
    page = desk.get(reverse("arrangement", args=[arrangement.pk])).content.decode()
    assert arrangement.piece.title == "Eight Stairs"
    assert 'id="b3e2"' in page  # every event of the strip can be pointed at
    assert "Hard spots" in page


def test_a_faulty_text_is_refused_in_words_and_stays_in_the_field(desk, cast):
    faulty = TUNE.replace("A|-3---2", "A|-3---z")
    page = desk.post(reverse("piece_new"), {"text": faulty, "rights": ""}).content.decode()
    assert "bar 1" in page
    assert "A|-3---z" in page
    assert not Piece.objects.exists()


def test_the_live_check_says_every_problem_and_never_fails(desk, cast):
    for text in ("", "|", "A|-", "title: x\nmeter: 99/7", "\x00", "A|--\n" * 400):
        assert desk.post(reverse("piece_check"), {"text": text}).status_code == 200


def test_a_decision_wins_and_survives_a_new_revision(desk, arrangement):
    desk.post(
        reverse("bar", args=[arrangement.pk, 3]),
        {**bar_form(desk, arrangement, 3), "difficulty": "9.5"},
    )
    arrangement.refresh_from_db()
    edited = TUNE.replace("A|-3---2---0-----|", "A|-3---2---3-----|")

    revise(arrangement, read_tab(edited), typed=edited)
    workup = workup_of(Arrangement.objects.get())
    assert workup.ratings[3].score == 9.5
    assert "You said 9.5" in workup.ratings[3].reasons[0]


def test_an_own_shape_must_sound_on_these_strings(desk, arrangement):
    form = {**bar_form(desk, arrangement, 3), "shape|F": "20"}
    page = desk.post(reverse("bar", args=[arrangement.pk, 3]), form).content.decode()
    assert "one fret for each of the 4 strings" in page


def test_a_finding_is_confirmed_by_one_press_and_asked_no_more(desk, arrangement):
    finding = workup_of(arrangement).findings[0]
    desk.post(reverse("decide", args=[arrangement.pk]), {"key": finding.key, "choice": "right"})
    page = desk.get(reverse("arrangement", args=[arrangement.pk])).content.decode()
    assert finding.head not in page


def test_a_choice_changes_what_was_found(desk, arrangement):
    workup = workup_of(arrangement)
    finding = next(f for f in workup.findings if f.key.startswith("finger:"))
    bar, event, string = (int(part) for part in finding.key.partition(":")[2].split("."))
    desk.post(reverse("decide", args=[arrangement.pk]), {"key": finding.key, "choice": "0"})
    notes = workup_of(arrangement).score.bar(bar).events[event].notes
    assert next(n.finger for n in notes if n.string == string) == finding.choices[0].value


def test_what_was_decided_can_be_taken_back(desk, arrangement):
    decide(arrangement, "difficulty:2", 1.0)
    desk.post(reverse("decide", args=[arrangement.pk]), {"key": "difficulty:2", "do": "undo"})
    assert workup_of(arrangement).ratings[2].score != 1.0


def test_a_brought_file_is_shown_before_it_is_kept(desk, cast):
    file = SimpleUploadedFile("small.abc", TUNE_IN_ABC)
    shown = desk.post(reverse("piece_bring"), {"file": file})
    brought = BroughtFile.objects.get()
    assert shown.url == reverse("piece_brought", args=[brought.pk])
    page = desk.get(shown.url).content.decode()
    assert "Small Tune" in page
    assert not Piece.objects.exists()
    kept = desk.post(
        shown.url, {"do": "keep", "tuning": "ukulele high G", "title": "Small Tune", "rights": "public"}
    )
    assert kept.status_code == 302
    assert Piece.objects.get().title == "Small Tune"
    assert not BroughtFile.objects.exists()
    assert workup_of(Arrangement.objects.get()).score.is_set


def test_a_tune_below_the_instrument_is_moved_only_by_choice(desk, cast):
    low = TUNE_IN_ABC.replace(b"GAB|d2B|A3|G3|]", b"G,A,B,|D2B,|A,3|G,3|]")
    shown = desk.post(reverse("piece_bring"), {"file": SimpleUploadedFile("low.abc", low)})
    answers = {"do": "keep", "tuning": "ukulele high G", "title": "Low", "rights": ""}
    page = desk.post(shown.url, answers)
    assert page.status_code == 200
    assert "does not fit" in page.content.decode()
    assert not Piece.objects.exists()
    key = page.context["form"].fields["semitones"].choices[1][0]
    assert desk.post(shown.url, {**answers, "semitones": key}).status_code == 302


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("empty.mid", b"MThd"),
        ("bomb.xml", b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>'),
        ("not.mxl", b"PK\x03\x04nothing"),
        ("note.exe", b"MZ"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_in_words(desk, cast, name, data):
    page = desk.post(reverse("piece_bring"), {"file": SimpleUploadedFile(name, data)})
    assert page.status_code == 200
    assert page.context["form"].errors["file"]
    assert not BroughtFile.objects.exists()


def test_a_piece_with_unsettled_rights_is_asked_about_before_it_is_printed(desk, arrangement):
    arrangement.piece.rights = ""
    arrangement.piece.save()
    address = reverse("piece_pdf", args=[arrangement.pk])
    assert b"Before you print" in desk.get(address).content
    assert desk.post(address).content.startswith(b"%PDF-")


def bar_form(desk, arrangement, number) -> dict:
    """The bar's form as the page shows it."""
    form = desk.get(reverse("bar", args=[arrangement.pk, number])).context["form"]
    return {field.html_name: field.value() or "" for field in form if field.value() not in (None, False)}

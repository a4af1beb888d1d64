"""Arranging a tune, setting it for another instrument, and choosing shapes, as a browser asks for it."""

import html
import json
import re

import pytest
from django.urls import reverse

from pieces.models import Arrangement, Override
from pieces.music.tab import read_tab
from pieces.workup import add_piece, decide, workup_of

pytestmark = pytest.mark.django_db

MELODY = """title: Two Lanterns
tuning: ukulele high G
meter: 4/4
tempo: 72
key: C

A|-3---2---0-----|-0-------2-3---|
E|---------------|---------------|
C|---------------|---------------|
G|---------------|---------------|
   1   2   3   4   1   2   3 & 4
"""
WITH_CHORDS = MELODY.replace("C\n\n", "C\n\n   C               G7\n")
WIDE = """title: Cellar and Loft
tuning: guitar
meter: 4/4
tempo: 72

E|-12------------|---------------|
B|---------------|---------------|
G|---------------|---------------|
D|---------------|---------------|
A|---------------|---------------|
E|---------------|-0-------------|
   1   2   3   4   1   2   3   4
"""


@pytest.fixture
def desk(cast, sign_in):
    return sign_in(cast.owner)


@pytest.fixture
def of(cast):
    """The arrangement of a typed piece in the cast's studio."""

    def made(text, **more):
        return add_piece(cast.studio, read_tab(text), rights="own", **more)

    return made


def words(answer) -> str:
    return html.unescape(answer.content.decode())


def asked(arrangement, **more):
    """The form of the Arrange page as it is first shown."""
    return {
        "tuning": "ukulele high G",
        "picking": "thumb and two",
        "semitones": "0",
        "chords": "C | G7",
        **more,
    }


def test_the_piece_page_leads_to_arranging_instruments_and_shapes(desk, of):
    arrangement = of(WITH_CHORDS)
    page = words(desk.get(reverse("arrangement", args=[arrangement.pk])))
    for name in ("arrange", "set_for", "shapes"):
        assert f'href="{reverse(name, args=[arrangement.pk])}"' in page


def test_four_levels_stand_side_by_side_and_keys_have_reasons(desk, of):
    page = words(desk.get(reverse("arrange", args=[of(WITH_CHORDS).pk])))
    assert page.count("Keep this level") == 4
    assert page.count('<svg class="strip"') == 4 * 2
    assert "C, as written" in page
    assert "open or on the first three frets" in page
    assert page.count('name="bar-1"') == 4


def test_proposed_chords_are_marked_and_given_ones_are_not(desk, of):
    bare = words(desk.get(reverse("arrange", args=[of(MELODY).pk])))
    given = words(desk.get(reverse("arrange", args=[of(WITH_CHORDS).pk])))
    assert "are a proposal" in bare and re.search(r">\((C|Am|F)\)<", bare)
    assert "are a proposal" not in given and ">C<" in given and ">(C)<" not in given


def test_chords_that_a_teacher_changes_are_a_proposal_no_more(desk, of):
    arrangement = of(MELODY)
    page = words(desk.post(reverse("arrange", args=[arrangement.pk]), asked(arrangement, chords="F | C7")))
    assert ">F<" in page and "are a proposal" not in page


def test_a_whole_level_is_kept_as_another_arrangement(desk, of):
    arrangement = of(WITH_CHORDS)
    answer = desk.post(reverse("arrange", args=[arrangement.pk]), asked(arrangement, do="keep-3"))
    kept = Arrangement.objects.latest("pk")
    assert answer.url == reverse("arrangement", args=[kept.pk])
    assert kept.piece == arrangement.piece and kept.name == "melody over partial chords on strong beats"
    assert max(len(event.notes) for bar in kept.to_score().bars for event in bar.events) == 3
    assert len(arrangement.to_score().bars[0].events[0].notes) == 1


def test_bar_by_bar_each_bar_is_kept_at_its_level(desk, of):
    arrangement = of(WITH_CHORDS)
    form = asked(arrangement, do="keep", **{"bar-1": "4", "bar-2": "1"})
    desk.post(reverse("arrange", args=[arrangement.pk]), form)
    first, second = Arrangement.objects.latest("pk").to_score().bars
    assert max(len(event.notes) for event in first.events) > 2
    assert {len(event.notes) for event in second.events} == {1}


def test_bars_without_a_level_are_named_and_nothing_is_kept(desk, of):
    arrangement = of(WITH_CHORDS)
    for do in ("keep", "whole"):
        page = words(
            desk.post(reverse("arrange", args=[arrangement.pk]), asked(arrangement, do=do, **{"bar-1": "2"}))
        )
        assert "Choose a level for bar 2 as well." in page
    assert Arrangement.objects.count() == 1


def test_one_press_chooses_a_level_for_every_bar_and_whole_shows_it(desk, of):
    arrangement = of(WITH_CHORDS)
    address = reverse("arrange", args=[arrangement.pk])
    page = words(desk.post(address, asked(arrangement, do="every-2")))
    assert page.count(" checked><span>2 with thumb") == 2
    whole = words(desk.post(address, asked(arrangement, do="whole", **{"bar-1": "2", "bar-2": "4"})))
    assert "As chosen" in whole


def test_a_key_moves_the_tune_and_its_chords_and_is_in_the_name(desk, of):
    arrangement = of(WITH_CHORDS)
    desk.post(reverse("arrange", args=[arrangement.pk]), asked(arrangement, semitones="2", do="keep-1"))
    kept = Arrangement.objects.latest("pk")
    assert kept.name == "melody alone, in D"
    assert [mark.symbol for bar in kept.to_score().bars for mark in bar.chords] == ["D", "A7"]
    assert kept.to_score().bars[0].events[0].notes[0].pitch == 74


def test_two_kept_alike_have_names_that_tell_them_apart(desk, of):
    arrangement = of(WITH_CHORDS)
    for _ in range(2):
        desk.post(reverse("arrange", args=[arrangement.pk]), asked(arrangement, do="keep-2"))
    names = set(Arrangement.objects.values_list("name", flat=True))
    assert {"melody with open or thumb notes", "melody with open or thumb notes 2"} <= names


def test_a_tune_out_of_reach_is_said_with_its_bars_and_other_keys_stay_to_choose(desk, of):
    arrangement = of(WIDE)
    page = words(
        desk.post(reverse("arrange", args=[arrangement.pk]), asked(arrangement, do="keep-1", chords="|"))
    )
    assert "does not fit ukulele high G" in page and "see bar" in page
    assert 'name="semitones"' in page
    assert Arrangement.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"chords": "C"}, "The piece has 2 bars; 1 are written here."),
        ({"chords": "C | Hx"}, "Bar 2:"),
        ({"tuning": "lute"}, "lute"),
        ({"semitones": "x"}, "whole number"),
    ],
)
def test_what_cannot_be_arranged_is_said_in_words_and_nothing_is_kept(desk, of, wrong, said):
    arrangement = of(WITH_CHORDS)
    form = asked(arrangement, do="keep-2", **wrong)
    assert said in words(desk.post(reverse("arrange", args=[arrangement.pk]), form))
    assert Arrangement.objects.count() == 1


def test_a_pickup_has_a_row_of_its_own(desk, of):
    pickup = WITH_CHORDS.replace("A|-3---2", "A|-3-|-3---2").replace("\n   C ", "\n       C ")
    pickup = re.sub(r"(?m)^([ECG])\|", r"\1|---|", pickup).replace("\n   1   2", "\n   4   1   2")
    page = words(desk.get(reverse("arrange", args=[of(pickup).pk])))
    assert "<legend>Bar 0</legend>" in page
    assert page.count('<svg class="strip"') == 4 * 3


REPEATED = """title: Three Steps
tuning: ukulele high G
meter: 4/4
tempo: 72
key: C

   C               G7              C               G7
A|-3---2---0-----|-2-------2-3---|-3---2---0-----|-2-------2-3---|
E|---------------|---------------|---------------|---------------|
C|---------------|---------------|---------------|---------------|
G|---------------|---------------|---------------|---------------|
   1   2   3   4   1   2   3 & 4   1   2   3   4   1   2   3 & 4
"""


def test_a_repeat_is_not_drawn_again_and_follows_its_first_bar_unless_told_otherwise(desk, of):
    arrangement = of(REPEATED)
    address = reverse("arrange", args=[arrangement.pk])
    page = words(desk.get(address))
    assert "the same as bar 1" in page
    assert page.count('<svg class="strip"') < 4 * 4
    form = asked(arrangement, do="keep", chords="C | G7 | C | G7")
    desk.post(address, {**form, "bar-1": "4", "bar-2": "1", "bar-3": "as-1", "bar-4": "2"})
    kept = Arrangement.objects.latest("pk").to_score()
    most = [max(len(event.notes) for event in bar.events) for bar in kept.bars]
    assert most[0] == most[2] > 2
    assert (most[1], most[3]) == (1, 2)


def test_a_teachers_own_chords_are_those_that_are_arranged(desk, of):
    arrangement = of(WITH_CHORDS)
    decide(arrangement, "chords:2", [["0", "F"]])
    page = words(desk.get(reverse("arrange", args=[arrangement.pk])))
    assert ">C | F</textarea>" in page.replace(">\r\nC", ">C").replace(">\nC", ">C")


def test_another_instrument_shows_what_changes_before_it_is_kept(desk, of):
    arrangement = of(WITH_CHORDS)
    address = reverse("set_for", args=[arrangement.pk])
    page = words(desk.post(address, {"tuning": "baritone ukulele", "keep": "shapes"}))
    assert "The same frets sound five half steps lower" in page
    assert Arrangement.objects.count() == 1
    desk.post(address, {"tuning": "baritone ukulele", "keep": "shapes", "do": "keep"})
    kept = Arrangement.objects.latest("pk")
    assert kept.to_score().tuning.name == "baritone ukulele"
    assert kept.name == "melody and thumb, baritone ukulele"
    assert kept.to_score().bars[0].events[0].notes[0].fret == 3


def test_shapes_that_would_be_other_chords_there_are_refused_in_words(desk, of):
    arrangement = of(WITH_CHORDS.replace("E|---------------|-", "E|-0-------------|-"))
    form = {"tuning": "mandolin", "keep": "shapes", "do": "keep"}
    page = words(desk.post(reverse("set_for", args=[arrangement.pk]), form))
    assert "the same shapes would sound other chords" in page
    assert Arrangement.objects.count() == 1


def test_other_fingers_are_chosen_kept_and_taken_back(desk, of):
    arrangement = of(WITH_CHORDS)
    address = reverse("shapes", args=[arrangement.pk])
    assert "Middle instead of ring on string 1." in words(desk.get(address))
    desk.post(address, {"shape|C": "0003:0002", "movement": "0.5"})
    assert Override.objects.get().value == {"frets": [0, 0, 0, 3], "fingers": [0, 0, 0, 2]}
    assert workup_of(Arrangement.objects.get()).holds[0].shape.fingers == (0, 0, 0, 2)
    page = words(desk.get(reverse("arrangement", args=[arrangement.pk])))
    assert "C is 0003, fingers 2." in page
    desk.post(address, {"shape|C": ""})
    assert not Override.objects.exists()


def test_the_page_of_a_bar_offers_its_own_chords_and_leads_back(desk, of):
    arrangement = of(WITH_CHORDS)
    bar = reverse("bar", args=[arrangement.pk, 1])
    page = words(desk.get(bar))
    assert "Middle instead of ring on string 1." in page
    assert 'name="shape|C"' in page and 'value="0212' not in page
    answer = desk.post(reverse("shapes", args=[arrangement.pk]), {"shape|C": "0003:0002", "bar": "1"})
    assert answer.url == bar
    assert Override.objects.get().key == "shape:C"


def test_an_easier_neighbour_is_offered_and_never_taken_by_itself(desk, of):
    arrangement = of(WITH_CHORDS)
    page = words(desk.get(reverse("shapes", args=[arrangement.pk])))
    assert "C6 (0000) instead of C (0003): it adds A" in page
    assert workup_of(arrangement).holds[0].shape.written == "0003"


def test_a_shape_that_was_not_offered_is_not_kept(desk, of):
    arrangement = of(WITH_CHORDS)
    desk.post(reverse("shapes", args=[arrangement.pk]), {"shape|C": "9999:1111", "shape|Q": "0003:0002"})
    assert not Override.objects.exists()


@pytest.mark.parametrize(("given", "kept"), [("0.0", 0.0), ("1.0", 1.0), ("7", 0.5), ("", 0.5)])
def test_the_setting_between_textbook_and_least_movement_is_kept(desk, of, given, kept):
    arrangement = of(WITH_CHORDS)
    desk.post(reverse("shapes", args=[arrangement.pk]), {"movement": given})
    arrangement.refresh_from_db()
    assert arrangement.movement == kept


def test_shapes_are_drawn_left_handed_when_asked(desk, of):
    address = reverse("shapes", args=[of(WITH_CHORDS).pk])
    assert words(desk.get(address)) != words(desk.get(address, {"hand": "left"}))


@pytest.mark.parametrize("name", ["arrange", "set_for", "shapes"])
def test_learners_may_not_arrange_and_strangers_do_not_find_it(cast, of, sign_in, name):
    address = reverse(name, args=[of(WITH_CHORDS).pk])
    assert sign_in(student=cast.learner).get(address).status_code == 403
    assert sign_in(student=cast.learner, holder="guardian").post(address).status_code == 403
    assert sign_in(cast.foreigner).get(address).status_code == 404
    assert sign_in(cast.foreigner).post(address).status_code == 404
    assert sign_in(cast.owner).put(address).status_code == 405


def test_what_a_level_sounds_like_is_sent_along_for_the_whole_and_for_each_bar(desk, of):
    page = words(desk.get(reverse("arrange", args=[of(WITH_CHORDS).pk])))
    sounds = json.loads(re.search(r'<script id="sounds" type="application/json">(.*?)</script>', page)[1])
    assert set(sounds) == {"l1", "l2", "l3", "l4"}
    assert sounds["l1"]["whole"]["beats"] == 8
    assert [pluck[2] for pluck in sounds["l1"]["bars"]["1"]["plucks"]] == [72, 71, 69]
    assert len(sounds["l4"]["bars"]["1"]["plucks"]) > 3

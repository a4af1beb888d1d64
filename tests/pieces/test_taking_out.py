"""Taking a piece out: what goes in comes back, and rights are asked about first."""

from dataclasses import replace

import pytest
from django.urls import reverse

from pieces.music.sounding import sounds
from pieces.music.tab import read_tab
from pieces.opening import open_music
from pieces.taking_out import WAYS, take_out
from pieces.workup import add_piece, decide, workup_of
from tests.students.test_practice import TUNE

pytestmark = pytest.mark.django_db


@pytest.fixture
def arrangement(cast):
    return add_piece(cast.studio, read_tab(TUNE), rights="own")


@pytest.mark.parametrize("ending", WAYS)
def test_what_is_taken_out_can_be_brought_in_again(arrangement, ending):
    file = take_out(arrangement, ending)
    assert file.name == f"eight-stairs-melody-and-thumb.{ending}"
    again = open_music(file.name, file.content).score
    heard = [(s.start, s.duration, s.pitch) for s in sounds(again)]
    assert heard == [(s.start, s.duration, s.pitch) for s in sounds(arrangement.to_score())]


@pytest.mark.parametrize("ending", ["musicxml", "txt"])
def test_strings_chords_and_decided_fingers_go_along(arrangement, ending):
    decide(arrangement, "finger:3.1.2", 4)
    decide(arrangement, "chords:1", [["0", "C6"]])
    file = take_out(arrangement, ending)
    again = open_music(file.name, file.content).score
    places = [(s.string, s.fret) for s in sounds(again)]
    assert places == [(s.string, s.fret) for s in sounds(workup_of(arrangement).score)]
    assert [mark.symbol for mark in again.bar(1).chords] == ["C6"]
    assert next(n.finger for n in again.bar(3).events[1].notes if n.string == 2) == 4


def test_midi_plays_the_repeats_that_are_written(cast):
    score = read_tab(TUNE)
    *bars, last = score.bars
    score = replace(score, bars=(*bars, replace(last, repeats=2)))
    arrangement = add_piece(cast.studio, score, rights="own")
    again = open_music("a.mid", take_out(arrangement, "mid").content).score
    assert len(again.bars) == 8


@pytest.mark.parametrize("ending", WAYS)
def test_every_file_is_sent_as_a_download(cast, arrangement, sign_in, ending):
    answer = sign_in(cast.teacher).get(reverse("take_out_as", args=[arrangement.pk, ending]))
    assert answer.status_code == 200
    assert answer.headers["Content-Disposition"].startswith("attachment; filename=")
    assert answer.headers["Content-Type"] == WAYS[ending].media


def test_a_piece_whose_rights_are_not_settled_is_asked_about_first(cast, sign_in):
    arrangement = add_piece(cast.studio, read_tab(TUNE))
    owner, address = sign_in(cast.owner), reverse("take_out_as", args=[arrangement.pk, "abc"])
    assert b"Copies of a piece" in owner.get(address).content
    assert owner.post(address).content.startswith(b"%abc-2.1")


def test_nobody_takes_out_what_is_not_theirs_or_is_no_kind_of_file(cast, arrangement, sign_in):
    for name, more in (("take_out", []), ("take_out_as", ["txt"])):
        address = reverse(name, args=[arrangement.pk, *more])
        assert sign_in(cast.foreigner).get(address).status_code == 404
        assert sign_in(student=cast.learner).get(address).status_code == 403
        assert sign_in(cast.owner).put(address).status_code == 405
    assert sign_in(cast.owner).get(reverse("take_out_as", args=[arrangement.pk, "exe"])).status_code == 404

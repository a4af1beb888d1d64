"""What a device is told to play of a loop: its clicks, strings and counts in metronome beats."""

from fractions import Fraction

import pytest
from hypothesis import given, settings

from pieces.engraving.options import PHONE
from pieces.engraving.strip import strip
from pieces.music.playing import playing
from pieces.music.score import Bar, Event, Meter, Note
from pieces.music.tab import read_tab
from pieces.music.tuning import TUNINGS, Tuning
from tests.engraving.random_bars import passages

ONE = Tuning("one string", (69,))
UKULELE = TUNINGS["ukulele high G"]


def read(lines):
    return read_tab(f"tuning: ukulele high G\nmeter: 4/4\n\n{lines}").bars


def test_a_pickup_is_led_in_by_a_bar_and_the_counts_before_it():
    loop = playing([Bar.of("4/4", "1/4", number=0), Bar.of("4/4", "3/4")], ONE)
    assert [click.first for click in loop.count_in] == [True, False, False, False, True, False, False]
    assert (loop.lead, loop.beats) == (7, 4)
    assert [click.first for click in loop.clicks] == [False, True, False, False]


def test_a_compound_meter_is_clicked_in_dotted_beats():
    # 6/8 has two beats a bar, each a dotted quarter (common practice, no source).
    loop = playing([Bar.of("6/8", "1/8 1/8 1/8 3/8")], ONE)
    assert [click.at for click in loop.clicks] == [0, 1]
    assert [pluck.at for pluck in loop.plucks] == [0, Fraction(1, 3), Fraction(2, 3), 1]


def test_a_bar_played_twice_comes_twice_with_the_same_counts():
    bar = Bar.of("3/4", "1/4 1/2")
    loop = playing([bar, bar], ONE)
    assert [said.id for said in loop.counts] == ["b1c1", "b1c2", "b1c3"] * 2
    assert [said.at for said in loop.counts] == [0, 1, 2, 3, 4, 5]


def test_a_tie_over_the_bar_line_is_plucked_once_and_lasts():
    first = Bar(1, Meter(2, 4), (Event(Fraction(0), Fraction(1, 2), (Note(69, 1, 0),)),))
    tied = Bar(2, Meter(2, 4), (Event(Fraction(0), Fraction(1, 2), (Note(69, 1, 0, tied=True),)),))
    (pluck,) = playing([first, tied], ONE).plucks
    assert (pluck.at, pluck.lasts) == (0, 4)


def test_a_loop_that_begins_within_a_tie_sounds_what_is_held():
    tied = Bar(2, Meter(2, 4), (Event(Fraction(0), Fraction(1, 2), (Note(69, 1, 0, tied=True),)),))
    assert len(playing([tied], ONE).plucks) == 1


def test_a_strum_down_begins_at_the_highest_string_number_and_up_at_string_1():
    notes = tuple(Note.at(UKULELE, string, 0) for string in (4, 3, 2, 1))
    down = Event(Fraction(0), Fraction(1, 4), notes, stroke="down")
    up = Event(Fraction(1, 4), Fraction(1, 4), notes, stroke="up")
    plucks = playing([Bar(1, Meter(2, 4), (down, up))], UKULELE).plucks
    assert [pluck.pitch for pluck in plucks] == [67, 60, 64, 69, 69, 64, 60, 67]
    assert [pluck.step for pluck in plucks] == [0, 1, 2, 3, 0, 1, 2, 3]


def test_a_muted_stroke_thuds_and_a_hammered_note_is_soft():
    muted = Event(Fraction(0), Fraction(1, 4), (Note(None, 1, 0, muted=True),))
    hammered = Event(Fraction(1, 4), Fraction(1, 4), (Note(71, 1, 2, join="hammer"),))
    thud, soft = playing([Bar(1, Meter(2, 4), (muted, hammered))], UKULELE).plucks
    assert (thud.how, soft.how) == ("muted", "soft")
    assert thud.lasts < Fraction(1, 8)


def test_a_grace_note_comes_before_its_beat():
    event = Event(Fraction(0), Fraction(1, 4), (Note(71, 1, 2),), grace=(Note(69, 1, 0),))
    grace, main = playing([Bar(1, Meter(1, 4), (event,))], UKULELE).plucks
    assert grace.at == main.at and grace.step < 0 == main.step


def test_no_bars_cannot_be_played():
    with pytest.raises(ValueError):
        playing([], ONE)


@settings(deadline=None)
@given(passages())
def test_every_count_has_its_place_in_the_strip_and_nothing_lies_outside_the_pass(passage):
    bars, tuning, options = passage
    if not bars:
        return
    loop = playing(bars, tuning, syllables=options.syllables)
    drawn = strip(bars, tuning, PHONE.but(syllables=options.syllables))
    assert all(f'id="{said.id}"' in drawn for said in loop.counts)
    for row in (loop.clicks, loop.counts, loop.plucks):
        assert all(0 <= one.at < loop.beats for one in row)
    assert [one.at for one in loop.clicks] == sorted(one.at for one in loop.clicks)

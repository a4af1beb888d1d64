"""A bar cut into columns and put together again."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings

from pieces.music.alike import what_is_played
from pieces.music.counting import LA_LI
from pieces.music.grid import Column, bar_of, columns_of
from pieces.music.score import Bar, Event, Note
from tests.music.tab_scores import scores


def lengths(bar, *more):
    return [str(column.length) for column in columns_of(bar, *more)]


@settings(max_examples=60, deadline=None)
@given(scores())
def test_a_bar_left_as_it_is_comes_back_as_it_was(score):
    for bar in score.bars:
        if bar.events:
            assert bar_of(bar, columns_of(bar)) == bar


def test_every_count_has_a_column_though_one_note_holds_through_all():
    assert lengths(Bar.of("4/4", "1/1")) == ["1/4"] * 4


def test_a_pickup_is_cut_where_its_counts_fall():
    assert lengths(Bar.of("3/4", "3/8", number=0)) == ["1/8", "1/4"]


def test_compound_meters_are_cut_by_the_teachers_own_counts():
    assert lengths(Bar.of("6/8", "3/4")) == ["1/8"] * 6
    assert lengths(Bar.of("6/8", "3/4"), LA_LI) == ["3/8"] * 2


def test_a_gap_is_a_rest():
    bar = replace(Bar.of("2/4", "1/4 1/4"), events=Bar.of("2/4", "1/4 1/4").events[1:])
    assert columns_of(bar)[0].event.is_rest


def test_a_third_of_a_beat_is_a_triplet_and_a_whole_one_again_is_not():
    bar = Bar.of("1/4", "1/4")
    third = Column(Fraction(1, 12), bar.events[0])
    cut = bar_of(bar, [third] * 3)
    assert [event.tuplet for event in cut.events] == [(3, 2)] * 3
    joined = bar_of(cut, [Column(Fraction(1, 4), cut.events[0])])
    assert joined.events[0].tuplet is None


def test_a_note_that_rang_for_its_own_length_rings_as_long_as_its_column_once_that_changes():
    ringing = Event(Fraction(0), Fraction(1, 4), (Note(69, 1, 0, length=Fraction(1, 2)),))
    bar = replace(Bar.of("2/4", "1/2"), events=(ringing,))
    held = bar_of(bar, [Column(Fraction(1, 2), ringing)])
    assert held.events[0].notes[0].length is None


def test_splitting_a_held_count_changes_nothing_that_is_played():
    bar = Bar.of("2/4", "1/2")
    halves = [
        Column(column.length / 2, event) for column in columns_of(bar) for event in (column.event, None)
    ]
    assert what_is_played(bar_of(bar, halves)) == what_is_played(bar)


@pytest.mark.parametrize("columns", [[Column(Fraction(1, 4))], [Column(Fraction(0), Event(0, 0))]])
def test_a_bar_must_begin_with_something_that_lasts(columns):
    with pytest.raises(ValueError):
        bar_of(Bar.of("1/4", "1/4"), columns)

"""How lengths are written, against music21's durations and beams."""

from fractions import Fraction

import pytest
from music21 import duration, meter, note, stream

from pieces.engraving.rhythm import beam_groups, tuplet_groups, written
from pieces.music.score import Bar, Event, Meter

NAMES = {1: "whole", 2: "half", 4: "quarter", 8: "eighth", 16: "16th", 32: "32nd"}


@pytest.mark.parametrize("length", [Fraction(n, 32) for n in range(1, 33)])
def test_plain_lengths_are_written_as_music21_writes_them(length):
    theirs = duration.Duration(quarterLength=length * 4)
    ours = written(length)
    assert sum(value.length for value in ours) == length
    # Three dots and more are beyond what a learner reads; we tie instead.
    if len(theirs.components) == 1 and theirs.dots <= 2:
        assert len(ours) == 1
        assert (NAMES[ours[0].base.denominator], ours[0].dots) == (theirs.type, theirs.dots)


@pytest.mark.parametrize("parts", [3, 5, 6, 7])
def test_tuplets_are_written_as_music21_writes_them(parts):
    theirs = duration.Duration(quarterLength=Fraction(1, parts))
    [tuplet] = theirs.tuplets
    pair = tuplet.numberNotesActual, tuplet.numberNotesNormal
    [ours] = written(Fraction(1, 4 * parts), pair)
    assert NAMES[ours.base.denominator] == theirs.type


@pytest.mark.parametrize(
    ("signature", "lengths"),
    [
        ("3/4", "1/8 1/8 1/8 1/8 1/4"),
        ("2/4", "1/16 1/16 1/8 1/8 1/8"),
        ("4/4", "1/4 1/16 1/16 1/16 1/16 1/4 1/8 1/8"),
        ("6/8", "1/8 1/8 1/8 1/8 1/8 1/8"),
        ("6/8", "1/4 1/8 1/16 1/16 1/8 1/8"),
        ("9/8", "1/8 1/8 1/8 1/4 1/8 1/8 1/8 1/8"),
        ("12/8", "3/8 1/8 1/8 1/8 1/4 1/8 1/8 1/8 1/8"),
    ],
)
def test_beams_group_as_music21_groups_them(signature, lengths):
    bar = Bar.of(signature, lengths)
    measure = stream.Measure()
    measure.timeSignature = meter.TimeSignature(signature)
    for text in lengths.split():
        measure.append(note.Note(quarterLength=Fraction(text) * 4))
    measure.makeBeams(inPlace=True)
    theirs, open_group = [], []
    for i, one in enumerate(measure.notes):
        kinds = [beam.type for beam in one.beams][:1]
        if kinds in (["start"], ["continue"], ["stop"]):
            open_group.append(i)
        if kinds == ["stop"]:
            theirs.append(tuple(open_group))
            open_group = []
    assert beam_groups(bar) == theirs


def test_a_rest_breaks_a_beam():
    bar = Bar.of("2/4", "1/16 1/16 1/16 1/16 1/4")
    silent = tuple(
        Event(event.onset, event.duration) if i == 1 else event for i, event in enumerate(bar.events)
    )
    assert beam_groups(Bar(1, Meter(2, 4), silent)) == [(2, 3)]


def test_a_pickup_is_beamed_as_the_end_of_a_full_bar():
    assert beam_groups(Bar.of("4/4", "1/8 1/8 1/8", number=0)) == [(1, 2)]


def test_a_triplet_of_a_quarter_and_an_eighth_is_one_group():
    events = [
        Event(Fraction(0), Fraction(1, 6), tuplet=(3, 2)),
        Event(Fraction(1, 6), Fraction(1, 12), tuplet=(3, 2)),
        Event(Fraction(1, 4), Fraction(1, 12), tuplet=(3, 2)),
        Event(Fraction(1, 3), Fraction(1, 6), tuplet=(3, 2)),
    ]
    assert [(g.first, g.last) for g in tuplet_groups(events)] == [(0, 1), (2, 3)]


def test_two_in_the_time_of_three_is_one_group():
    events = [Event(Fraction(3 * i, 16), Fraction(3, 16), tuplet=(2, 3)) for i in range(2)]
    assert [(g.first, g.last, g.number) for g in tuplet_groups(events)] == [(0, 1, 2)]

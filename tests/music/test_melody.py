"""The tune, its strong beats and its chords (common practice, no source)."""

from dataclasses import replace
from fractions import Fraction

import pytest

from pieces.music.melody import harmonies_of, harmony_at, strong_beats, tones_of
from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score

QUARTER = Fraction(1, 4)


@pytest.mark.parametrize(
    ("meter", "beats"),
    [
        ("2/4", "0"),
        ("3/4", "0"),
        ("4/4", "0 1/2"),
        ("6/8", "0 3/8"),
        ("9/8", "0"),
        ("12/8", "0 3/4"),
        ("2/2", "0 1/2"),
        ("3/2", "0"),
        ("5/4", "0 3/4"),
    ],
)
def test_the_strong_beats_of_a_bar(meter, beats):
    length = Meter.parse(meter).length
    assert strong_beats(Bar.of(meter, str(length))) == tuple(Fraction(beat) for beat in beats.split())


def test_a_pickup_ends_at_its_barline():
    assert strong_beats(Bar.of("4/4", "1/4", number=0)) == ()
    assert strong_beats(Bar.of("4/4", "1/2", number=0)) == (Fraction(0),)
    assert strong_beats(Bar.of("4/4", "3/4", number=0)) == (QUARTER,)


def test_the_tune_is_the_highest_note_of_each_event():
    chord = Event(Fraction(0), QUARTER, (Note(67), Note(60), Note(72)))
    mute = Event(QUARTER, QUARTER, (Note(None, muted=True),))
    rest = Event(QUARTER * 2, QUARTER)
    score = Score(bars=(Bar(1, Meter(3, 4), (chord, mute, rest)),))
    assert [tone.pitch for tone in tones_of(score)] == [72]


def test_times_go_on_over_the_bar_line():
    score = Score(bars=(Bar.of("2/4", "1/4 1/4"), replace(Bar.of("2/4", "1/2"), number=2)))
    assert [tone.at for tone in tones_of(score)] == [0, QUARTER, Fraction(1, 2)]


def test_a_chord_holds_until_the_next_and_none_stands_before_the_first():
    second = replace(Bar.of("2/4", "1/2"), number=2, chords=(ChordMark(QUARTER, "Am"),))
    harmonies = harmonies_of(Score(bars=(Bar.of("2/4", "1/2"), second)))
    assert harmony_at(harmonies, Fraction(1, 2)) is None
    assert harmony_at(harmonies, Fraction(3, 4)).tones == (9, 0, 4)
    assert harmony_at(harmonies, Fraction(5)).symbol == "Am"


def test_symbols_given_stand_instead_of_those_written():
    bar = replace(Bar.of("2/4", "1/2"), chords=(ChordMark(Fraction(0), "C"),))
    given = {1: (ChordMark(Fraction(0), "F"),)}
    assert [h.symbol for h in harmonies_of(Score(bars=(bar,)), given)] == ["F"]


def test_no_chord_is_read_as_silence_beneath_the_tune():
    bar = replace(Bar.of("2/4", "1/2"), chords=(ChordMark(Fraction(0), "N.C."),))
    assert harmonies_of(Score(bars=(bar,)))[0].tones == ()

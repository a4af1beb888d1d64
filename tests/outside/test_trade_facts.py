"""What every teacher of fretted strings knows about both hands, held against an independent reader.

The shapes are those of any method book, the facts are of the trade (common practice,
no source). What a shape sounds is judged by music21 10.5.1: open strings by scientific
pitch name, chord tones by ``music21.harmony``.
"""

from fractions import Fraction

import pytest
from music21 import harmony, pitch

from pieces.music.chords import name_chord
from pieces.music.counting import count_text
from pieces.music.difficulty import rate_bar
from pieces.music.score import Bar, ChordMark, Event, Meter, Note
from pieces.music.shapes import reduce_shape, shape_of
from pieces.music.tuning import TUNINGS

UKULELE = TUNINGS["ukulele high G"]
# g'c'e'a', from string 4 to string 1.
OPEN_STRINGS = ("G4", "C4", "E4", "A4")
# The shape of any method book on g'c'e'a'.
BEGINNERS = {
    "C": "0003",
    "Am": "2000",
    "F": "2010",
    "G": "0232",
    "G7": "0212",
    "C7": "0001",
    "A": "2100",
    "A7": "0100",
    "Dm": "2210",
    "Em": "0432",
    "D": "2220",
    "E7": "1202",
}
# Tunings as they are written on a string packet, from the highest string number to string 1.
PACKETS = {
    "ukulele high G": "G4 C4 E4 A4",
    "ukulele low G": "G3 C4 E4 A4",
    "baritone ukulele": "D3 G3 B3 E4",
    "guitar": "E2 A2 D3 G3 B3 E4",
    "mandolin": "G3 D4 A4 E5",
    "tenor banjo": "C3 G3 D4 A4",
    "plectrum banjo": "C3 G3 B3 D4",
    "five-string banjo": "G4 D3 G3 B3 D4",
    "bass": "E1 A1 D2 G2",
}


def frets_of(written):
    return tuple(int(mark) for mark in written)


@pytest.mark.parametrize("name", PACKETS)
def test_the_usual_tunings_are_those_of_the_string_packet(name):
    assert TUNINGS[name].open_pitches == tuple(int(pitch.Pitch(p).ps) for p in PACKETS[name].split())


@pytest.mark.parametrize("symbol", BEGINNERS)
def test_a_beginners_shape_sounds_what_it_is_called(symbol):
    sounding = {
        (pitch.Pitch(name).pitchClass + fret) % 12
        for name, fret in zip(OPEN_STRINGS, frets_of(BEGINNERS[symbol]), strict=True)
    }
    assert sounding == {tone.pitchClass for tone in harmony.ChordSymbol(symbol).pitches}


@pytest.mark.parametrize("symbol", BEGINNERS)
def test_a_beginners_shape_is_named_by_its_notes_whichever_of_them_is_lowest(symbol):
    shape = zip(UKULELE.strings, frets_of(BEGINNERS[symbol]), strict=True)
    named = name_chord([UKULELE.pitch(string, fret) for string, fret in shape])[0].symbol
    assert named.split("/")[0] == symbol


@pytest.mark.parametrize(
    ("symbol", "written"), [("G", "0232"), ("G7", "0212"), ("D", "2220"), ("Em", "0432")]
)
def test_a_shape_of_three_fingers_needs_none_on_string_1_where_that_is_not_sounded(symbol, written):
    whole = shape_of(symbol, frets_of(written), UKULELE)
    reduced = reduce_shape(whole, (4, 3, 2))
    assert len({finger for finger in whole.fingers if finger}) == 3
    assert reduced.fingers[3] is None
    assert reduced.fingers[:3] == whole.fingers[:3]
    assert reduced.cost <= whole.cost


def test_a_quarter_two_eighths_and_a_half_are_said_1_2_and_3_held_4():
    assert count_text(Bar.of("4/4", "1/4 1/8 1/8 1/2")) == "1 2 & 3 (4)"


def test_a_strummed_c_is_easier_than_a_strummed_e7_at_the_same_tempo():
    def strummed(symbol):
        shape = shape_of(symbol, frets_of(BEGINNERS[symbol]), UKULELE)
        notes = tuple(Note.at(UKULELE, s, f) for s, f in zip(UKULELE.strings, shape.frets, strict=True))
        quarters = tuple(Event(Fraction(n, 4), Fraction(1, 4), notes, stroke="down") for n in range(4))
        bar = Bar(1, Meter(4, 4), quarters, (ChordMark(Fraction(0), symbol),))
        return rate_bar(bar, tempo=80, tuning=UKULELE, shapes={symbol: shape}).score

    assert strummed("C") < strummed("E7")

"""Chords proposed for a tune. The tunes are invented; the cadences are common practice, no source."""

from dataclasses import replace
from fractions import Fraction

import pytest

from pieces.music.chords import chord_tones
from pieces.music.harmonizing import find_key, propose_symbols
from pieces.music.melody import tones_of
from pieces.music.score import Bar, Event, Meter, Note, Score
from pieces.music.setting import transpose

FOUR = Meter(4, 4)


def tune(*bars, key="", meter=FOUR):
    """A tune in even notes, a row of MIDI pitches for each bar."""
    made = []
    for number, pitches in enumerate(bars, 1):
        step = meter.length / len(pitches)
        events = tuple(Event(i * step, step, (Note(p),)) for i, p in enumerate(pitches))
        made.append(Bar(number, meter, events))
    return Score(bars=tuple(made), key=key, meter=meter)


IN_C = ((60, 64, 67, 64), (65, 69, 72, 69), (67, 71, 74, 71), (72, 67, 64, 60))


def chords(proposal):
    return [mark.symbol for marks in proposal.symbols.values() for mark in marks]


def test_broken_chords_are_named_as_what_they_are():
    found = chords(propose_symbols(tune(*IN_C, key="C")))
    assert found[0] == "C" and found[1] == "F" and found[2] in ("G", "G7") and found[-1] == "C"


@pytest.mark.parametrize("semitones", range(-5, 7))
def test_the_proposal_moves_with_the_key(semitones):
    plain = propose_symbols(tune(*IN_C, key="C"))
    moved = propose_symbols(transpose(tune(*IN_C, key="C"), semitones))
    assert [{(pc + semitones) % 12 for pc in chord_tones(symbol)} for symbol in chords(plain)] == [
        set(chord_tones(symbol)) for symbol in chords(moved)
    ]


def test_chords_are_spelled_in_their_key():
    in_e_flat = propose_symbols(transpose(tune(*IN_C, key="C"), 3))
    assert in_e_flat.key == "Eb"
    assert chords(in_e_flat)[:2] == ["Eb", "Ab"]


def test_a_minor_tune_closes_on_its_minor_chord():
    found = propose_symbols(tune((69, 72, 76, 72), (74, 77, 74, 69), (76, 80, 83, 80), (81, 76, 72, 69)))
    assert found.key == "Am"
    assert chords(found)[0] == "Am" and chords(found)[-1] == "Am" and "E7" in chords(found)


def test_a_bar_that_holds_two_chords_gets_two():
    found = propose_symbols(tune((60, 64, 67, 64), (65, 69, 67, 71), (60, 64, 67, 72), key="C"))
    assert len(found.symbols[2]) == 2
    assert found.symbols[2][1].onset == Fraction(1, 2)


def test_a_pickup_gets_no_chord():
    score = tune((67,), *IN_C, key="C")
    pickup = replace(score.bars[0], number=0, events=(Event(Fraction(0), Fraction(1, 4), (Note(67),)),))
    found = propose_symbols(replace(score, bars=(pickup, *score.bars[1:])))
    assert 0 not in found.symbols


def test_the_proposal_says_that_it_is_one_and_how_sure_it_is():
    found = propose_symbols(tune(*IN_C))
    assert "proposal" in found.text and "which the tune suggests" in found.text
    assert found.sure == 1.0
    rough = propose_symbols(tune((60, 61, 62, 63), (66, 65, 64, 63), key="C"))
    assert rough.sure < 0.7


@pytest.mark.parametrize("semitones", range(12))
def test_the_key_is_found_wherever_the_tune_lies(semitones):
    moved = transpose(tune(*IN_C, key="C"), semitones)
    assert find_key(tones_of(moved)) == moved.key


def test_a_tune_of_no_notes_gets_no_chords():
    assert propose_symbols(Score(bars=())).symbols == {}

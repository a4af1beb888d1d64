"""Other ways to hold a chord: offered where the written notes allow them, and said in words."""

from fractions import Fraction

import pytest

from pieces.music.alternatives import alternatives
from pieces.music.decisions import Decisions
from pieces.music.findings import work_up
from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.shapes import find_shapes
from pieces.music.tuning import TUNINGS

UKE = TUNINGS["ukulele high G"]


def piece(*bars):
    """Bars of one whole note: a symbol, and the frets written for it or "" for the tune alone."""
    made = []
    for number, (symbol, written) in enumerate(bars, 1):
        frets = written or "xxx0"
        notes = tuple(
            Note.at(UKE, string, int(fret))
            for string, fret in zip(UKE.strings, frets, strict=True)
            if fret != "x"
        )
        marks = (ChordMark(Fraction(0), symbol),)
        made.append(Bar(number, Meter(4, 4), (Event(Fraction(0), Fraction(1), notes),), marks))
    return Score(tuning=UKE, bars=tuple(made))


def ways(score, symbol):
    return alternatives(score, symbol, find_shapes(symbol, UKE, limit=1)[0])


def test_other_fingers_say_what_they_change():
    texts = [way.text for way in ways(piece(("C", "")), "C") if way.kind == "fingers"]
    assert "Middle instead of ring on string 1." in texts


def test_a_free_chord_may_lie_elsewhere_on_the_neck():
    places = [way.shape.written for way in ways(piece(("C", "")), "C") if way.kind == "place"]
    assert places and "0003" not in places


def test_an_easier_neighbour_says_what_it_adds_or_loses_to_the_ear():
    easier = [way.text for way in ways(piece(("Bb", "")), "Bb") if way.kind == "easier"]
    assert easier
    assert all("instead of" in text for text in easier)


def test_where_frets_are_written_only_fingers_are_left_to_choose():
    assert {way.kind for way in ways(piece(("Bb", "3211")), "Bb")} == {"fingers"}


def test_each_way_names_the_bars_whose_notes_allow_it():
    score = piece(("C", ""), ("C", "0003"))
    for way in ways(score, "C"):
        assert way.bars == ((1, 2) if way.shape.written == "0003" else (1,))


def test_nothing_is_offered_twice_and_never_what_is_held_already():
    for symbol in ("C", "F", "Bb", "E7", "Am7"):
        offered = [(way.shape.frets, way.shape.fingers) for way in ways(piece((symbol, "")), symbol)]
        best = find_shapes(symbol, UKE, limit=1)[0]
        assert len(set(offered)) == len(offered)
        assert (best.frets, best.fingers) not in offered


@pytest.mark.parametrize("symbol", ["C", "Bb", "E7"])
def test_every_way_offered_can_be_kept_and_is_then_held(symbol):
    score = piece((symbol, ""))
    for way in ways(score, symbol):
        kept = {"frets": list(way.shape.frets), "fingers": list(way.shape.fingers)}
        held = work_up(score, decisions=Decisions.of({f"shape:{symbol}": kept})).holds[0].shape
        assert (held.frets, held.fingers) == (way.shape.frets, way.shape.fingers)

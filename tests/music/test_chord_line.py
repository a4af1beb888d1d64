"""Chords written as on a chord sheet, and read back."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pieces.music.chord_line import read_chords, write_chords
from pieces.music.score import Bar, ChordMark, Score

SYMBOLS = st.sampled_from(("C", "F#m7", "Bb", "C/G", "G7"))


def piece(*meters):
    return Score(bars=tuple(Bar.of(meter, meter, number) for number, meter in enumerate(meters, 1)))


@given(
    st.lists(
        st.dictionaries(st.sampled_from([Fraction(n, 8) for n in range(6)]), SYMBOLS, max_size=3),
        min_size=1,
        max_size=6,
    )
)
def test_what_is_written_is_read_back(bars):
    score = piece(*["3/4"] * len(bars))
    symbols = {n: tuple(ChordMark(*mark) for mark in sorted(bar.items())) for n, bar in enumerate(bars, 1)}
    assert read_chords(write_chords(score, symbols), score) == symbols


def test_four_bars_stand_on_a_line_and_an_empty_bar_stays_empty():
    score = piece(*["4/4"] * 5)
    symbols = {1: (ChordMark(Fraction(0), "C"),), 5: (ChordMark(Fraction(1, 2), "G7"),)}
    assert write_chords(score, symbols) == "C |  |  |  |\n/ G7"


def test_a_slash_chord_is_one_symbol_and_a_slash_alone_goes_on():
    (first, second) = read_chords("C/G / / F", piece("4/4"))[1]
    assert (first.symbol, second) == ("C/G", ChordMark(Fraction(3, 4), "F"))


def test_too_few_bars_are_told_with_both_numbers():
    with pytest.raises(ValueError, match="has 2 bars; 1 are written"):
        read_chords("C", piece("4/4", "4/4"))


def test_no_chord_may_be_written():
    assert read_chords("N.C.", piece("4/4"))[1][0].symbol == "N.C."


def test_a_symbol_that_names_no_chord_is_told_with_its_bar():
    with pytest.raises(ValueError, match=r"Bar 2: .*Hm"):
        read_chords("C | Hm", piece("4/4", "4/4"))

"""A row of chords: fingers and shapes by least cost, checked against brute force."""

from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pieces.music.changes import change_cost, choices_for, finger_progression, path_cost, with_other_hands
from pieces.music.chords import UnknownChord
from pieces.music.shapes import Shape
from pieces.music.tuning import TUNINGS

UKE = TUNINGS["ukulele high G"]
AM = Shape("Am", (2, 0, 0, 0), (2, 0, 0, 0), 0.0)
C = Shape("C", (0, 0, 0, 3), (0, 0, 0, 3), 0.0)
F = Shape("F", (2, 0, 1, 0), (2, 0, 1, 0), 0.0)
G7 = Shape("G7", (0, 2, 1, 2), (0, 2, 1, 3), 0.0)
BB = Shape("Bb", (3, 2, 1, 1), (3, 2, 1, 1), 0.0)


def test_textbook_shapes_stand_at_one_end_of_the_setting():
    row = finger_progression(["C", "Am", "F", "C"], UKE, movement=0)
    assert [s.written for s in row] == ["0003", "2000", "2010", "0003"]


def test_least_movement_never_moves_more_and_textbook_never_takes_a_harder_shape():
    row = ["C", "Am", "Dm", "G7", "C"]
    moved, own = [], []
    for movement in (0, 0.25, 0.5, 0.75, 1):
        path = finger_progression(row, UKE, movement=movement)
        moved.append(sum(change_cost(a, b) for a, b in pairwise(path)))
        own.append(sum(s.cost for s in path))
    assert moved[-1] == min(moved) and moved[-1] < moved[0]
    assert moved == sorted(moved, reverse=True)
    assert own == sorted(own)


def test_a_given_shape_keeps_its_frets_and_may_change_its_fingers():
    row = finger_progression([AM, F, "C"], UKE, movement=1)
    assert [s.frets for s in row[:2]] == [AM.frets, F.frets]


def test_the_setting_outside_its_range_is_refused():
    with pytest.raises(ValueError, match="from 0"):
        finger_progression(["C"], UKE, movement=2)


def test_a_symbol_that_names_no_chord_is_refused():
    with pytest.raises(UnknownChord):
        finger_progression(["C", "H#"], UKE)


def test_an_empty_row_stays_empty():
    assert finger_progression([], UKE) == []


SYMBOLS = ("C", "Am", "F", "G7", "Dm", "Bb", "E7", "Gm7")


@given(st.lists(st.sampled_from(SYMBOLS), min_size=1, max_size=3), st.sampled_from((0.25, 0.5, 1.0)))
@settings(max_examples=12, deadline=None)
def test_the_progression_equals_brute_force(symbols, movement):
    chosen = finger_progression(symbols, UKE, movement=movement)
    best = min(path_cost(path, movement) for path in product(*(choices_for(s, UKE) for s in symbols)))
    assert path_cost(chosen, movement) == pytest.approx(best)


@given(st.lists(st.sampled_from((C, AM, F, G7, BB)), min_size=2, max_size=5), st.sampled_from((0.5, 1.0)))
@settings(max_examples=25, deadline=None)
def test_fingers_for_given_shapes_equal_brute_force(shapes, movement):
    chosen = finger_progression(shapes, UKE, movement=movement)
    best = min(path_cost(path, movement) for path in product(*map(with_other_hands, shapes)))
    assert path_cost(chosen, movement) == pytest.approx(best)

"""One change between two shapes: the cases are common practice, no source."""

from itertools import product

import pytest

from pieces.music.moves import change, change_cost
from pieces.music.shapes import Shape


def shape(symbol, frets, fingers):
    """A shape written as two rows, "x" for a string that does not sound."""
    read = [tuple(None if mark == "x" else int(mark) for mark in row) for row in (frets, fingers)]
    return Shape(symbol, *read, cost=0.0)


OPEN = shape("C6", "0000", "0000")
C, AM, F, G7 = (
    shape("C", "0003", "0003"),
    shape("Am", "2000", "2000"),
    shape("F", "2010", "2010"),
    shape("G7", "0212", "0213"),
)
G = shape("G", "0232", "0132")
BB = shape("Bb", "3211", "3211")
G_C = shape("C", "x32010", "x32010")
G_AM, G_E, G_EM = (
    shape("Am", "x02210", "x02310"),
    shape("E", "022100", "023100"),
    shape("Em", "022000", "023000"),
)


def test_the_finger_that_two_shapes_share_stays():
    found = change(AM, F)
    assert (found.kept, found.added, found.lifted) == ((2,), (1,), ())
    assert found.text == "Finger 2 stays; add finger 1."


def test_going_back_lifts_what_was_added():
    assert change(F, AM).text == "Finger 2 stays; lift finger 1."


def test_two_fingers_that_stay_are_said_together():
    found = change(G_C, G_AM)
    assert found.kept == (1, 2) and found.moved == (3,)
    assert found.text == "Fingers 1 and 2 stay; move finger 3 to string 3, fret 2."


def test_fingers_that_keep_their_form_move_together():
    found = change(G_E, G_AM)
    assert found.moved == (1, 2, 3)
    assert found.text == "Move fingers 1, 2 and 3 together, one string toward the floor."


def test_a_finger_on_the_same_string_is_a_guide():
    first, third = shape("F", "5558", "1114"), shape("Eb", "3336", "1114")
    found = change(first, third)
    assert {guide.finger for guide in found.guides} == {1, 4}
    assert found.shift == -2
    assert found.text == "Slide fingers 1 and 4 down 2 frets together."


def test_a_single_guide_names_its_string_and_fret():
    found = change(shape("C", "0003", "0003"), shape("D", "2225", "1113"))
    assert found.guides == ((3, 1, 3, 5),)
    assert "slide finger 3 along string 1 to fret 5" in found.text.lower()


def test_a_finger_that_lies_down_into_a_barre_stays():
    found = change(F, shape("Bb7", "1211", "1211"))
    assert found.kept == (1,)
    assert "finger 1 stays and lies down over strings 4 to 1" in found.text.lower()


def test_a_barre_that_stands_up_stays_too():
    found = change(shape("Bm", "4222", "3111"), G)
    assert "finger 1 stays and now stops only string 3" in found.text.lower()


def test_the_same_shape_again_moves_nothing():
    found = change(BB, BB)
    assert (found.cost, found.text, found.kept) == (0, "Nothing moves.", (1, 2, 3))


def test_open_strings_need_no_finger():
    assert change(OPEN, OPEN).text == "No finger is needed."
    assert change(F, OPEN).text == "Lift all fingers."
    assert change(OPEN, C).text == "Put down finger 3 at fret 3 of string 1."


def test_one_finger_taking_over_from_another_costs_more_than_adding_it():
    by_three = change(shape("", "0003", "0003"), shape("", "0003", "0004"))
    assert any("takes over from finger 3" in why for why, _ in by_three.parts)
    assert by_three.cost > change(OPEN, shape("", "0003", "0004")).cost


@pytest.mark.parametrize("pair", list(product((OPEN, C, AM, F, G7, BB), repeat=2)))
def test_the_cost_is_the_sum_of_its_explained_parts(pair):
    found = change(*pair)
    assert found.cost == pytest.approx(sum(cost for _, cost in found.parts), abs=1e-3)
    assert all(why and cost > 0 for why, cost in found.parts)
    assert found.text.endswith(".")


def test_a_longer_shift_never_costs_less():
    start = shape("", "2223", "1112")
    costs = [change_cost(start, shape("", f"{f}{f}{f}{f + 1}", "1112")) for f in range(2, 9)]
    assert costs == sorted(costs) and costs[0] == 0


def test_keeping_a_finger_never_costs_more_than_moving_it():
    kept = change_cost(AM, shape("", "2010", "2010"))
    moved = change_cost(AM, shape("", "0210", "0210"))
    assert kept < moved


def test_one_more_finger_to_place_never_costs_less():
    costs = [
        change_cost(OPEN, shape("", f, g)) for f, g in (("0003", "0003"), ("0203", "0203"), ("0213", "0213"))
    ]
    assert costs == sorted(costs) and len(set(costs)) == 3

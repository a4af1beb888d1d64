"""Which shape is held when: the teacher's choices, how far to move, and which strings need it."""

from fractions import Fraction

import pytest

from pieces.music.decisions import Decisions
from pieces.music.findings import work_up
from pieces.music.held import Hold, bars_open_to, find_holds, strings_needed
from pieces.music.shapes import Shape, shape_of
from pieces.music.tab import read_tab
from pieces.music.tuning import TUNINGS

UKE = TUNINGS["ukulele high G"]
G = shape_of("G", (0, 2, 3, 2), UKE)

HEAD = "tuning: ukulele high G\nmeter: 4/4\ntempo: 60\n\n"
WRITTEN = f"""{HEAD}   G               G
A|-2-------------|-2-------------|
E|-3-------------|-3-------------|
C|-2-------------|-2-------------|
G|-0-------------|-0-------------|
   1   2   3   4   1   2   3   4
"""
THREE_STRINGS = f"""{HEAD}   G               C
A|---------------|-3-------------|
E|-3-------3-----|-0-------------|
C|-----2-------2-|-0-------------|
G|-0-------------|-0-------------|
   1   2   3   4   1   2   3   4
"""
FREE = f"""{HEAD}   C               Dm              G7
A|-3-------------|-0-------------|-2-------------|
E|---------------|---------------|---------------|
C|---------------|---------------|---------------|
G|---------------|---------------|---------------|
   1   2   3   4   1   2   3   4   1   2   3   4
"""


def holds_of(text, **more):
    return find_holds(read_tab(text), **more)


def test_the_fingers_a_teacher_chose_stay_whatever_the_neighbours_ask():
    own = Decisions.of({"shape:C": {"frets": [0, 0, 0, 3], "fingers": [0, 0, 0, 4]}})
    for movement in (0, 0.5, 1):
        found = work_up(read_tab(FREE), decisions=own, movement=movement)
        assert found.holds[0].shape.fingers == (0, 0, 0, 4)
        assert found.holds[0].shape.reasons == ("Little finger instead of ring on string 1.",)


def test_frets_alone_leave_the_fingers_to_be_found():
    assert Decisions.of({"shape:C": {"frets": [0, 0, 0, 3]}}).fingered_symbols == frozenset()


def test_textbook_shapes_are_never_harder_and_least_movement_never_moves_more():
    rows = [work_up(read_tab(FREE), movement=movement) for movement in (0, 0.5, 1)]
    own = [sum(hold.shape.cost for hold in row.holds) for row in rows]
    moved = [sum(at.change.cost for at in row.changes) for row in rows]
    assert own == sorted(own)
    assert moved == sorted(moved, reverse=True)
    assert rows[0].holds[1].shape.written == "2210"


def test_a_three_finger_shape_whose_string_1_is_not_sounded_needs_no_finger_there():
    # common practice, no source
    first, second = holds_of(THREE_STRINGS)
    assert first.shape.written == "0232"
    assert first.needed == {4, 3, 2}
    assert second.needed is None


def test_a_tune_on_one_string_asks_for_no_reduced_shape():
    assert [hold.needed for hold in holds_of(FREE)] == [None, None, None]


def test_a_shape_is_needed_in_full_as_soon_as_one_hold_needs_it_so():
    def hold(bar, needed):
        return Hold(bar, Fraction(0), "G", G, needed)

    assert strings_needed([hold(1, frozenset({4, 3})), hold(2, frozenset({3, 2}))], G) == {4, 3, 2}
    assert strings_needed([hold(1, frozenset({4, 3})), hold(2, frozenset({1, 2}))], G) is None
    assert strings_needed([hold(1, frozenset({4, 3})), hold(2, None)], G) is None
    assert strings_needed([], G) is None


@pytest.mark.parametrize(("frets", "bars"), [((0, 2, 3, 2), [1, 2]), ((4, 2, 3, 2), [])])
def test_only_shapes_that_agree_with_what_is_written_are_open(frets, bars):
    shape = Shape("G", frets, frets, 0.0)
    assert bars_open_to(read_tab(WRITTEN), shape, "G") == bars

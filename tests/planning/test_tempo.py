from hypothesis import given
from hypothesis import strategies as st

from students.planning.tempo import MARKS, climb, ladder, next_mark, snap_down, start_tempo, step_down

tempos = st.integers(20, 260)


@given(tempos, tempos)
def test_a_ladder_rises_from_its_start_to_its_goal(start, goal):
    rungs = ladder(start, goal)
    assert rungs[-1] == goal
    assert list(rungs) == sorted(set(rungs))
    assert rungs[0] == min(start, goal)


@given(tempos, tempos, st.integers(0, 8))
def test_climbing_follows_the_ladder_rung_by_rung(start, goal, steps):
    rungs = ladder(start, goal)
    assert climb(start, goal, steps) == rungs[min(steps, len(rungs) - 1)]


@given(tempos, st.floats(0, 10))
def test_a_start_is_a_mark_between_half_and_seven_tenths_of_the_goal(goal, score):
    start = start_tempo(goal, score)
    assert start <= goal
    if goal >= 80:
        assert start in MARKS
        assert snap_down(goal * 0.5) <= start <= goal * 0.7 + 1e-6


@given(st.integers(40, 240), st.floats(0, 10), st.floats(0, 10))
def test_a_harder_loop_never_starts_faster(goal, one, other):
    easy, hard = sorted((one, other))
    assert start_tempo(goal, hard) <= start_tempo(goal, easy)


@given(st.sampled_from(MARKS[:-1]))
def test_one_mark_up_and_one_down_is_where_it_was(mark):
    assert step_down(next_mark(mark)) == mark

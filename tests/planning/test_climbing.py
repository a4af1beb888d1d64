"""How fast a learner climbs, learned from ticks, and what the plan makes of it."""

from datetime import timedelta

import pytest
from hypothesis import given, settings

from students.planning.chunks import build_chunks
from students.planning.climbing import FASTEST, SLOWEST, climb_of, gains_of
from students.planning.days import Learner, plan_days
from students.planning.fit import apply_way
from students.planning.history import History
from students.planning.tempo import ladder
from students.planning.visits import marks_a_visit
from tests.planning.made_up import TODAY, cases, daily, sections_of, tick, tune

LOOPS = build_chunks(tune(0, 2, 3, 5), sections_of(4), {}, goal=76)
PAIR, SECTION = LOOPS[0], LOOPS[-1]
MARKS = ladder(PAIR.start, PAIR.goal)
SLOWLY = [0, 0, 1, 0, 0, 1]


def day(n):
    return TODAY + timedelta(days=n)


def climbs(chunk, steps, felt="clean", first=0):
    """Ticks on as many days, each so many marks on from the last."""
    at, ticks = 0, []
    for n, step in enumerate(steps):
        at = min(at + step, len(MARKS) - 1)
        ticks.append(tick(chunk.key, day(first + n), MARKS[at], felt))
    return ticks


def share(*ticks, of=PAIR):
    return climb_of(LOOPS, History(ticks)).share(of)


def test_with_no_ticks_the_climb_is_the_usual_one():
    assert climb_of(LOOPS, History()).share(PAIR) == 1.0


def test_who_gains_what_a_visit_is_supposed_to_gain_climbs_as_usual():
    assert share(*climbs(PAIR, [marks_a_visit(PAIR)] * 3)) == pytest.approx(1.0)


def test_who_stands_still_climbs_less_the_longer_it_lasts():
    shares = [share(*climbs(PAIR, [0] * days, "slips")) for days in range(1, 6)]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > 0.5 and shares[-1] < 0.5


def test_one_loop_that_stands_still_says_little_of_the_others():
    still = climbs(PAIR, [0] * 4, "slips")
    assert share(*still) < share(*still, of=LOOPS[1]) < 1.0
    assert share(*still, of=LOOPS[1]) < share(*still, of=SECTION)


def test_a_visit_at_the_goal_says_nothing():
    assert gains_of(PAIR, [tick(PAIR.key, day(n), 76) for n in range(3)])[1:] == []


def test_a_breakdown_counts_as_a_loss():
    (_, second) = gains_of(PAIR, [tick(PAIR.key, day(0), 54), tick(PAIR.key, day(1), 54, "broke")])
    assert second.marks < 0


def test_the_best_of_a_day_speaks_for_it():
    two = [tick(PAIR.key, TODAY, 60, "broke"), tick(PAIR.key, TODAY, 54)]
    assert gains_of(PAIR, two) == gains_of(PAIR, two[1:])


@settings(max_examples=60, deadline=None)
@given(cases)
def test_the_share_stays_within_bounds_whatever_was_ticked(case):
    chunks, _, _, history = case
    climb = climb_of(chunks, history)
    assert all(SLOWEST <= climb.share(chunk) <= FASTEST for chunk in chunks)


# --- In the plan ---------------------------------------------------------------------------


def slow_week():
    """Every loop of the section gained two marks in six days; two days are left."""
    ticks = [t for loop in LOOPS for t in climbs(loop, SLOWLY)]
    return plan_days(LOOPS, daily(12, 8), Learner(), History(tuple(ticks)), day(6))


def test_who_climbs_slowly_is_told_where_the_section_will_be_by_the_lesson():
    made = slow_week()
    ((key, tempo),) = made.fit.short
    assert not made.fit.fits and not made.fit.missing
    assert made.fit.text == f"Will not be at 76 by the lesson: section A comes to about {tempo}."
    assert key == "section:A" and MARKS[2] < tempo < 76


def test_what_would_reach_the_goal_is_offered_and_does():
    made, history = slow_week(), History(tuple(t for loop in LOOPS for t in climbs(loop, SLOWLY)))
    assert {"goal", "later"} <= {way.kind for way in made.fit.ways_out}
    for way in made.fit.ways_out:
        then = plan_days(*apply_way(way, LOOPS, daily(12, 8), day(6)), Learner(), history, day(6))
        assert then.fit.fits


def test_who_climbs_as_usual_has_a_plan_that_fits():
    ticks = [t for loop in LOOPS for t in climbs(loop, [0, 3, 3])]
    assert plan_days(LOOPS, daily(12, 10), Learner(), History(tuple(ticks)), day(3)).fit.fits


def test_a_section_below_its_goal_returns_on_every_day_that_has_room():
    days = slow_week().days
    assert all("section:A" in {task.key for task in each.tasks} for each in days)


def test_a_slow_climb_is_asked_for_fewer_marks_but_no_less_playing():
    slow = slow_week().days[0]
    ticks = tuple(t for loop in LOOPS for t in climbs(loop, [2]))
    usual = plan_days(LOOPS, daily(12, 8), Learner(), History(ticks), day(6)).days[0]
    of = {task.key: task for task in slow.tasks}, {task.key: task for task in usual.tasks}
    for key in of[0].keys() & of[1].keys():
        one, other = of[0][key], of[1][key]
        assert len(ladder(one.from_tempo, one.to_tempo)) <= len(ladder(other.from_tempo, other.to_tempo))
        assert one.passes >= other.passes


def test_a_loop_whose_section_goes_clean_is_taken_up_where_the_section_is():
    ticks = [tick(PAIR.key, day(n), 54) for n in range(2)] + [tick(SECTION.key, day(2), 66)]
    made = plan_days(LOOPS, daily(12, 10), Learner(), History(tuple(ticks)), day(3))
    tempos = [task.from_tempo for each in made.days for task in each.tasks if task.key == PAIR.key]
    assert all(tempo >= 66 for tempo in tempos)

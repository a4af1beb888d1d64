"""Toward a performance: learned first, run daily at the end, rest before."""

from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from students.planning.days import Calendar, Learner, plan_days
from students.planning.history import History
from students.planning.performing import backward_from, plan_toward
from tests.planning.made_up import TODAY, loops_from, tick

WEEKS = 5
PERFORMANCE = TODAY + timedelta(weeks=WEEKS)


def days_until(performance=PERFORMANCE, minutes=20):
    dates = (TODAY + timedelta(days=n) for n in range((performance - TODAY).days))
    return Calendar(dict.fromkeys(dates, minutes), performance, performance)


def wholes(day, chunks):
    keys = {c.key for c in chunks if c.kind == "run"} or {c.key for c in chunks if c.kind == "section"}
    return [task for task in day.tasks if task.key in keys]


def test_without_a_performance_it_is_the_plan_to_the_lesson():
    chunks, calendar = loops_from(3), replace(days_until(), performance=None)
    plain = plan_days(chunks, calendar, Learner(), History(), TODAY)
    assert plan_toward(chunks, calendar, Learner(), History(), TODAY) == plain


def test_in_the_last_week_the_whole_is_played_every_day():
    chunks, calendar = loops_from(3), days_until()
    plan = plan_toward(chunks, calendar, Learner(), History(), TODAY)
    dates = backward_from(PERFORMANCE, TODAY)
    assert plan.fit.fits
    for day in plan.days:
        if day.date >= dates.run_from:
            assert len(wholes(day, chunks)) == 1, day


def test_the_day_before_is_one_play_through_and_nothing_else():
    chunks = loops_from(3)
    plan = plan_toward(chunks, days_until(), Learner(), History(), TODAY)
    assert plan.days[-1].date == PERFORMANCE - timedelta(days=1)
    assert plan.days[-1].tasks == tuple(wholes(plan.days[-1], chunks))
    assert plan.days[-1].tasks[0].why.startswith("Once through and no more")


def test_a_piece_that_never_gets_whole_is_learned_with_every_minute_and_not_run():
    soon = TODAY + timedelta(days=3)
    chunks, calendar = loops_from(3), days_until(soon, minutes=3)
    plan = plan_toward(chunks, calendar, Learner(), History(), TODAY)
    assert plan == plan_days(chunks, calendar, Learner(), History(), TODAY)
    assert not plan.fit.fits


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(1, 40), st.integers(2, 30), st.integers(0, 2**20))
def test_minutes_are_never_exceeded_and_the_same_input_gives_the_same_plan(days, minutes, seed):
    performance = TODAY + timedelta(days=days)
    chunks, calendar = loops_from(seed), days_until(performance, minutes)
    sections = [c for c in chunks if c.kind == "section"]
    ticked = [c for at, c in enumerate(sections) if seed >> at & 1]
    history = History(tuple(tick(c.key, TODAY - timedelta(days=2), c.start) for c in ticked))
    plan = plan_toward(chunks, calendar, Learner(), history, TODAY)
    assert all(day.minutes <= calendar.room(day.date) for day in plan.days)
    assert plan == plan_toward(chunks, calendar, Learner(), history, TODAY)
    assert all(len({task.key for task in day.tasks}) == len(day.tasks) for day in plan.days)


@given(st.integers(1, 400))
def test_learned_comes_before_run_and_run_before_rest(lead):
    dates = backward_from(TODAY + timedelta(days=lead), TODAY)
    assert dates.learned_by <= dates.run_from <= dates.rest_on < TODAY + timedelta(days=lead)

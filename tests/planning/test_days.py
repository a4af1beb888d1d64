"""What a plan looks like, by example."""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import pytest

from students.planning.chunks import build_chunks
from students.planning.days import Calendar, Learner, Returns, plan_days, weeks_later
from students.planning.fit import apply_way
from students.planning.history import History, MarkRecord
from tests.planning.made_up import TODAY, Hard, daily, sections_of, tick, tune

BEGINNER = Learner("beginner")
FOUR_BARS = build_chunks(tune(0, 2, 3, 5), sections_of(4), {3: Hard(7.0)}, goal=76)
LONG = build_chunks(tune(*range(12), *range(12, 20)), sections_of(8, 8, 4), {}, goal=96)


def day(n):
    return TODAY + timedelta(days=n)


def plan(*ticks, chunks=FOUR_BARS, calendar=None, today=TODAY, marks=(), learner=BEGINNER, returns=()):
    calendar = calendar or daily(12, 6)
    return plan_days(chunks, calendar, learner, History(ticks, tuple(marks)), today, returns)


def tasks_on(made, date):
    return {task.key: task for task in made.on(date).tasks}


def test_a_beginners_week_goes_from_pairs_to_the_section():
    new = [[task.key for task in each.tasks if task.new] for each in plan(calendar=daily(15, 6)).days]
    assert new == [["pair:1-2", "bar:3"], ["pair:3-4", "join:2-3"], ["section:A"], [], [], []]


def test_it_says_how_many_minutes_are_needed():
    assert plan().fit.text == f"Fits: {plan().fit.needed} of 72 minutes."


def test_a_task_is_taken_up_where_it_was_left():
    made = plan(tick("bar:3", TODAY, 54), today=day(1))
    assert tasks_on(made, day(1))["bar:3"].from_tempo == 54
    assert tasks_on(made, day(1))["bar:3"].why == "Comes back after one night."


def test_after_a_breakdown_a_loop_steps_down_and_says_so():
    task = tasks_on(plan(tick("bar:3", TODAY, 54, "broke"), today=day(1)), day(1))["bar:3"]
    assert (task.from_tempo, task.why) == (50, "Bar 3 broke down at 54 yesterday, so 50 again.")


def test_after_slips_a_loop_stays_where_it_was():
    task = tasks_on(plan(tick("bar:3", TODAY, 54, "slips"), today=day(1)), day(1))["bar:3"]
    assert (task.from_tempo, task.why) == (54, "Some slips at 54 yesterday, so 54 again.")


def test_a_loop_that_was_missed_says_since_when_it_is_due():
    task = tasks_on(plan(tick("bar:3", TODAY, 54), today=day(4)), day(4))["bar:3"]
    assert task.why == "Was due on Saturday, so it comes now."


def test_after_more_than_a_week_away_a_loop_begins_a_mark_lower():
    calendar = daily(12, 20)
    task = tasks_on(plan(tick("bar:3", TODAY, 54), calendar=calendar, today=day(10)), day(10))["bar:3"]
    assert (task.from_tempo, task.why) == (52, "Not played for ten nights, so begin at 52.")


def test_missed_days_move_the_work_and_say_what_no_longer_fits():
    late = plan(today=day(4))
    assert not late.fit.fits
    assert late.days[0].date == day(4)
    assert "section:A" in late.fit.missing


def test_the_last_day_says_that_the_lesson_is_next():
    assert tasks_on(plan(), day(5))["section:A"].why == "Whole, the day before the lesson."


def test_a_new_task_says_what_it_is_new_for():
    assert tasks_on(plan(), TODAY)["bar:3"].why.startswith("New: bar 3")


def test_a_loop_that_keeps_breaking_down_keeps_coming_back():
    ticks = [tick("bar:3", day(n), 54, "broke") for n in range(4)]
    assert "bar:3" in tasks_on(plan(*ticks, today=day(4)), day(4))


def test_once_the_section_goes_clean_at_its_goal_its_loops_rest():
    ticks = [tick("bar:3", TODAY, 54), tick("section:A", day(1), 76)]
    keys = {task.key for each in plan(*ticks, today=day(2)).days for task in each.tasks}
    assert keys == {"section:A"}


def test_a_mark_is_followed_from_the_next_day_on():
    mark = MarkRecord("A", TODAY, "secure")
    made = plan(marks=[mark])
    assert made.on(TODAY) == plan().on(TODAY)
    later = [task for each in made.days[1:] for task in each.tasks]
    assert [(task.key, task.passes) for task in later] == [("section:A", 1)]


def test_what_was_ticked_today_changes_the_days_after_but_not_today():
    broke = tick("bar:3", TODAY, 50, "broke")
    made = plan(broke)
    assert made.on(TODAY) == plan().on(TODAY)
    assert tasks_on(made, day(1))["bar:3"].why == "Bar 3 broke down at 50 yesterday, so 46 again."


def test_loops_already_met_alternate_and_new_ones_do_not():
    made = plan(calendar=daily(15, 6))
    tasks = tasks_on(made, day(1)).values()
    assert {task.rounds for task in tasks if task.new} == {1}
    assert {task.rounds for task in tasks if not task.new} == {2}
    turns = made.on(day(1)).turns
    assert [turn.key for turn in turns].count("bar:3") == 2
    for task in tasks:
        assert sum(turn.passes for turn in turns if turn.key == task.key) == task.passes
    blocked = plan(learner=replace(BEGINNER, interleave=False))
    assert {task.rounds for each in blocked.days for task in each.tasks} == {1}


def test_a_slower_learner_gets_fewer_loops_into_the_same_minutes():
    slow = plan(learner=replace(BEGINNER, pace=2.0))
    assert slow.fit.needed > plan().fit.needed


def test_the_teacher_may_allow_more_new_loops_a_day():
    made = plan(learner=replace(BEGINNER, new_a_day=3), calendar=daily(30, 6))
    assert sum(task.new for task in made.days[0].tasks) == 3


def test_something_secure_of_another_piece_comes_back_as_one_play_through():
    known = Returns("steps", "Harbour Steps", Fraction(64), 96, day(2))
    task = tasks_on(plan(returns=[known], calendar=daily(20, 6)), day(2))["steps"]
    assert (task.passes, task.new) == (1, False)
    assert task.why == "Secure, and due again today: once through is enough."


def test_a_plan_too_long_for_its_days_names_three_ways_out():
    made = plan(chunks=LONG, calendar=daily(9, 12), learner=Learner("advanced"))
    assert not made.fit.fits
    assert [way.kind for way in made.fit.ways_out] == ["sections", "goal", "minutes"]
    assert made.fit.text.startswith(f"Does not fit: {made.fit.needed - made.fit.available} minutes short.")
    for way in made.fit.ways_out:
        assert f"Needs {way.needed} of {way.available}: fits" in way.text


def test_taking_fewer_sections_names_them():
    made = plan(chunks=LONG, calendar=daily(9, 12), learner=Learner("advanced"))
    way = made.fit.ways_out[0]
    chunks, calendar = apply_way(way, LONG, daily(9, 12), TODAY)
    assert {c.section for c in chunks if c.kind == "section"} == set(way.apply["sections"])
    assert plan_days(chunks, calendar, Learner("advanced"), History(), TODAY).fit.fits


def test_where_new_loops_are_too_many_a_later_date_is_offered():
    made = plan(chunks=LONG[:10], calendar=daily(60, 4))
    assert "new loops at 2 a day" in made.fit.text
    assert [way.kind for way in made.fit.ways_out] == ["later"]
    assert made.fit.ways_out[0].apply["lesson"] == day(4 + 7)


def test_with_no_day_left_it_says_so():
    made = plan(today=day(6))
    assert made.days == ()
    assert made.fit.text.startswith("Does not fit: there is no day of practice left before the date.")


def test_nothing_is_planned_from_the_performance_on():
    calendar = Calendar({day(n): 12 for n in range(10)}, day(10), performance=day(7))
    assert plan(calendar=calendar).days[-1].date == day(6)
    assert (
        tasks_on(plan(calendar=calendar), day(6))["section:A"].why == "Whole, the day before the performance."
    )


def test_a_later_lesson_repeats_the_days_of_the_last_week():
    calendar = Calendar({day(0): 10, day(2): 15, day(4): 20}, day(7))
    assert weeks_later(calendar, 1).days == (day(0), day(2), day(4), day(7), day(9), day(11))
    assert weeks_later(calendar, 1).room(day(11)) == 20


@pytest.mark.parametrize(("minutes", "new"), [(3, 1), (12, 2)])
def test_a_short_day_begins_with_less(minutes, new):
    made = plan(calendar=daily(minutes, 20))
    assert sum(task.new for task in made.days[0].tasks) == new

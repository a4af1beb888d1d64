"""Every hard rule of a plan, on random pieces, calendars and histories."""

from collections import Counter, defaultdict
from dataclasses import replace
from datetime import timedelta

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from students.planning.chunks import keep_sections
from students.planning.days import Returns, gentle_return, plan_days
from students.planning.fit import apply_way
from students.planning.history import History, TickRecord
from students.planning.standing import standing_of
from students.planning.visits import marks_a_visit, marks_between
from tests.planning.made_up import TODAY, cases, loops

often = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)


def days_by_loop(plan):
    days = defaultdict(list)
    for day in plan.days:
        for task in day.tasks:
            days[task.key].append((day.date, task))
    return days


@often
@given(cases)
def test_no_day_has_more_minutes_than_the_learner_has(case):
    chunks, calendar, learner, history = case
    for day in plan_days(chunks, calendar, learner, history, TODAY).days:
        assert sum(task.minutes for task in day.tasks) == day.minutes <= calendar.room(day.date)
        assert TODAY <= day.date < calendar.lesson


@often
@given(cases)
def test_the_minutes_of_a_task_hold_its_passes_and_the_breath_between(case):
    chunks, calendar, learner, history = case
    beats = {chunk.key: float(chunk.beats) for chunk in chunks}
    for day in plan_days(chunks, calendar, learner, history, TODAY).days:
        for task in day.tasks:
            seconds = task.passes * (beats[task.key] + 2) * 60 / task.from_tempo * learner.pace
            assert seconds <= 60 * task.minutes + 1e-6
            assert task.minutes == 1 or seconds > 60 * (task.minutes - 1)


@often
@given(cases)
def test_parts_are_met_before_the_whole_that_is_made_of_them(case):
    chunks, calendar, learner, history = case
    plan = plan_days(chunks, calendar, learner, history, TODAY)
    met = {tick.key for tick in history.ticks}
    parts = {chunk.key: chunk.parts for chunk in chunks}
    met |= {f"section:{mark.section}" for mark in history.marks if mark.standing != "learning"}
    settled = {c.key for c in chunks} - {t.key for d in plan.days for t in d.tasks} - set(plan.fit.missing)
    for day in plan.days:
        for task in day.tasks:
            if task.new:
                assert met | settled >= set(parts[task.key])
            met.add(task.key)


@often
@given(cases)
def test_no_more_loops_are_new_on_a_day_than_the_level_allows(case):
    chunks, calendar, learner, history = case
    cap = {"beginner": 2, "intermediate": 3, "advanced": 4}[learner.level]
    for day in plan_days(chunks, calendar, learner, history, TODAY).days:
        assert sum(task.new for task in day.tasks) <= cap


@often
@given(cases)
def test_a_new_loop_comes_back_on_two_other_days_where_the_calendar_has_them(case):
    chunks, calendar, learner, history = case
    plan = plan_days(chunks, calendar, learner, history, TODAY)
    wanted = min(2, len(calendar.days) - 1)
    for visits in days_by_loop(plan).values():
        if visits[0][1].new:
            assert len({day for day, _ in visits}) >= 1 + wanted
            assert not any(task.new for _, task in visits[1:])


@often
@given(cases)
def test_a_loop_is_played_once_a_day_at_most(case):
    for day in plan_days(*case, TODAY).days:
        assert max(Counter(task.key for task in day.tasks).values(), default=0) <= 1


@often
@given(cases)
def test_what_was_met_is_never_new_again(case):
    chunks, calendar, learner, history = case
    met = {tick.key for tick in history.ticks}
    for day in plan_days(chunks, calendar, learner, history, TODAY).days:
        assert not [task.key for task in day.tasks if task.new and task.key in met]


@often
@given(cases)
def test_every_section_that_is_met_is_played_on_the_last_day_or_named_as_missing(case):
    chunks, calendar, learner, history = case
    plan = plan_days(chunks, calendar, learner, history, TODAY)
    assume(plan.days)
    last = {task.key for task in plan.days[-1].tasks}
    for chunk in chunks:
        if chunk.kind == "section":
            assert chunk.key in last or chunk.key in plan.fit.missing


@often
@given(cases)
def test_every_assigned_loop_has_its_days_or_is_named_as_missing(case):
    chunks, calendar, learner, history = case
    plan = plan_days(chunks, calendar, learner, history, TODAY)
    planned = {task.key for day in plan.days for task in day.tasks}
    met = {tick.key for tick in history.ticks}
    well = {
        letter
        for letter in {c.section for c in chunks if c.section}
        if standing_of(letter, chunks, history, TODAY).name in ("at tempo", "secure", "due again")
    }
    run_well = [t for t in history.ticks if t.key == "run"]
    in_well = {c.key for c in chunks if c.kind == "section" and c.section in well}
    for chunk in reversed(chunks):
        in_well |= set(chunk.parts) if chunk.key in in_well else set()
    for chunk in chunks:
        known = chunk.key in met | in_well or set(chunk.sections) & well or run_well
        assert known or chunk.key in planned or chunk.key in plan.fit.missing
    assert plan.fit.fits == (not plan.fit.missing and not plan.fit.short)


@often
@given(cases)
def test_nothing_secure_is_drilled(case):
    chunks, calendar, learner, history = case
    plan = plan_days(chunks, calendar, learner, history, TODAY)
    tasks = days_by_loop(plan)
    for chunk in chunks:
        if chunk.kind == "section" and standing_of(
            chunk.section, chunks, history.before(TODAY), TODAY
        ).name in ("secure", "due again"):
            assert all(task.passes == 1 and not task.new for _, task in tasks[chunk.key])
            for part in chunk.parts:
                assert not tasks[part]


@often
@given(cases)
def test_two_loops_that_resemble_each_other_are_never_both_new_on_one_day(case):
    chunks, calendar, learner, history = case
    like = {chunk.key: chunk.resembles for chunk in chunks}
    for day in plan_days(chunks, calendar, learner, history, TODAY).days:
        new = {task.key for task in day.tasks if task.new}
        assert not [key for key in new if like[key] in new]


@often
@given(cases)
def test_the_same_input_gives_the_same_plan(case):
    assert plan_days(*case, TODAY) == plan_days(*case, TODAY)


@often
@given(cases)
def test_after_a_day_that_went_as_planned_all_has_its_days_and_no_section_is_more_than_a_visit_short(case):
    chunks, calendar, learner, _ = case
    plan = plan_days(chunks, calendar, learner, History(), TODAY)
    assume(plan.fit.fits and plan.days)
    done = tuple(as_played(task, plan.days[0].date, chunks) for task in plan.days[0].tasks)
    after = plan.days[0].date + timedelta(days=1)
    again = plan_days(chunks, calendar, learner, History(done), after)
    assert not again.fit.missing
    sections = {chunk.key: chunk for chunk in chunks}
    for key, tempo in again.fit.short:
        assert marks_between(tempo, sections[key].goal) <= marks_a_visit(sections[key])


@often
@given(cases, st.data())
def test_a_day_does_not_change_while_it_is_played(case, data):
    chunks, calendar, learner, history = case
    plan = plan_days(chunks, calendar, learner, history, TODAY)
    tasks = plan.on(TODAY).tasks
    assume(tasks)
    some = data.draw(st.lists(st.sampled_from(tasks), unique=True, min_size=1))
    felt = data.draw(st.sampled_from(("clean", "broke")))
    ticks = tuple(replace(as_played(task, TODAY, chunks), felt=felt) for task in some)
    again = plan_days(chunks, calendar, learner, History(history.ticks + ticks, history.marks), TODAY)
    assert again.on(TODAY) == plan.on(TODAY)
    assert all(day.minutes <= calendar.room(day.date) for day in again.days)


@often
@given(cases)
def test_a_gentle_return_halves_the_minutes_and_begins_with_what_is_known(case):
    chunks, calendar, learner, history = case
    calendar = gentle_return(calendar, TODAY, days=3)
    plan = plan_days(chunks, calendar, learner, history, TODAY)
    for day in plan.days:
        if day.date in calendar.gentle:
            assert day.minutes <= (calendar.minutes[day.date] + 1) // 2
            assert not (history.ticks and any(task.new for task in day.tasks))


@often
@given(cases)
def test_each_way_out_fits_once_it_is_taken(case):
    chunks, calendar, learner, history = case
    for way in plan_days(chunks, calendar, learner, history, TODAY).fit.ways_out:
        then = plan_days(*apply_way(way, chunks, calendar, TODAY), learner, history, TODAY)
        assert then.fit.fits, way
        assert way.needed <= way.available


@often
@given(cases)
def test_every_task_says_why_it_is_there(case):
    for day in plan_days(*case, TODAY).days:
        for task in day.tasks:
            assert task.why.endswith(".") and task.why[0].isupper()
            if not task.why.startswith("Stuck at "):
                assert task.new == task.why.startswith("New: ")


@often
@given(cases, st.lists(st.tuples(st.integers(-3, 9), st.integers(4, 64)), max_size=4))
def test_what_is_due_again_comes_as_one_pass_not_before_it_is_due(case, known):
    returns = [
        Returns(f"piece {n}", "Harbour Steps", beats, 80, TODAY + timedelta(days=days))
        for n, (days, beats) in enumerate(known)
    ]
    due = {item.key: item.due for item in returns}
    plan = plan_days(*case, TODAY, returns)
    for key, visits in days_by_loop(plan).items():
        if key in due:
            assert [task.passes for _, task in visits] == [1]
            assert visits[0][0] >= due[key]
    assert all(day.minutes <= case[1].room(day.date) for day in plan.days)


@often
@given(loops, st.data())
def test_loops_of_fewer_sections_are_those_sections_and_what_they_are_made_of(chunks, data):
    letters = sorted({chunk.section for chunk in chunks if chunk.section})
    kept = data.draw(st.lists(st.sampled_from(letters), unique=True, min_size=1))
    fewer = keep_sections(chunks, kept)
    keys = [chunk.key for chunk in fewer]
    assert {chunk.section for chunk in fewer if chunk.kind == "section"} == set(kept)
    for at, chunk in enumerate(fewer):
        assert set(chunk.parts) <= set(keys[:at])


def as_played(task, day, chunks):
    chunk = next(chunk for chunk in chunks if chunk.key == task.key)
    return TickRecord(
        chunk.key, chunk.section, chunk.first, chunk.last, day, task.to_tempo, "clean", chunk.kind
    )

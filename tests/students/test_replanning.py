"""The plan follows whatever happens, and nothing that is owed drops out of sight."""

from datetime import time, timedelta

import pytest
from django.core.management import call_command

from pieces.music.tab import read_tab
from pieces.workup import add_piece, revise
from students import practice
from students.lesson_days import follow_moved_lesson, next_lesson
from students.models import WEEKDAYS, Away
from studio.lessons.models import LessonSlot
from tests.students.steps import LESSON, LONG_TUNE, MONDAY, day, give, planned, practise, tick

pytestmark = pytest.mark.django_db


@pytest.fixture
def arrangement(cast):
    return add_piece(cast.studio, read_tab(LONG_TUNE), rights="own")


@pytest.fixture
def learner(cast):
    cast.learner.minutes = dict.fromkeys(WEEKDAYS, 12)
    cast.learner.save()
    return cast.learner


@pytest.fixture
def assignment(learner, arrangement):
    return give(learner, arrangement)


def away(learner, first, last, *, ill=False):
    row = Away.objects.create(
        studio_id=learner.studio_id, student=learner, first=day(first), last=day(last), ill=ill
    )
    learner.assignments.planned().update(stale=True)
    return row


def minutes_by_day(learner):
    found = {}
    for task in learner.tasks.all():
        found[task.day] = found.get(task.day, 0) + task.minutes
    return found


def out_of_sight(assignment, today):
    """Loops that were planned before ``today``, not ticked since, and are now neither planned nor missed."""
    student = assignment.student
    ticked = {tick.key for tick in student.ticks.standing()}
    planned_before = student.tasks.filter(day__lt=today, assignment=assignment)
    overdue = set(planned_before.values_list("chunk__key", flat=True)) - ticked
    ahead = set(student.tasks.filter(day__gte=today).values_list("chunk__key", flat=True))
    assignment.refresh_from_db()
    return overdue - ahead - set(assignment.fit["missing"])


def test_changed_days_are_followed_from_the_day_of_the_change(learner, assignment):
    before = planned(learner)
    learner.minutes = {**learner.minutes, "wed": 0, "thu": 25}
    learner.save()
    learner.assignments.planned().update(stale=True)
    practice.keep_planned(learner, day(1))
    assert [row for row in planned(learner) if row[0] < day(1)] == [row for row in before if row[0] < day(1)]
    assert day(2) not in minutes_by_day(learner)  # Wednesday
    assert 12 < minutes_by_day(learner)[day(3)] <= 25  # Thursday


def test_a_holiday_has_no_practice_and_what_it_held_comes_after(learner, assignment):
    away(learner, 1, 3)
    practice.keep_planned(learner, MONDAY)
    assert not set(minutes_by_day(learner)) & {day(1), day(2), day(3)}
    assert any(task.new for task in learner.tasks.filter(day__gte=day(4)))


def test_a_holiday_taken_back_gives_the_same_plan_as_before(learner, assignment):
    before = planned(learner)
    holiday = away(learner, 1, 3)
    practice.keep_planned(learner, MONDAY)
    holiday.delete()
    learner.assignments.planned().update(stale=True)
    practice.keep_planned(learner, MONDAY)
    assert planned(learner) == before


def test_the_return_after_an_illness_is_half_the_minutes_for_three_days(learner, assignment):
    practise(learner, MONDAY)
    away(learner, 1, 2, ill=True)
    practice.keep_planned(learner, day(3))
    minutes = minutes_by_day(learner)
    assert all(minutes.get(day(n), 0) <= 6 for n in (3, 4, 5))
    assert not learner.tasks.filter(day=day(3), new=True).exists()  # what is known comes first


def test_two_pieces_share_the_half_of_a_gentle_day(cast, learner, assignment):
    other = add_piece(cast.studio, read_tab(LONG_TUNE.replace("Two Yards", "Three Yards")), rights="own")
    give(learner, other)
    away(learner, 0, 0, ill=True)
    practice.keep_planned(learner, day(1))
    minutes = minutes_by_day(learner)
    assert minutes
    assert all(minutes.get(day(n), 0) <= 6 for n in (1, 2, 3))


def test_a_piece_given_during_the_return_is_gentle_too(learner, arrangement):
    away(learner, -3, -1, ill=True)
    give(learner, arrangement)
    minutes = minutes_by_day(learner)
    assert all(minutes.get(day(n), 0) <= 6 for n in (0, 1, 2))
    assert minutes[day(3)] > 6


def test_a_missed_day_moves_its_loops_to_the_days_after(learner, assignment):
    missed = set(learner.tasks.filter(day=MONDAY).values_list("chunk__key", flat=True))
    practice.keep_planned(learner, day(1))
    ahead = set(learner.tasks.filter(day__gte=day(1)).values_list("chunk__key", flat=True))
    assert missed <= ahead
    assert learner.tasks.filter(day=day(1), new=True).exists()


def test_nothing_is_overdue_and_hidden_on_any_day_of_a_careless_fortnight(learner, assignment):
    for number in range(15):
        today = day(number)
        practice.keep_planned(learner, today)
        assert out_of_sight(assignment, today) == set(), today
        assert assignment.fit["fits"] or assignment.fit["text"]
        if number % 4 == 0:
            for task in learner.tasks.filter(day=today)[:1]:
                tick(task, felt="slips")


def test_planning_twice_on_a_day_changes_nothing_whatever_happened(learner, assignment):
    practise(learner, MONDAY, felt="slips")
    away(learner, 2, 3, ill=True)
    practice.keep_planned(learner, day(1))
    once = planned(learner)
    practice.replan(learner, day(1))
    practice.replan(learner, day(1))
    assert planned(learner) == once


def test_a_lesson_moved_to_another_weekday_moves_the_date_of_the_piece(learner, assignment):
    slot = LessonSlot.objects.create(
        studio=learner.studio, student=learner, weekday=LESSON.weekday(), starts=time(16)
    )
    slot.weekday = 3
    slot.save()
    follow_moved_lesson(learner, LESSON.weekday(), day(1))
    practice.keep_planned(learner, day(1))
    assignment.refresh_from_db()
    assert assignment.until == LESSON + timedelta(days=2)
    assert max(minutes_by_day(learner)) == LESSON + timedelta(days=1)


def test_a_date_that_was_not_the_lessons_stays_where_it_is(learner, assignment):
    LessonSlot.objects.create(studio=learner.studio, student=learner, weekday=4, starts=time(16))
    follow_moved_lesson(learner, 0, day(1))
    assignment.refresh_from_db()
    assert assignment.until == LESSON


def test_a_performance_does_not_move_with_the_lesson(learner, arrangement):
    assignment = give(learner, arrangement, performance=True)
    LessonSlot.objects.create(studio=learner.studio, student=learner, weekday=4, starts=time(16))
    follow_moved_lesson(learner, LESSON.weekday(), day(1))
    assignment.refresh_from_db()
    assert assignment.until == LESSON


def test_what_was_not_given_anew_at_its_lesson_runs_on_to_the_next(learner, assignment):
    LessonSlot.objects.create(
        studio=learner.studio, student=learner, weekday=LESSON.weekday(), starts=time(16)
    )
    today = LESSON + timedelta(days=1)
    practice.keep_planned(learner, today)
    assignment.refresh_from_db()
    assert assignment.until == next_lesson(learner, today) == LESSON + timedelta(days=7)
    assert assignment.meant_for == LESSON
    assert learner.tasks.filter(day=today).exists()
    give(learner, assignment.arrangement, starts=today, until=LESSON + timedelta(days=7))
    assignment.refresh_from_db()
    assert assignment.meant_for is None


def test_an_edited_piece_is_played_anew_where_it_changed_and_nowhere_else(learner, arrangement, assignment):
    practise(learner, MONDAY)
    practise(learner, day(1))
    known = set(learner.ticks.values_list("key", flat=True))
    revise(arrangement, read_tab(LONG_TUNE.replace("A|-3---2---0-----|", "A|-3---5---0-----|")))
    arrangement.refresh_from_db()
    practice.move_to_current(arrangement, day(2))
    practice.keep_planned(learner, day(2))
    assignment.refresh_from_db()
    assert assignment.revision == arrangement.current
    new = set(learner.tasks.filter(day__gte=day(2), new=True).values_list("chunk__key", flat=True))
    touched = {key for key in known if 1 in numbers_in(assignment, key)}
    assert touched & new
    assert not (known - touched) & new


def numbers_in(assignment, key):
    chunk = assignment.chunks.filter(key=key).first()
    return chunk.data["bars"] if chunk else []


def test_a_piece_that_starts_later_leaves_the_days_before_to_the_others(cast, learner, assignment):
    before = [row for row in planned(learner) if row[0] < day(4)]
    other = add_piece(cast.studio, read_tab(LONG_TUNE.replace("Two Yards", "Three Yards")), rights="own")
    practice.assign(
        learner, other, practice.Terms(("A",), 72, day(4), LESSON + timedelta(days=7)), today=MONDAY
    )
    assert [row for row in planned(learner) if row[0] < day(4)] == before
    practice.keep_planned(learner, day(1))
    assert learner.tasks.filter(day=day(1), new=True).exists()  # the missed Monday was seen


def test_the_proposal_is_the_plan_that_is_stored(learner, arrangement, assignment):
    practise(learner, MONDAY, felt="slips")
    terms = practice.Terms(("A", "B"), 72, day(1), LESSON)
    proposed = practice.propose(learner, arrangement, terms)
    practice.assign(learner, arrangement, terms, today=MONDAY)
    shown = [
        (each.date, task.key, task.minutes, task.to_tempo)
        for each in proposed.plan.days
        for task in each.tasks
    ]
    stored = learner.tasks.filter(day__gte=day(1))
    assert list(stored.values_list("day", "chunk__key", "minutes", "to_tempo")) == shown


def test_the_daily_command_plans_whoever_has_an_old_plan_and_nobody_else(cast, learner, assignment, capsys):
    from students.models import Assignment

    today = cast.studio.today
    give(cast.other_learner, assignment.arrangement, starts=today, until=today + timedelta(days=8))
    call_command("replan")
    assert "1 learner planned anew, 2 as they were." in capsys.readouterr().out
    assert set(Assignment.objects.values_list("planned_for", flat=True)) == {today}
    call_command("replan")
    assert "Nobody planned anew, 3 as they were." in capsys.readouterr().out


def test_the_daily_command_goes_on_after_a_learner_whose_plan_fails(cast, learner, assignment, monkeypatch):
    give(cast.other_learner, assignment.arrangement)

    def failing(student, today):
        if student == learner:
            raise ValueError("a broken row")
        return kept(student, today)

    kept = practice.keep_planned
    monkeypatch.setattr(practice, "keep_planned", failing)
    with pytest.raises(SystemExit):
        call_command("replan")
    cast.other_learner.assignments.get(planned_for=cast.studio.today)

"""From a given piece to ticks, marks and the plan that follows them."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from pieces.music.tab import read_tab
from pieces.workup import add_piece, revise
from students import practice
from students.models import PlannedTask, Tick
from students.records import Terms, history_of, records_of
from tests.students.steps import planned, tick
from tests.tune import TUNE

pytestmark = pytest.mark.django_db


@pytest.fixture
def arrangement(cast):
    return add_piece(cast.studio, read_tab(TUNE), rights="own")


@pytest.fixture
def today(cast):
    return cast.studio.today


@pytest.fixture
def assignment(cast, arrangement, today):
    return practice.assign(cast.learner, arrangement, Terms(("A",), 72, today, today + timedelta(days=8)))


def first_task(student, day):
    return student.tasks.filter(day=day).first()


def test_giving_a_piece_fills_the_days_within_the_minutes_that_are_there(cast, assignment):
    by_day = {}
    for task in cast.learner.tasks.all():
        by_day[task.day] = by_day.get(task.day, 0) + task.minutes
    assert by_day
    assert all(minutes <= 10 for minutes in by_day.values())
    assert all(day.weekday() != 6 for day in by_day)  # Sundays have no minutes


def test_planning_again_with_nothing_new_changes_nothing(cast, assignment, today):
    before = planned(cast.learner)
    practice.replan(cast.learner, today)
    assert planned(cast.learner) == before


def test_a_tick_sent_twice_is_one_tick(cast, assignment, today):
    task, uuid = first_task(cast.learner, cast.learner.tasks.first().day), uuid4()
    assert tick(task, uuid=uuid).pk == tick(task, uuid=uuid).pk
    assert Tick.objects.count() == 1


def test_a_tick_changes_the_days_after_and_leaves_today(cast, assignment):
    day = cast.learner.tasks.first().day
    tasks_today = list(cast.learner.tasks.filter(day=day).values_list("pk", flat=True))
    before = planned(cast.learner)
    for task in cast.learner.tasks.filter(day=day):
        tick(task, felt="broke", tempo=task.from_tempo)
    practice.keep_planned(cast.learner, day)
    assert list(cast.learner.tasks.filter(day=day).values_list("pk", flat=True)) == tasks_today
    assert planned(cast.learner) != before


def test_taking_a_tick_back_keeps_both_on_record_and_counts_neither(cast, assignment):
    made = tick(cast.learner.tasks.first())
    practice.undo_tick(made, uuid=uuid4(), at=timezone.now())
    assert Tick.objects.count() == 2
    assert not cast.learner.ticks.standing().exists()


def test_a_mark_outweighs_what_was_ticked(cast, assignment, today):
    practice.mark_section(assignment, "A", "secure", day=today)
    practice.keep_planned(cast.learner, today)
    assert assignment.standings.get(section="A").standing == "secure"


def test_ticks_go_on_from_a_mark_once_a_later_lesson_was_held(cast, assignment, today):
    from studio.lessons.models import Lesson

    section = assignment.chunks.get(key="section:A")
    practice.mark_section(assignment, "A", "learning", day=today)
    task = cast.learner.tasks.filter(chunk=section).first()
    tick(task, tempo=72, on=today + timedelta(days=1))
    practice.keep_planned(cast.learner, today + timedelta(days=2))
    assert assignment.standings.get().standing == "learning"
    Lesson.objects.create(studio=cast.studio, student=cast.learner, day=today + timedelta(days=3))
    practice.replan(cast.learner, today + timedelta(days=3))
    assert assignment.standings.get().standing == "at tempo"


def test_giving_the_same_piece_again_keeps_the_ticks(cast, arrangement, assignment, today):
    tick(cast.learner.tasks.first())
    again = practice.assign(cast.learner, arrangement, Terms(("A",), 80, today, today + timedelta(days=10)))
    assert again.pk == assignment.pk
    assert cast.learner.ticks.standing().count() == 1


def test_an_edited_bar_forgets_its_ticks_and_other_bars_keep_theirs(cast, arrangement, assignment):
    by_key = {task.chunk.key: task for task in cast.learner.tasks.select_related("chunk")}
    for key in ("pair:1-2", "pair:3-4"):
        tick(by_key[key])
    edited = TUNE.replace("A|-3---2---0-----|", "A|-3---5---0-----|")
    revise(arrangement, read_tab(edited))
    history = history_of(assignment, arrangement.current, *records_of(cast.learner))
    assert [record.key for record in history.ticks] == ["pair:3-4"]


def test_a_piece_put_away_leaves_the_plan_and_stays_in_the_repertoire(cast, assignment, today):
    practice.mark_section(assignment, "A", "secure", day=today)
    practice.keep_planned(cast.learner, today)
    practice.end_assignment(assignment, today)
    assert not PlannedTask.objects.filter(assignment=assignment, day__gte=today).exists()
    assert assignment.standings.get().due_on > today


def test_days_away_have_no_practice(cast, assignment, today):
    from students.models import Away

    away = Away.objects.create(
        studio=cast.studio,
        student=cast.learner,
        first=today + timedelta(days=1),
        last=today + timedelta(days=3),
    )
    practice.replan(cast.learner, today)
    assert not cast.learner.tasks.filter(day__gte=away.first, day__lte=away.last).exists()

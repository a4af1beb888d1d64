"""Who comes when: regular times, single days, and whose lesson is next."""

from datetime import date, time, timedelta

import pytest

from studio.lessons.changes import move_lesson, note_absence, plan_lesson
from studio.lessons.models import Lesson
from studio.lessons.timetable import meetings, next_meeting, week_of
from tests.lessons.week import THURSDAY, joined, on_thursday, slot  # noqa: F401

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("on_thursday")]
MONDAY = date(2026, 3, 16)
NEXT = THURSDAY + timedelta(days=7)


@pytest.fixture
def week(cast):
    """Juno on Thursdays at 4:30 with the owner, Otto at 5:00 with the other teacher."""
    slot(joined(cast.learner), 3, "16:30", teacher=cast.owner)
    slot(joined(cast.other_learner), 3, "17:00", teacher=cast.teacher)
    slot(joined(cast.foreign_learner), 3, "16:00")
    return cast


def said(found):
    return [(m.student.name, m.day, m.starts, m.state) for m in found]


def test_a_week_holds_the_regular_lessons_of_this_studio_in_order_of_time(week):
    days = week_of(week.studio, MONDAY)
    assert [day["day"] for day in days] == [MONDAY + timedelta(days=n) for n in range(7)]
    assert said(days[3]["meetings"]) == [
        ("Juno Pell", THURSDAY, time(16, 30), "usual"),
        ("Otto Brand", THURSDAY, time(17), "usual"),
    ]
    assert not any(day["meetings"] for n, day in enumerate(days) if n != 3)


def test_nobody_has_a_lesson_before_they_joined_or_after_they_left(week):
    joined(week.learner, THURSDAY + timedelta(days=1))
    week.other_learner.left_on = THURSDAY
    week.other_learner.save()
    assert meetings(week.studio, MONDAY, MONDAY + timedelta(days=7)) == []


def test_a_lesson_that_is_noted_takes_the_place_of_the_regular_one(week):
    note_absence(week.learner, THURSDAY, owed=True, today=THURSDAY, by=week.owner)
    first = meetings(week.studio, THURSDAY, NEXT)[0]
    assert (first.state, first.starts, first.takes_place) == ("absent", time(16, 30), False)


def test_a_moved_lesson_stands_on_both_days_and_takes_place_on_one(week):
    saturday = THURSDAY + timedelta(days=2)
    move_lesson(week.learner, THURSDAY, saturday, time(10), 45, today=THURSDAY, by=week.owner)
    found = meetings(week.studio, MONDAY, MONDAY + timedelta(days=7), student=week.learner)
    assert said(found) == [
        ("Juno Pell", THURSDAY, time(16, 30), "moved"),
        ("Juno Pell", saturday, time(10), "planned"),
    ]
    assert [m.takes_place for m in found] == [False, True]


def test_moving_a_lesson_within_its_day_only_changes_the_time(week):
    move_lesson(week.learner, THURSDAY, THURSDAY, time(18), 30, today=THURSDAY, by=week.owner)
    found = meetings(week.studio, THURSDAY, NEXT, student=week.learner)
    assert said(found) == [("Juno Pell", THURSDAY, time(18), "planned")]


def test_the_next_lesson_is_the_teachers_own_first_that_is_not_noted_yet(week):
    assert next_meeting(week.studio, week.owner).student == week.learner
    assert next_meeting(week.studio, week.teacher).student == week.other_learner
    Lesson.objects.create(studio=week.studio, student=week.learner, teacher=week.owner, day=THURSDAY)
    assert next_meeting(week.studio, week.owner).day == NEXT


def test_a_lesson_going_on_is_still_the_next_one_until_it_is_noted(week):
    slot(week.learner, 3, "15:45", teacher=week.owner)
    assert next_meeting(week.studio, week.owner).starts == time(15, 45)


def test_the_learner_whose_page_is_open_is_not_the_next_one(week):
    plan_lesson(week.other_learner, THURSDAY + timedelta(days=1), time(9), 30, today=THURSDAY, by=week.owner)
    assert next_meeting(week.studio, week.owner, but=week.learner.pk).student == week.other_learner


def test_a_lesson_missed_or_over_is_not_the_next_one(week):
    note_absence(week.learner, THURSDAY, owed=False, today=THURSDAY, by=week.owner)
    slot(week.other_learner, 3, "15:00", teacher=week.owner)
    assert next_meeting(week.studio, week.owner).day == NEXT


def test_a_week_takes_two_queries_however_many_come(week, django_assert_num_queries):
    for n in range(20):
        slot(week.learner, n % 5, f"{8 + n // 4:02}:00")
        Lesson.objects.create(
            studio=week.studio, student=week.learner, day=MONDAY + timedelta(days=n - 40), state="planned"
        )
    with django_assert_num_queries(2):
        meetings(week.studio, MONDAY - timedelta(days=50), MONDAY + timedelta(days=50))


def test_a_lesson_of_yesterday_is_not_coming(week):
    yesterday = meetings(week.studio, THURSDAY, NEXT, student=week.learner)[0]
    assert yesterday.is_coming(week.studio.now)
    assert not yesterday.is_coming(week.studio.now + timedelta(days=1))

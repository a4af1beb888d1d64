"""Lessons that are missed, moved, or stand on a day of their own.

What is assigned follows: its date moves with the lesson that it was given for.
"""

from datetime import date, time, timedelta

from django.db import transaction

from students.lesson_days import next_lesson
from students.models import Student
from studio.accounts.models import User
from studio.lessons.models import Lesson


def lesson_on(student: Student, day: date, teacher: User | None) -> Lesson:
    """The row of one day, not saved yet where nothing was known of it."""
    known = Lesson.objects.filter(student=student, day=day).first()
    slot = student.slots.filter(weekday=day.weekday()).first()
    return known or Lesson(
        studio_id=student.studio_id,
        student=student,
        teacher=slot.teacher if slot and slot.teacher else teacher,
        day=day,
        starts=slot.starts if slot else None,
        minutes=slot.minutes if slot else 30,
    )


@transaction.atomic
def note_absence(student: Student, day: date, *, owed: bool, today: date, by: User | None) -> Lesson:
    """The lesson of ``day`` does not take place; ``owed`` where it is to be made up."""
    lesson = lesson_on(student, day, by)
    lesson.state, lesson.owed = Lesson.ABSENT, owed
    lesson.save()
    _follow(student, day, next_lesson(student, day - timedelta(days=2)), today)
    return lesson


@transaction.atomic
def move_lesson(
    student: Student, day: date, to: date, starts: time, minutes: int, *, today: date, by: User | None
) -> Lesson:
    """The lesson of ``day`` takes place at another time; return the one that does."""
    lesson = lesson_on(student, day, by)
    if to == day:
        lesson.starts, lesson.minutes, lesson.state = starts, minutes, Lesson.PLANNED
        lesson.save()
        return lesson
    lesson.state, lesson.owed = Lesson.MOVED, True
    lesson.save()
    instead = plan_lesson(student, to, starts, minutes, makes_up_for=lesson, today=today, by=by)
    _follow(student, day, to, today)
    return instead


@transaction.atomic
def plan_lesson(
    student: Student,
    day: date,
    starts: time,
    minutes: int,
    *,
    makes_up_for: Lesson | None = None,
    today: date,
    by: User | None,
) -> Lesson:
    """A lesson on a day of its own, of a learner who has none on that day."""
    return Lesson.objects.create(
        studio_id=student.studio_id,
        student=student,
        teacher=makes_up_for.teacher if makes_up_for else by,
        day=day,
        starts=starts,
        minutes=minutes,
        state=Lesson.PLANNED,
        makes_up_for=makes_up_for,
    )


@transaction.atomic
def take_back(lesson: Lesson, today: date) -> None:
    """The lesson is as it was before: neither missed nor moved, nor planned on its own."""
    student, day = lesson.student, lesson.day
    before = next_lesson(student, day - timedelta(days=2))
    instead = getattr(lesson, "made_up_by", None)
    if instead and instead.state == Lesson.PLANNED:
        before = instead.day
        instead.delete()
    if lesson.note or lesson.promised:
        lesson.state, lesson.owed = Lesson.HELD, False
        lesson.save(update_fields=["state", "owed"])
    else:
        lesson.delete()
    _follow(student, before, next_lesson(student, day - timedelta(days=2)), today)


def _follow(student: Student, was: date, now: date, today: date) -> None:
    """What was to be learned by ``was`` is to be learned by ``now``."""
    if now > today:
        running = student.assignments.running().filter(performance=False, until=was, starts_on__lt=now)
        running.update(until=now, stale=True)

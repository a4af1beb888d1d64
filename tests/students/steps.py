"""What the tests of a learner's weeks share: a tune, its days, and how a day is lived."""

from datetime import date, timedelta
from uuid import uuid4

from django.utils import timezone

from students import practice
from students.records import Terms

MONDAY = date(2026, 3, 16)
LESSON = MONDAY + timedelta(days=8)  # a Tuesday

# Two sections of four bars each, told apart by chords and rhythm.
LONG_TUNE = """title: Two Yards
tuning: ukulele high G
meter: 4/4
tempo: 72

   C               Am              F               G7
A|-3---2---0-----|-0-------2-3---|-0-------0---3-|-2-------------|
E|-0-------------|-0-------------|-1---1-3-------|-1-------3-----|
C|-0-------------|-0-------------|-0-------------|-2-------------|
G|-0-------------|-2-------------|-2-------------|-0-------------|
   1   2   3   4   1   2   3 & 4   1   2 & 3   4   1   2   3   4

   Dm              F               G7              C
A|-5---3---1---0-|-3-1-0-1-3-----|-2---0---2---3-|-3-------------|
E|-1-------------|-1-------------|-1-------------|-0-------------|
C|-2-------------|-0-------------|-2-------------|-0-------------|
G|-2-------------|-2-------------|-0-------------|-0-------------|
   1   2   3   4   1 & 2 & 3   4   1   2   3   4   1   2   3   4
"""


def day(number: int) -> date:
    """The day so many days after the Monday on which everything begins."""
    return MONDAY + timedelta(days=number)


def give(student, arrangement, *, letters=("A",), goal=72, starts=MONDAY, until=LESSON, **more):
    return practice.assign(student, arrangement, Terms(tuple(letters), goal, starts, until, **more))


def tick(task, *, felt="clean", tempo=None, minutes=0, uuid=None, on=None):
    return practice.record_tick(
        task.student,
        task,
        uuid=uuid or uuid4(),
        day=on or task.day,
        tempo=tempo or task.to_tempo,
        felt=felt,
        at=timezone.now(),
        minutes=minutes,
    )


def practise(student, on: date, **how):
    """Plan a day and tick everything on it."""
    practice.keep_planned(student, on)
    for task in student.tasks.filter(day=on):
        tick(task, **how)


def planned(student, since: date = MONDAY):
    """The stored plan as plain values."""
    tasks = student.tasks.filter(day__gte=since)
    return list(
        tasks.values_list(
            "day", "order", "chunk__key", "minutes", "passes", "from_tempo", "to_tempo", "new", "why"
        )
    )

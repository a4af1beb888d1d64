"""A studio's week for the tests: learners with regular times, and a clock that can be set."""

from datetime import UTC, date, datetime, time

import pytest
from django.utils import timezone

from studio.lessons.models import LessonSlot

THURSDAY = date(2026, 3, 19)


@pytest.fixture
def on_thursday(monkeypatch):
    """It is 4 o'clock on Thursday 19 March 2026, in London as in UTC."""
    monkeypatch.setattr(timezone, "now", lambda: datetime(2026, 3, 19, 16, 0, tzinfo=UTC))


def slot(student, weekday: int, at: str, *, teacher=None, minutes=30) -> LessonSlot:
    return LessonSlot.objects.create(
        studio_id=student.studio_id,
        student=student,
        teacher=teacher,
        weekday=weekday,
        starts=time.fromisoformat(at),
        minutes=minutes,
    )


def joined(student, day=date(2026, 1, 8)):
    """The learner has been coming since ``day``."""
    student.joined_on = day
    student.save()
    return student

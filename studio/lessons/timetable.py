"""The week's lessons, from the learners' regular times."""

from datetime import timedelta

from studio.accounts.models import Studio
from studio.lessons.models import LessonSlot


def lessons_on(studio: Studio, day) -> list[LessonSlot]:
    """The lessons of one day in order of time."""
    slots = LessonSlot.objects.of(studio).filter(weekday=day.weekday(), student__left_on=None)
    return list(slots.select_related("student").order_by("starts"))


def week_ahead(studio: Studio) -> list[dict]:
    """Seven days from today, each with its lessons: one query."""
    slots = LessonSlot.objects.of(studio).filter(student__left_on=None).select_related("student")
    by_weekday: dict[int, list[LessonSlot]] = {}
    for slot in slots.order_by("starts"):
        by_weekday.setdefault(slot.weekday, []).append(slot)
    days = [studio.today + timedelta(days=n) for n in range(7)]
    return [{"day": day, "slots": by_weekday.get(day.weekday(), [])} for day in days]

"""The Lessons page: a week of lessons with what was changed, and what is still to be made up."""

from datetime import date, timedelta

from studio.accounts.models import Studio
from studio.lessons.models import Lesson
from studio.lessons.timetable import WEEK, Meeting, monday_of, next_meeting, week_of
from studio.templatetags.fourbar import clock, day_in_full, short_day


def week_page(studio: Studio, teacher, asked: date) -> dict:
    """The week that holds the day ``asked``."""
    monday, today = monday_of(asked), studio.today
    coming = next_meeting(studio, teacher)
    days = [
        {**day, "lines": [_line(meeting, coming, today) for meeting in day["meetings"]]}
        for day in week_of(studio, monday)
    ]
    owed = Lesson.objects.of(studio).owed().filter(student__left_on=None).select_related("student")
    return {
        "days": days,
        "today": today,
        "monday": monday,
        "sunday": monday + timedelta(days=WEEK - 1),
        "before": monday - timedelta(days=WEEK),
        "after": monday + timedelta(days=WEEK),
        "this_week": monday == monday_of(today),
        "owed": owed.order_by("day", "student__name"),
        "lessons": sum(m.takes_place for day in days for m in day["meetings"]),
    }


def state_in_words(meeting: Meeting) -> str:
    """How a lesson stands, as a teacher would note it in a diary."""
    lesson = meeting.lesson
    if meeting.state == Lesson.HELD:
        return "Held."
    if meeting.state == Lesson.ABSENT and not lesson.owed:
        return "Absent."
    if meeting.state in (Lesson.ABSENT, Lesson.MOVED):
        word = "Absent" if meeting.state == Lesson.ABSENT else "Moved"
        instead = getattr(lesson, "made_up_by", None)
        if instead is None:
            return f"{word}, still to be made up."
        return f"{word}; instead {short_day(instead.day)}, {clock(instead.starts)}."
    if meeting.state == Lesson.PLANNED and lesson.makes_up_for:
        return f"{meeting.minutes} minutes, instead of {short_day(lesson.makes_up_for.day)}."
    if meeting.state == Lesson.PLANNED:
        return f"{meeting.minutes} minutes, on this day only."
    return f"{meeting.minutes} minutes."


def _line(meeting: Meeting, coming: Meeting | None, today: date) -> dict:
    return {
        "meeting": meeting,
        "said": state_in_words(meeting),
        "next": meeting == coming,
        "change": f"Change {meeting.student.name}, {day_in_full(meeting.day)}",
    }

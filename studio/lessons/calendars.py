"""Lesson times for a calendar program, at a secret address that can be ended.

The calendar says who and when, and nothing else of a child. Format: RFC 5545
(iCalendar), name and refresh interval RFC 7986. Times are written in UTC, each
lesson for itself, so that no program has to know the studio's daylight saving.
"""

import hashlib
import secrets
from datetime import date, timedelta
from uuid import NAMESPACE_URL, uuid5
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils import timezone
from icalendar import Calendar, Event

from students.models import Student
from studio.accounts.models import Studio, User
from studio.lessons.models import CalendarAddress
from studio.lessons.timetable import Meeting, meetings

BACK, AHEAD = timedelta(weeks=4), timedelta(weeks=13)
READ_AGAIN = timedelta(hours=6)


def new_address(
    studio: Studio, *, teacher: User | None = None, student: Student | None = None
) -> tuple[CalendarAddress, str]:
    """End the address in force and make the next; return it with its token, which is seen here only."""
    token = secrets.token_urlsafe(16)
    with transaction.atomic():
        end_address(studio, teacher=teacher, student=student)
        address = CalendarAddress.objects.create(
            studio=studio, teacher=teacher, student=student, digest=_digest(token)
        )
    return address, token


def end_address(studio: Studio, *, teacher: User | None = None, student: Student | None = None) -> None:
    whose = {"teacher": teacher, "student": student}
    CalendarAddress.objects.of(studio).in_force().filter(**whose).update(ended=timezone.now())


def address_of_token(token: str) -> CalendarAddress | None:
    """The address in force that ``token`` belongs to.

    One of a teacher who has left the studio, or of a learner who has, is not in force.
    """
    found = CalendarAddress.objects.in_force().select_related("studio", "teacher", "student")
    address = found.filter(digest=_digest(token)).first()
    return address if address and _still_belongs(address) else None


def feed(address: CalendarAddress, today: date) -> bytes:
    """The lessons of the person whose address it is, from four weeks back to thirteen ahead."""
    studio = address.studio
    found = meetings(studio, today - BACK, today + AHEAD, teacher=address.teacher, student=address.student)
    calendar = Calendar()
    calendar.add("prodid", "-//Fourbar//Lessons//EN")
    calendar.add("version", "2.0")
    calendar.add("name", f"Lessons, {studio.name}")
    calendar.add("refresh-interval", READ_AGAIN, {"VALUE": "DURATION"})
    zone, now = ZoneInfo(studio.time_zone), timezone.now()
    for meeting in found:
        if meeting.takes_place and meeting.starts is not None:
            calendar.add_component(_event(meeting, zone, now))
    return calendar.to_ical()


def _event(meeting: Meeting, zone: ZoneInfo, now) -> Event:
    begins = meeting.begins(zone).astimezone(ZoneInfo("UTC"))
    event = Event()
    event.add("uid", str(uuid5(NAMESPACE_URL, f"fourbar/lesson/{meeting.student.pk}/{meeting.day}")))
    event.add("dtstamp", now)
    event.add("dtstart", begins)
    event.add("dtend", begins + timedelta(minutes=meeting.minutes))
    event.add("summary", meeting.student.name)
    return event


def _still_belongs(address: CalendarAddress) -> bool:
    if address.student is not None:
        return address.student.left_on is None
    return address.studio.memberships.filter(user=address.teacher).exists()


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()

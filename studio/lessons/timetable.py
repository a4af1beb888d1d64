"""Who comes when: the regular lesson times, and what was changed on single days."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q

from students.models import Student
from studio.accounts.models import Studio, User
from studio.lessons.models import Lesson, LessonSlot

WEEK = 7
USUAL = "usual"


@dataclass(frozen=True)
class Meeting:
    """One lesson of one learner on one day, in the studio's own clock.

    ``state`` is that of the lesson's row, or ``usual`` for a regular lesson of which
    nothing is known yet. ``lesson`` is the row, None without one. ``starts`` is None for
    a lesson that was held at no time of its own.
    """

    student: Student
    day: date
    starts: time | None
    minutes: int
    state: str = USUAL
    lesson: Lesson | None = None
    teacher_id: int | None = None

    @property
    def ends(self) -> time | None:
        """A lesson ends on the day on which it began."""
        if self.starts is None:
            return None
        end = datetime.combine(self.day, self.starts) + timedelta(minutes=self.minutes)
        return end.time() if end.date() == self.day else time.max

    @property
    def takes_place(self) -> bool:
        return self.state not in (Lesson.ABSENT, Lesson.MOVED)

    @property
    def is_over(self) -> bool:
        """Noted as held, or not to be held."""
        return self.state in (Lesson.HELD, Lesson.ABSENT, Lesson.MOVED)

    def is_coming(self, now: datetime) -> bool:
        """Not over yet, and not noted: one that began is coming until something is written in it."""
        if self.is_over or self.starts is None:
            return False
        return self.day > now.date() or (self.day == now.date() and self.ends > now.time())

    def begins(self, zone: ZoneInfo) -> datetime:
        return datetime.combine(self.day, self.starts, zone)

    def overlaps(self, other: "Meeting") -> bool:
        if self.starts is None or other.starts is None:
            return False
        return self.day == other.day and self.starts < other.ends and other.starts < self.ends

    @property
    def in_order(self) -> tuple:
        return self.day, self.starts or time.min, self.student.name


def meetings(
    studio: Studio,
    first: date,
    end: date,
    *,
    teacher: User | None = None,
    student: Student | None = None,
) -> list[Meeting]:
    """Every lesson from ``first`` up to, and without, ``end``, in order: two queries.

    With ``teacher``, theirs and those that nobody is named for. A row of its own takes
    the place of the regular lesson of the same learner and day.
    """
    whose = Q(student__left_on=None)
    if student is not None:
        whose &= Q(student=student)
    slots = LessonSlot.objects.of(studio).filter(whose).select_related("student")
    rows = (
        Lesson.objects.of(studio)
        .filter(whose, day__gte=first, day__lt=end)
        .select_related("student", "made_up_by", "makes_up_for")
    )
    by_weekday: dict[int, list[LessonSlot]] = defaultdict(list)
    for slot in slots:
        by_weekday[slot.weekday].append(slot)
    known = {(row.student_id, row.day): row for row in rows}
    found = [_of_row(row, by_weekday[row.day.weekday()]) for row in known.values()]
    for day in (first + timedelta(days=n) for n in range((end - first).days)):
        found += [
            Meeting(slot.student, day, slot.starts, slot.minutes, teacher_id=slot.teacher_id)
            for slot in by_weekday[day.weekday()]
            if (slot.student_id, day) not in known and day >= slot.student.joined_on
        ]
    if teacher is not None:
        found = [meeting for meeting in found if meeting.teacher_id in (teacher.pk, None)]
    return sorted(found, key=lambda meeting: meeting.in_order)


def meeting_on(student: Student, day: date) -> Meeting | None:
    """The learner's lesson on one day."""
    return next(iter(meetings(student.studio, day, day + timedelta(days=1), student=student)), None)


def parse_date_or(text: str, otherwise: date) -> date:
    """The day that ``text`` names as 2026-03-19, ``otherwise`` where it names none."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return otherwise


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


def week_of(studio: Studio, monday: date) -> list[dict]:
    """Seven days, each with its lessons."""
    by_day: dict[date, list[Meeting]] = defaultdict(list)
    for meeting in meetings(studio, monday, monday + timedelta(days=WEEK)):
        by_day[meeting.day].append(meeting)
    days = [monday + timedelta(days=n) for n in range(WEEK)]
    return [{"day": day, "meetings": by_day[day]} for day in days]


def next_meeting(studio: Studio, teacher: User, *, but: int | None = None) -> Meeting | None:
    """The teacher's next lesson, within a week: one that is on and not noted yet counts.

    ``but`` is the number of a learner who is not meant: the one whose page is open.
    """
    now = studio.now
    coming = meetings(studio, now.date(), now.date() + timedelta(days=WEEK + 1), teacher=teacher)
    return next((m for m in coming if m.is_coming(now) and m.student.pk != but), None)


def _of_row(row: Lesson, slots: list[LessonSlot]) -> Meeting:
    """A row without a time of its own is at the regular time, where there is one."""
    usual = next((slot.starts for slot in slots if slot.student_id == row.student_id), None)
    return Meeting(
        row.student, row.day, row.starts or usual, row.minutes, row.state, row, teacher_id=row.teacher_id
    )

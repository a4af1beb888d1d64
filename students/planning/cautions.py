"""Words of care, shown where practice grows or runs long.

Figures from the advice of the British Association for Performing Arts Medicine to
musicians: a break of five minutes each half hour; at most ten minutes a day added
for three days, then held for that week; never through pain.
"""

from datetime import date, timedelta
from statistics import mean

from students.planning.plan import Calendar
from students.planning.words import on_day

HALF_HOUR = 30
BREAK = 5
ADDED_A_DAY = 10
DAYS_OF_GROWTH = 3
WEEK = 7

NEVER_THROUGH_PAIN = "Never play through pain: stop, and tell your teacher."
GROW_SLOWLY = (
    f"Add at most {ADDED_A_DAY} minutes a day for three days, then hold it there for the rest of the week."
)


def break_caution(minutes: int) -> str:
    """What to say of a day with so many minutes; nothing up to half an hour.

    >>> break_caution(45)
    '45 minutes: take a break of 5 minutes after each half hour.'
    >>> break_caution(30)
    ''
    """
    if minutes <= HALF_HOUR:
        return ""
    return f"{minutes} minutes: take a break of {BREAK} minutes after each half hour."


def most_minutes(usual: float, day_of_growth: int) -> float:
    """The most minutes on the n-th day of practice (from 1) after days of ``usual`` minutes.

    >>> [most_minutes(20, n) for n in (1, 2, 3, 4, 7)]
    [30, 40, 50, 50, 50]
    """
    return usual + ADDED_A_DAY * min(day_of_growth, DAYS_OF_GROWTH)


def cautions(calendar: Calendar, today: date, usual: float | None = None) -> tuple[str, ...]:
    """What to say of the days from ``today`` to the lesson.

    ``usual`` are the minutes of a day of practice so far; where it is not given, the
    mean of the calendar's days in the week before ``today``, or of its first day.
    Only the first week is looked at for growth: after it, another three days may grow.
    """
    ahead = [day for day in calendar.days if day >= today]
    if not ahead:
        return ()
    if usual is None:
        week = [calendar.room(day) for day in calendar.days if today - timedelta(days=WEEK) <= day < today]
        usual = mean(week) if week else calendar.room(ahead[0])
    said = []
    first_week = [day for day in ahead if day < ahead[0] + timedelta(days=WEEK)]
    for number, day in enumerate(first_week, 1):
        if calendar.room(day) > most_minutes(usual, number):
            said.append(f"{calendar.room(day)} minutes {on_day(day)}, after {usual:.0f} a day. {GROW_SLOWLY}")
            break
    longest = max(calendar.room(day) for day in ahead)
    if text := break_caution(longest):
        said.append(text)
    return (*said, NEVER_THROUGH_PAIN) if said else ()

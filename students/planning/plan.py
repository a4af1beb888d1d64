"""What goes into a plan besides the loops, and what comes out: plain values.

Minutes are whole minutes of practice, tempos beats a minute, days local dates.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from typing import Literal, NamedTuple

from students.planning.loops import Chunk

# New loops a day by level: a beginner's first day is then four bars at most, which is
# plenty (common practice, no source).
NEW_A_DAY = {"beginner": 2, "intermediate": 3, "advanced": 4}


@dataclass(frozen=True)
class Calendar:
    """The days on which a learner can practise, and the date it is for.

    ``minutes`` names only days that can be practised; days with no minutes, and days
    from the lesson on, are none. It may reach back before today: then it also says
    how long the assignment has been running. ``performance``: nothing is planned from
    that day on, and returns are spaced toward it even where it lies after the lesson.
    ``gentle`` are the days of a return after an illness: half the minutes, and what
    is known comes first.
    """

    minutes: Mapping[date, int]
    lesson: date
    performance: date | None = None
    gentle: frozenset[date] = frozenset()

    @property
    def end(self) -> date:
        """The first day on which nothing is practised any more."""
        return min(self.lesson, self.performance or self.lesson)

    @property
    def goal_date(self) -> date:
        """The date that returns are spaced toward."""
        return self.performance or self.lesson

    @property
    def days(self) -> tuple[date, ...]:
        """Every day of practice before the end, in order."""
        return tuple(sorted(day for day, minutes in self.minutes.items() if minutes > 0 and day < self.end))

    def room(self, day: date) -> int:
        """Minutes of practice on ``day``; half of them, rounded up, on a gentle day."""
        minutes = max(0, self.minutes.get(day, 0))
        return (minutes + 1) // 2 if day in self.gentle else minutes


def gentle_return(calendar: Calendar, back: date, days: int = 3) -> Calendar:
    """``calendar`` with the first ``days`` days of practice from ``back`` on made gentle."""
    first = [day for day in calendar.days if day >= back][:days]
    return Calendar(
        calendar.minutes, calendar.lesson, calendar.performance, calendar.gentle | frozenset(first)
    )


@dataclass(frozen=True)
class Learner:
    """Who practises. ``pace`` is their minutes over the estimate (1: as estimated).

    ``climb`` is how much of the usual climb they make a visit, as far as is known from
    other pieces (1: all of it; see ``climbing``).
    ``interleave``: loops already met alternate within a day. ``new_a_day`` overrides
    the level's cap on new loops.
    """

    level: Literal["beginner", "intermediate", "advanced"] = "beginner"
    pace: float = 1.0
    interleave: bool = True
    new_a_day: int | None = None
    climb: float = 1.0

    @property
    def new_loops(self) -> int:
        return NEW_A_DAY[self.level] if self.new_a_day is None else self.new_a_day


@dataclass(frozen=True)
class Returns:
    """Something secure, of this piece or another, that comes back as one play-through.

    ``beats`` are the metronome beats of one pass; ``due`` is the day on which its
    recall falls to nine in ten.
    """

    key: str
    label: str
    beats: Fraction
    tempo: int
    due: date


@dataclass(frozen=True)
class Task:
    """One loop on one day. ``rounds`` is how often the day comes round to it (see ``Day.turns``)."""

    key: str
    label: str
    minutes: int
    passes: int
    from_tempo: int
    to_tempo: int
    new: bool
    why: str
    kind: str = ""
    first: int = 0
    last: int = 0
    rounds: int = 1


class Turn(NamedTuple):
    """So many passes of one task before the next."""

    key: str
    passes: int


@dataclass(frozen=True)
class Day:
    """One day's practice; ``minutes`` is the sum of its tasks."""

    date: date
    tasks: tuple[Task, ...] = ()

    @property
    def minutes(self) -> int:
        return sum(task.minutes for task in self.tasks)

    @property
    def turns(self) -> tuple[Turn, ...]:
        """The day in playing order: loops that alternate are played half, then half again."""
        first = [Turn(task.key, -(-task.passes // task.rounds)) for task in self.tasks]
        again = [Turn(task.key, task.passes // 2) for task in self.tasks if task.rounds == 2]
        split = [at for at, task in enumerate(self.tasks) if task.rounds == 2]
        end = split[-1] + 1 if split else len(first)
        return (*first[:end], *again, *first[end:])


WHOLES = frozenset({"section", "run"})


@dataclass(frozen=True)
class WayOut:
    """A change that makes the plan fit: computed, not guessed.

    ``apply`` is what to change: ``{"sections": [letters to keep]}``,
    ``{"goal": tempo, "start_goal": tempo}``, ``{"more_minutes": a day}`` or
    ``{"weeks_later": weeks, "lesson": date}``; see ``fit.apply_way``.
    """

    kind: Literal["sections", "goal", "minutes", "later"]
    text: str
    needed: int
    available: int
    apply: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Fit:
    """Whether everything assigned has its days, in words and minutes.

    ``missing`` are the keys of loops that have no day at all, or not all they need;
    ``short`` the sections that will not be at their goal by the date, each key with the
    tempo to which it is expected to come.
    """

    fits: bool
    text: str
    needed: int
    available: int
    ways_out: tuple[WayOut, ...] = ()
    missing: tuple[str, ...] = ()
    short: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True)
class Plan:
    """Every day of practice from today to the lesson, and whether it all fits.

    ``apart`` are loops that are planned besides those given, as one of them is stuck.
    """

    days: tuple[Day, ...]
    fit: Fit
    apart: tuple[Chunk, ...] = ()

    def on(self, day: date) -> Day:
        """The plan of ``day``; an empty day where nothing is practised."""
        return next((planned for planned in self.days if planned.date == day), Day(day))


def add_minutes(calendar: Calendar, more: int, today: date) -> Calendar:
    """``calendar`` with ``more`` minutes on each day of practice from ``today`` on."""
    minutes = {
        day: have + more if have > 0 and day >= today else have for day, have in calendar.minutes.items()
    }
    return Calendar(minutes, calendar.lesson, calendar.performance, calendar.gentle)


def weeks_later(calendar: Calendar, weeks: int) -> Calendar:
    """``calendar`` with lesson (and performance) ``weeks`` later, its last week's days repeated."""
    minutes, by = dict(calendar.minutes), timedelta(weeks=weeks)
    for day in (calendar.end + timedelta(days=n) for n in range(7 * weeks)):
        if minutes.get(day, 0) <= 0:
            minutes[day] = minutes.get(day - timedelta(days=7), 0)
    performance = calendar.performance and calendar.performance + by
    return Calendar(minutes, calendar.lesson + by, performance, calendar.gentle)

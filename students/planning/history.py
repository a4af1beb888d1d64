"""What a learner did and what a teacher judged, as values: ticks and marks.

Everything about progress is derived from these two and can be rebuilt from them.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import groupby
from typing import Literal

from students.planning.tempo import step_down

Felt = Literal["broke", "slips", "clean"]
BEST: tuple[Felt, ...] = ("broke", "slips", "clean")

# After a break-down a loop goes back two marks; after a week away, one.
BACK_AFTER_BREAKDOWN = 2
BACK_AFTER_A_WEEK = 1
LONG_AWAY = 8  # nights


@dataclass(frozen=True, slots=True)
class TickRecord:
    """One loop played on one day.

    ``key`` is the loop's (``Chunk.key``), ``section`` its section letter, ``first`` and
    ``last`` its bars. ``tempo`` is the fastest at which it went as ``felt`` says, in
    beats a minute. ``minutes`` is how long it took where that was measured, and
    ``planned`` how long the plan had said.
    """

    key: str
    section: str
    first: int
    last: int
    day: date
    tempo: int
    felt: Felt
    kind: str
    id: str = ""
    minutes: float | None = None
    planned: float | None = None


@dataclass(frozen=True, slots=True)
class MarkRecord:
    """A teacher's judgement of a section in a lesson: "learning", "at tempo" or "secure"."""

    section: str
    day: date
    standing: str


@dataclass(frozen=True)
class History:
    """Ticks and marks of one learner on one arrangement, oldest first.

    Ticks of one day keep the order in which they were made.
    """

    ticks: tuple[TickRecord, ...] = ()
    marks: tuple[MarkRecord, ...] = ()

    def __post_init__(self):
        object.__setattr__(self, "ticks", tuple(sorted(self.ticks, key=lambda tick: tick.day)))
        object.__setattr__(self, "marks", tuple(sorted(self.marks, key=lambda mark: mark.day)))

    @cached_property
    def by_loop(self) -> dict[str, tuple[TickRecord, ...]]:
        """Ticks of each loop, oldest first."""
        loops: dict[str, list[TickRecord]] = {}
        for tick in self.ticks:
            loops.setdefault(tick.key, []).append(tick)
        return {key: tuple(ticks) for key, ticks in loops.items()}

    def before(self, day: date) -> "History":
        """Only what happened on earlier days than ``day``."""
        return History(
            tuple(tick for tick in self.ticks if tick.day < day),
            tuple(mark for mark in self.marks if mark.day < day),
        )

    def until(self, day: date) -> "History":
        """What happened on ``day`` and before."""
        return History(
            tuple(tick for tick in self.ticks if tick.day <= day),
            tuple(mark for mark in self.marks if mark.day <= day),
        )


def days_of(ticks: Iterable[TickRecord]) -> tuple[date, ...]:
    """The days on which ``ticks`` were made, oldest first, each once."""
    return tuple(day for day, _ in groupby(sorted(tick.day for tick in ticks)))


def clean_days_at(ticks: Iterable[TickRecord], tempo: int) -> tuple[date, ...]:
    """The days with a clean tick at ``tempo`` or faster."""
    return days_of(tick for tick in ticks if tick.felt == "clean" and tick.tempo >= tempo)


def best_of(ticks: Iterable[TickRecord]) -> TickRecord:
    """The tick that went best: clean before slips before broken down, then the fastest."""
    return max(ticks, key=lambda tick: (BEST.index(tick.felt), tick.tempo))


def left_at(ticks: tuple[TickRecord, ...], start: int, goal: int, on: date) -> int:
    """The tempo at which a loop begins on day ``on``, given its earlier ``ticks``.

    Where it was left; two marks back after a break-down, one mark back after more
    than a week away; ``start`` where it was never played. Never past ``goal``.

    >>> broke = TickRecord("bar:3", "A", 3, 3, date(2026, 3, 17), 54, "broke", "bar")
    >>> left_at((broke,), 46, 76, date(2026, 3, 18)), left_at((), 46, 76, date(2026, 3, 18))
    (50, 46)
    """
    if not ticks:
        return start
    last = ticks[-1]
    back = BACK_AFTER_BREAKDOWN if last.felt == "broke" else 0
    if (on - last.day).days >= LONG_AWAY:
        back += BACK_AFTER_A_WEEK
    return min(goal, step_down(last.tempo, back) if back else last.tempo)

"""The plan in whole numbers: loops as loads, days as minutes, and what a plan costs.

The plan sought has the least

    cost = 1000·U + 10·N + 3·G + 2·T + L

over all plans that keep the hard rules, where

    U  visits that are needed and have no day (an unmet loop: its first and its returns),
    N  for each new loop, how many days of practice come before the day it is new,
    G  for each needed return, by how many nights it misses its due night,
    T  marks that sections still lack to their goal on the last day,
    L  minutes of the longest day.

That is the order of the aims: everything covered; new work early; returns spaced by
nights; sections on their way to the goal; short days. A return is due one night after
the first meeting, later ones after a fifth of the nights left to the date. Hard rules:
no day's minutes exceeded, parts before wholes, the cap on new loops, no two loops new
on one day that resemble each other, each new loop back on two other days.
"""

from dataclasses import dataclass, field
from typing import NamedTuple

# The share of the nights left to the date after which a loop comes back: about a fifth
# (Cepeda et al. 2008); the first time after one night (Simmons 2011).
SHARE_OF_TIME_LEFT = 5


@dataclass(frozen=True, slots=True)
class Load:
    """A loop as the placing sees it; all sizes in minutes.

    ``new`` is the size of its first visit, 0 where it was met. ``returns`` are the
    sizes of the returns it needs. ``since`` is the ordinal of the day it was last
    played (met loops), and ``anew``: it is due after one night. ``parts`` and ``like``
    are indices of earlier loads. ``close`` is the size of its play-through on the
    last day, 0 where it needs none.
    """

    new: int
    returns: tuple[int, ...]
    since: int = 0
    anew: bool = True
    parts: tuple[int, ...] = ()
    like: int | None = None
    close: int = 0

    @property
    def visits(self) -> int:
        """How many visits it needs."""
        return (self.new > 0) + len(self.returns)

    @property
    def size(self) -> int:
        """The least minutes that it needs: on the last day once through may do."""
        last = self.returns[-1:] and (min(self.returns[-1], self.close or self.returns[-1]),)
        return self.new + sum((*self.returns[:-1], *last)) or self.close


@dataclass(frozen=True, slots=True)
class Days:
    """The days of practice from today on: their ordinals, minutes, and caps on new loops.

    ``goal`` is the ordinal of the date that returns are spaced toward.
    """

    ordinals: tuple[int, ...]
    room: tuple[int, ...]
    caps: tuple[int, ...]
    goal: int


class Stop(NamedTuple):
    """A visit: the load, the day's index, and its minutes."""

    load: int
    day: int
    minutes: int
    new: bool


@dataclass(slots=True)
class Placed:
    """Where the visits lie, and what has no day.

    ``free`` is what remains of each day's minutes; ``missing`` holds for each load how
    many of its visits have no day; ``off`` the sum of nights by which returns miss.
    """

    free: list[int]
    stops: list[Stop] = field(default_factory=list)
    missing: dict[int, int] = field(default_factory=dict)
    first: dict[int, int] = field(default_factory=dict)
    off: int = 0

    def minutes(self, days: Days) -> int:
        """Minutes of all the visits."""
        return sum(days.room) - sum(self.free)


def cost(placed: Placed, days: Days, marks_short: int = 0) -> int:
    """The formula above. ``marks_short`` is T, which the placing itself cannot see."""
    return (
        1000 * sum(placed.missing.values())
        + 10 * sum(stop.day for stop in placed.stops if stop.new)
        + 3 * placed.off
        + 2 * marks_short
        + max((room - free for room, free in zip(days.room, placed.free, strict=True)), default=0)
    )


def due(since: int, goal: int, *, anew: bool) -> int:
    """The ordinal of the day on which a loop played on ``since`` is due again.

    >>> due(100, 130, anew=True), due(101, 130, anew=False)
    (101, 107)
    """
    if anew:
        return since + 1
    return since + max(1, round((goal - since) / SHARE_OF_TIME_LEFT))

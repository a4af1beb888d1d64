"""On which days loops are visited: the core of the plan, on whole numbers.

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

Loops are placed one after the other, parts first, each new one on the first day from
which its returns find room too. That is done in each of four styles of placing the
returns, and the plan that costs least is taken.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

# Returns each near the night it is due; the first so and the others as late as can be;
# all as soon, or all as late as can be.
Style = Literal["spaced", "held back", "soon", "late"]
STYLES: tuple[Style, ...] = ("spaced", "held back", "soon", "late")

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


def place(loads: Sequence[Load], days: Days) -> Placed:
    """The cheapest of the plans that the styles make; the first of equals."""
    best = min((_place(loads, days, style) for style in STYLES), key=lambda placed: cost(placed, days))
    if best.missing and (whole := first_that_fits(loads, days)):
        return whole
    return best


def first_that_fits(loads: Sequence[Load], days: Days) -> Placed | None:
    """The first plan found that has a day for everything, or None.

    What was met has the first choice of days. Where that leaves no day for the rest,
    loops are placed in their own order, as they were before any of them was met.
    """
    if not fits_by_number(loads, days):
        return None
    orders = (True, False) if any(not load.new for load in loads) else (True,)
    tried = (
        _place(loads, days, style, met_first=met_first, give_up=True)
        for met_first in orders
        for style in STYLES
    )
    return next((placed for placed in tried if not placed.missing), None)


def fits_by_number(loads: Sequence[Load], days: Days) -> bool:
    """Whether minutes and caps on new loops suffice, wherever they lie."""
    if sum(load.size for load in loads) > sum(days.room):
        return False
    unmet = [load for load in loads if load.new]
    returns = min((len(load.returns) for load in unmet), default=0)
    return len(unmet) <= sum(days.caps[: max(0, len(days.caps) - returns)])


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


def _place(
    loads: Sequence[Load], days: Days, style: Style, *, met_first: bool = True, give_up: bool = False
) -> Placed:
    """Place every load; ``give_up``: stop at the first that has no day."""
    placed = Placed(list(days.room))
    board = _Board(loads, days, placed, style, list(days.caps))
    for i, load in enumerate(loads):
        board.keep_the_close(i, load)
    in_order = range(len(loads))
    for i in sorted(in_order, key=lambda i: loads[i].new > 0) if met_first else in_order:
        if loads[i].new:
            board.place_unmet(i, loads[i])
        else:
            board.place_met(i, loads[i])
        if give_up and placed.missing:
            break
    return placed


@dataclass(slots=True)
class _Board:
    """The days while they are being filled."""

    loads: Sequence[Load]
    days: Days
    placed: Placed
    style: Style
    caps: list[int]
    kept: dict[int, int] = field(default_factory=dict)
    new_on: dict[int, set[int]] = field(default_factory=dict)

    @property
    def end(self) -> int:
        return len(self.days.room) - 1

    def keep_the_close(self, i: int, load: Load) -> None:
        """Set aside the minutes of a play-through on the last day, where it has them."""
        if load.close and self.end >= 0 and self.placed.free[self.end] >= load.close:
            self.kept[i] = load.close
            self.placed.free[self.end] -= load.close

    def take_the_close(self, i: int, load: Load, full: int) -> int:
        """Minutes of the last day's visit: all of ``full`` where they fit, else once through, else 0."""
        if self.end < 0 or not load.close:
            return 0
        self.placed.free[self.end] += self.kept.pop(i, 0)
        free = self.placed.free[self.end]
        return full if 0 < full <= free else load.close if load.close <= free else 0

    def place_met(self, i: int, load: Load) -> None:
        sizes, before = load.returns, None
        close = self.take_the_close(i, load, sizes[-1] if sizes else 0)
        if close:
            sizes, before = sizes[:-1], self.end
        taken = self.find_returns(sizes, 0, load.since, anew=load.anew, before=before)
        for day, minutes, off in taken:
            self.put(i, day, minutes, off)
        if close:
            self.put(i, self.end, close, 0)
        short = len(sizes) - len(taken) + (self.end >= 0 and load.close > 0 and not close and not sizes)
        if short:
            self.placed.missing[i] = short

    def place_unmet(self, i: int, load: Load) -> None:
        closes = bool(load.close and load.returns)
        full = load.returns[-1] if closes else 0
        close = self.take_the_close(i, load, full)
        earliest = self.earliest(load)
        if earliest is None or (closes and not close):
            self.placed.missing[i] = load.visits
            return
        sizes = load.returns[:-1] if closes else load.returns
        for day in range(earliest, len(self.days.room) - len(load.returns)):
            if not self.admits(load, day):
                continue
            since = self.days.ordinals[day]
            before = self.end if closes else None
            taken = self.find_returns(sizes, day + 1, since, anew=True, before=before)
            if len(taken) < len(sizes):
                continue
            self.put(i, day, load.new, 0, new=True)
            for at, minutes, off in taken:
                self.put(i, at, minutes, off)
            if closes:
                self.put(i, self.end, close, 0)
            return
        self.placed.missing[i] = load.visits

    def earliest(self, load: Load) -> int | None:
        """The first day on which all parts have been met; None where one never is."""
        parts = [part for part in load.parts if self.loads[part].new]
        if any(part not in self.placed.first for part in parts):
            return None
        return max((self.placed.first[part] for part in parts), default=0)

    def admits(self, load: Load, day: int) -> bool:
        """Whether a loop of this load can be new on ``day``."""
        return (
            self.caps[day] > 0
            and self.placed.free[day] >= load.new
            and load.like not in self.new_on.get(day, ())
        )

    def put(self, i: int, day: int, minutes: int, off: int, *, new: bool = False) -> None:
        self.placed.stops.append(Stop(i, day, minutes, new))
        self.placed.free[day] -= minutes
        self.placed.off += off
        if new:
            self.caps[day] -= 1
            self.placed.first[i] = day
            self.new_on.setdefault(day, set()).add(i)

    def find_returns(
        self, sizes: Sequence[int], first: int, since: int, *, anew: bool, before: int | None
    ) -> list[tuple[int, int, int]]:
        """Days for returns in order, as (day, minutes, nights off); as many as find room."""
        ordinals, free = self.days.ordinals, self.placed.free
        taken: list[tuple[int, int, int]] = []
        stop = len(ordinals) if before is None else before
        for number, size in enumerate(sizes):
            wanted = due(since, self.days.goal, anew=anew and number == 0)
            still = len(sizes) - number - 1
            options = [day for day in range(first, stop - still) if free[day] >= size]
            if not options:
                break
            style = self.style
            # What is owed since an earlier day is never put off to make room.
            if style == "spaced" or (number == 0 and (style == "held back" or first == 0)):
                day = min(options, key=lambda d: (abs(ordinals[d] - wanted), -free[d], d))
            else:
                day = options[0 if style == "soon" else -1]
            taken.append((day, size, abs(ordinals[day] - max(wanted, ordinals[0]))))
            since, first = ordinals[day], day + 1
        return taken

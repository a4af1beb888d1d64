"""What the minutes are for that are left once everything needed has its day.

First what is secure and due again, as one play-through; then, day by day, whatever has
not come to where it should be: sections and the run on their way to the goal, then loops
that lag behind. What has furthest to go comes first. Nothing secure is drilled, and once
the goal is in sight a day stays as short as it is.
"""

from collections.abc import Sequence
from typing import NamedTuple

from students.planning.loads import Days, Placed, Stop
from students.planning.needs import Need
from students.planning.plan import Returns
from students.planning.visits import marks_between, play_through, visit, visits_for

# Sections come before loops that lag, and the run last: it goes as its sections go.
ORDER = {"section": 0, "run": 2}


class PlayThrough(NamedTuple):
    """A secure thing played once through on the day of that index."""

    returns: Returns
    day: int
    minutes: int


def play_throughs(returns: Sequence[Returns], days: Days, free: list[int], pace: float) -> list[PlayThrough]:
    """Each of ``returns`` that comes due, on the first day from then on that has room.

    Takes the minutes from ``free``.
    """
    placed = []
    for item in sorted(returns, key=lambda r: (r.due, r.key)):
        minutes = play_through(item.beats, item.tempo, pace).minutes
        for day, ordinal in enumerate(days.ordinals):
            if ordinal >= item.due.toordinal() and free[day] >= minutes:
                free[day] -= minutes
                placed.append(PlayThrough(item, day, minutes))
                break
    return placed


def onward(needs: Sequence[Need], placed: Placed, free: list[int], pace: float) -> list[Stop]:
    """More visits to what is short of where it should be, on the first days that have room.

    Takes the minutes from ``free``.
    """
    days_of: dict[int, set[int]] = {at: set() for at in range(len(needs))}
    for stop in placed.stops:
        days_of[stop.load].add(stop.day)
    wanted = {
        at: more
        for at, need in enumerate(needs)
        if not need.secure
        and at not in placed.missing
        and (more := visits_wanted(need) - len(days_of[at])) > 0
    }
    sizes = {
        at: visit(needs[at].chunk, needs[at].tempo, pace=pace, share=needs[at].share).minutes for at in wanted
    }
    more = []
    for day in range(len(free)):
        if free[day] < min((sizes[at] for at in wanted), default=0):
            continue
        for at in sorted(wanted, key=lambda at: (ORDER.get(needs[at].chunk.kind, 1), -wanted[at], at)):
            is_known = day > _known_on(needs[at], at, days_of)
            if is_known and day not in days_of[at] and free[day] >= sizes[at]:
                free[day] -= sizes[at]
                more.append(Stop(at, day, sizes[at], False))
                wanted[at] -= 1
        wanted = {at: left for at, left in wanted.items() if left > 0}
    return more


def _known_on(need: Need, at: int, days_of: dict[int, set[int]]) -> int:
    """The index of the day on which it, or what it waits for, is met; -1 where it is known."""
    before = -1 if need.waits is None else min(days_of[need.waits], default=-1)
    return max(before, min(days_of[at], default=-1) if need.load.new else -1)


def lengthen(needs: Sequence[Need], stops: Sequence[Stop], free: list[int], pace: float) -> list[Stop]:
    """``stops`` with the minutes still free given to what is whole and climbs less than usual.

    Sections first, then the run, are played up to twice as long on each day; ``free`` is
    taken from. Who climbs as usual keeps short days, and so does who is at the goal.
    """
    longer = list(stops)
    for day in range(len(free)):
        slow = [n for n, stop in enumerate(longer) if stop.day == day and needs[stop.load].is_slow]
        most = {n: 2 * _usual(needs[longer[n].load], pace) for n in slow}
        slow = [n for n in slow if longer[n].minutes < most[n]]
        while free[day] > 0 and slow:
            n = min(slow, key=lambda n: (_is_run(needs[longer[n].load]), longer[n].minutes / most[n], n))
            longer[n] = longer[n]._replace(minutes=longer[n].minutes + 1)
            free[day] -= 1
            slow = [n for n in slow if longer[n].minutes < most[n]]
    return longer


def _usual(need: Need, pace: float) -> int:
    return visit(need.chunk, need.tempo, pace=pace, share=need.share).minutes


def _is_run(need: Need) -> bool:
    return need.chunk.kind == "run"


def visits_wanted(need: Need) -> int:
    """How many visits take a loop where it should be.

    A whole to its goal, and one more: at the goal on a second day it is secure. A
    short loop to where it may rest.
    """
    chunk = need.chunk
    marks = marks_between(need.tempo, chunk.goal if chunk.is_whole else need.ready)
    return visits_for(chunk, marks, need.share) + chunk.is_whole

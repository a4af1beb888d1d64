"""What the minutes are for that are left once everything needed has its day.

First what is secure and due again, as one play-through; then the sections on their
way to the goal; then loops that lag behind.
"""

from collections.abc import Sequence
from math import ceil
from typing import NamedTuple

from students.planning.loads import Days, Placed, Stop
from students.planning.needs import Need
from students.planning.plan import Returns
from students.planning.visits import marks_a_visit, marks_between, play_through, visit


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

    Sections and the run first, on their way to the goal; then short loops that lag.
    Takes the minutes from ``free``.
    """
    more = []
    in_order = sorted(range(len(needs)), key=lambda at: not needs[at].chunk.is_whole)
    for at in in_order:
        need = needs[at]
        if need.secure or at in placed.missing:
            continue
        taken = {stop.day for stop in placed.stops if stop.load == at}
        first = min(taken, default=0) + 1 if need.load.new else 0
        spare = _visits_wanted(need) - len(taken)
        minutes = visit(need.chunk, need.tempo, pace=pace).minutes
        for day in range(first, len(free)):
            if spare > 0 and day not in taken and free[day] >= minutes:
                free[day] -= minutes
                spare -= 1
                more.append(Stop(at, day, minutes, False))
    return more


def _visits_wanted(need: Need) -> int:
    """How many visits take a loop where it should be.

    A whole to its goal, and one more: at the goal on a second day it is secure. A
    short loop that was met to where it may rest; a new one has all it needs.
    """
    chunk = need.chunk
    if not chunk.is_whole and need.load.new:
        return 0
    marks = marks_between(need.tempo, chunk.goal if chunk.is_whole else need.ready)
    return ceil(marks / max(1, marks_a_visit(chunk))) + chunk.is_whole

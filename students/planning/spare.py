"""What the minutes are for that are left once everything needed has its day.

First what is secure and due again, as one play-through; then the sections on their
way to the goal.
"""

from collections.abc import Sequence
from math import ceil
from typing import NamedTuple

from students.planning.needs import Need
from students.planning.placing import Days, Placed, Stop
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
    """More visits to sections that are short of their goal, on the first days that have room.

    Takes the minutes from ``free``.
    """
    more = []
    for at, need in enumerate(needs):
        if not need.chunk.is_whole or need.secure or at in placed.missing:
            continue
        taken = {stop.day for stop in placed.stops if stop.load == at}
        first = min(taken, default=0) + 1 if need.load.new else 0
        # One visit more than the climb takes: at the goal on a second day it is secure.
        climb = ceil(marks_between(need.tempo, need.chunk.goal) / marks_a_visit(need.chunk))
        spare = climb + 1 - len(taken)
        minutes = visit(need.chunk, need.tempo, pace=pace).minutes
        for day in range(first, len(free)):
            if spare > 0 and day not in taken and free[day] >= minutes:
                free[day] -= minutes
                spare -= 1
                more.append(Stop(at, day, minutes, False))
    return more

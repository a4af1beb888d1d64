"""All the visits of a plan: what is needed, what is due again, and what the free minutes allow.

From them follows where each section is expected to stand on the date: as many marks up as
its visits are expected to gain (``climbing``), so that a plan which has a day for
everything, and still does not come to the goal, says so.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from students.planning.loads import Days, Placed, Stop
from students.planning.needs import Need
from students.planning.placing import first_that_fits, place
from students.planning.plan import Returns
from students.planning.spare import PlayThrough, onward, play_throughs
from students.planning.visits import marks_between, visit, visits_for


class Short(NamedTuple):
    """A section that will not be at its goal: where it comes to, and the minutes it would still need."""

    need: Need
    tempo: int
    minutes: int


@dataclass(frozen=True)
class Laid:
    """What is ``placed`` as it is needed, ``more`` visits where there is room, what is due again.

    ``free`` is what remains of each day's minutes; ``short`` are the sections that will
    not be at their goal.
    """

    placed: Placed
    more: tuple[Stop, ...]
    returns: tuple[PlayThrough, ...]
    free: tuple[int, ...]
    short: tuple[Short, ...]

    @property
    def stops(self) -> list[Stop]:
        return [*self.placed.stops, *self.more]

    def minutes(self, days: Days) -> int:
        """Minutes of all visits but those to what is due again."""
        return self.placed.minutes(days) + sum(stop.minutes for stop in self.more)


def lay_out(needs: Sequence[Need], days: Days, returns: Sequence[Returns], pace: float) -> Laid:
    """The visits of a plan, on the days that cost least.

    Where sections do not come to their goal so, and would with the first days that are
    found for everything, those are taken.
    """
    laid = _laid(needs, place([need.load for need in needs], days), days, returns, pace)
    if laid.short and not laid.placed.missing:
        other = lay_out_first(needs, days, returns, pace)
        if other and not other.short:
            return other
    return laid


def lay_out_first(needs: Sequence[Need], days: Days, returns: Sequence[Returns], pace: float) -> Laid | None:
    """The visits of a plan on the first days that are found for everything, or None: quick, to try things."""
    placed = first_that_fits([need.load for need in needs], days)
    return placed and _laid(needs, placed, days, returns, pace)


def _laid(needs: Sequence[Need], placed: Placed, days: Days, returns: Sequence[Returns], pace: float) -> Laid:
    free = list(placed.free)
    played = play_throughs(returns, days, free, pace)
    more = onward(needs, placed, free, pace)
    return Laid(placed, tuple(more), tuple(played), tuple(free), _short(needs, placed, more, pace))


def _short(needs: Sequence[Need], placed: Placed, more: Sequence[Stop], pace: float) -> tuple[Short, ...]:
    visits = Counter(stop.load for stop in (*placed.stops, *more))
    found = []
    for at, need in enumerate(needs):
        if need.chunk.kind != "section" or need.secure or need.goes_well or at in placed.missing:
            continue
        tempo = need.after(visits[at])
        if tempo < need.chunk.goal:
            wanted = visits_for(need.chunk, marks_between(need.tempo, need.chunk.goal), need.share)
            size = visit(need.chunk, need.tempo, pace=pace, share=need.share).minutes
            found.append(Short(need, tempo, size * (wanted - visits[at])))
    return tuple(found)

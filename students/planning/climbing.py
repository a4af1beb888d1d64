"""How fast a learner climbs: marks gained a visit, learned from their ticks.

What a visit gains is held against what it is supposed to gain (``visits.marks_a_visit``;
common practice, no source). The share of it that a learner makes is

    share = (gained + T · before) / (supposed + T · usual)

in marks over the visits that ticks tell of, shrunk toward what is believed ``before`` as
if that had been seen in T visits: 1 for the learner, the learner's own share for a kind
of loop, the kind's share for one loop. T is 8 for the learner and for a kind and 3 for a
loop, so that a loop that stands still says so after some days while all others go on.
A visit from where there was little left to climb counts for that little only.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby, pairwise
from typing import NamedTuple

from students.planning.history import BACK_AFTER_BREAKDOWN, History, TickRecord, best_of
from students.planning.loops import Chunk
from students.planning.tempo import ladder
from students.planning.visits import marks_a_visit

# So many visits weigh as much as the belief before them.
TRUSTED, TRUSTED_OF_A_LOOP = 8, 3
# Of each loop only so many last visits count: it may have stood still and go on again.
RECENT = 5
# One visit says at most this much, either way.
MOST = 2.0
SLOWEST, FASTEST = 0.1, 1.5
# Kinds of loop that are climbed alike.
GROUPS = {"bar": "short", "pair": "short", "join": "short", "half": "half"}


class Gain(NamedTuple):
    """What one visit gained, in marks, of the marks it was supposed to gain."""

    marks: float
    supposed: float
    usual: int


@dataclass(frozen=True)
class Climb:
    """The share of the supposed climb that a learner makes: of all loops, by kind, and of one loop.

    ``visits`` is how many visits it is learned from.
    """

    all: float = 1.0
    kinds: Mapping[str, float] = field(default_factory=dict)
    loops: Mapping[str, float] = field(default_factory=dict)
    visits: int = 0

    def share(self, chunk: Chunk) -> float:
        """The share of its supposed climb that a visit to ``chunk`` makes."""
        return self.loops.get(chunk.key, self.kinds.get(_group(chunk.kind), self.all))

    def rate(self, chunk: Chunk) -> float:
        """Marks gained a visit."""
        return marks_a_visit(chunk) * self.share(chunk)


def climb_of(chunks: Iterable[Chunk], history: History, believed: float = 1.0) -> Climb:
    """What a history says of how a learner climbs; ``believed`` is the share without evidence.

    >>> from datetime import date
    >>> from fractions import Fraction
    >>> bar = Chunk("bar:3", "bar", 3, 3, "Bar 3", (3,), Fraction(4), 5.0, (), "A", 44, 76)
    >>> days = [TickRecord("bar:3", "A", 3, 3, date(2026, 3, n), 54, "slips", "bar") for n in (2, 3, 4, 5)]
    >>> climb = climb_of([bar], History(tuple(days)))
    >>> round(climb.share(bar), 2), round(climb.rate(bar), 1), round(climb.all, 2)
    (0.53, 1.6, 0.81)
    """
    gains: dict[str, dict[str, list[Gain]]] = {}
    for chunk in chunks:
        if ticks := history.by_loop.get(chunk.key):
            gains.setdefault(_group(chunk.kind), {})[chunk.key] = gains_of(chunk, ticks)[-RECENT:]
    every = [gain for loops in gains.values() for row in loops.values() for gain in row]
    overall = _shrunk(every, believed, TRUSTED)
    kinds, loops_shares = {}, {}
    for group, loops in gains.items():
        kinds[group] = _shrunk([gain for row in loops.values() for gain in row], overall, TRUSTED)
        for key, row in loops.items():
            loops_shares[key] = _shrunk(row, kinds[group], TRUSTED_OF_A_LOOP)
    return Climb(overall, kinds, loops_shares, len(every))


def gains_of(chunk: Chunk, ticks: Sequence[TickRecord]) -> list[Gain]:
    """What each visit to ``chunk`` gained, oldest first; its best tick of a day speaks for that day.

    The first visit to a loop that is made of others is left out, for it may begin above
    its start; so is one from the goal, where nothing is left to gain.
    """
    days = [best_of(day) for _, day in groupby(ticks, key=lambda tick: tick.day)]
    usual = marks_a_visit(chunk)
    steps = [(tick.tempo, after) for tick, after in pairwise(days)]
    if days and not chunk.parts:
        steps.insert(0, (chunk.start, days[0]))
    gains = []
    for before, after in steps:
        supposed = min(usual, _marks(before, chunk.goal))
        if supposed > 0:
            marks = min(MOST * supposed, _gained(before, after, chunk.goal))
            gains.append(Gain(marks, supposed, usual))
    return gains


def _gained(before: int, after: TickRecord, goal: int) -> int:
    reached = min(after.tempo, goal)
    gained = _marks(before, reached) if reached >= before else -_marks(reached, before)
    return max(-BACK_AFTER_BREAKDOWN, gained - (BACK_AFTER_BREAKDOWN if after.felt == "broke" else 0))


def _marks(tempo: int, goal: int) -> int:
    return len(ladder(tempo, goal)) - 1


def _shrunk(gains: Sequence[Gain], believed: float, trusted: int) -> float:
    # Counted in visits, so that short ladders and long ones weigh alike.
    gained = sum(gain.marks / gain.usual for gain in gains)
    supposed = sum(gain.supposed / gain.usual for gain in gains)
    return min(FASTEST, max(SLOWEST, (gained + trusted * believed) / (supposed + trusted)))


def _group(kind: str) -> str:
    return GROUPS.get(kind, kind)

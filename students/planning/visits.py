"""One visit to a loop: how far it climbs, in how many passes, in how many minutes.

A loop climbs its ladder in about three visits: a new one and two returns. Each new
mark takes three clean passes in a row, more where the loop is hard. Minutes are
``passes × (beats + 2) × 60 / from_tempo × pace``, in whole minutes rounded up: the
two beats are the breath between passes.
"""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import lru_cache
from math import ceil
from typing import NamedTuple

from students.planning.history import LONG_AWAY, TickRecord, clean_days_at, days_of, left_at
from students.planning.loops import Chunk
from students.planning.tempo import CLEAN_IN_A_ROW, climb, ladder

VISITS_TO_GOAL = 3
BREATH = 2  # beats
# Passes at one mark, by the length of the loop in beats: a long one has its marks spread over days.
LONG, VERY_LONG = 32, 64
# The share of passes that a loop takes whose parts have been played, or one like it.
AS_KNOWN = 0.6
# A loop of difficulty 10 takes half as many passes again.
HARDEST = 1.5
# A loop that lags is brought back this often at most before the plan thinks again.
MOST_OVERDUE_RETURNS = 3


class Visit(NamedTuple):
    """A loop played once on a day."""

    passes: int
    from_tempo: int
    to_tempo: int
    minutes: int


@dataclass(frozen=True, slots=True)
class State:
    """Where a learner stands with a loop: the days it was played, and how it was left."""

    days: tuple[date, ...] = ()
    ticks: tuple[TickRecord, ...] = ()

    @classmethod
    def of(cls, ticks: tuple[TickRecord, ...]) -> "State":
        return cls(days_of(ticks), ticks)

    @property
    def is_met(self) -> bool:
        return bool(self.ticks)

    @property
    def is_clean(self) -> bool:
        """Whether it went clean when last played."""
        return bool(self.ticks) and self.ticks[-1].felt == "clean"

    def tempo(self, chunk: Chunk, on: date) -> int:
        """The tempo at which it is taken up on day ``on``."""
        return left_at(self.ticks, chunk.start, chunk.goal, on)

    def is_secure(self, chunk: Chunk) -> bool:
        """Clean at the goal on two different days."""
        return len(clean_days_at(self.ticks, chunk.goal)) >= 2


def minutes_for(passes: int, beats: Fraction, tempo: int, pace: float = 1.0) -> int:
    """Whole minutes for so many passes of ``beats`` at ``tempo``, breath between them included.

    >>> minutes_for(12, Fraction(8), 50), minutes_for(1, Fraction(8), 50)
    (3, 1)
    """
    return max(1, ceil(passes * (float(beats) + BREATH) / tempo * pace - 1e-9))


def marks_a_visit(chunk: Chunk) -> int:
    """How many marks a loop climbs in one visit.

    A short loop is at its goal after three visits; a section climbs two marks, or one
    where it is longer than four bars of four, and the run one.
    """
    if chunk.is_whole:
        return 2 if chunk.kind == "section" and chunk.beats <= LONG // 2 else 1
    return ceil(marks_between(chunk.start, chunk.goal) / VISITS_TO_GOAL)


@lru_cache(maxsize=4096)
def marks_between(tempo: int, goal: int) -> int:
    """How many steps of the ladder lie between a tempo and the goal."""
    return len(ladder(tempo, goal)) - 1


def visit(chunk: Chunk, tempo: int, *, new: bool = False, pace: float = 1.0) -> Visit:
    """A visit to ``chunk`` taken up at ``tempo``."""
    to_tempo = climb(tempo, chunk.goal, marks_a_visit(chunk))
    passes = _passes(chunk, marks_between(tempo, to_tempo), new)
    return Visit(passes, tempo, to_tempo, minutes_for(passes, chunk.beats, tempo, pace))


def _passes(chunk: Chunk, climbed: int, new: bool) -> int:
    if chunk.kind == "run":
        return 1
    at_a_mark = CLEAN_IN_A_ROW if chunk.beats <= LONG else 2 if chunk.beats <= VERY_LONG else 1
    # A return begins with one pass at the mark where it was left.
    again = 1 + at_a_mark * climbed if climbed else at_a_mark
    passes = at_a_mark * (climbed + 1) if new else again
    if chunk.is_whole:
        return passes
    share = AS_KNOWN if chunk.parts or (new and chunk.resembles) else 1.0
    return ceil(passes * share * (1 + (HARDEST - 1) * chunk.rating / 10))


def play_through(beats: Fraction, tempo: int, pace: float = 1.0) -> Visit:
    """One pass, to keep what is known."""
    return Visit(1, tempo, tempo, minutes_for(1, beats, tempo, pace))


def visits_ahead(chunk: Chunk, tempo: int, count: int, *, new: bool, pace: float) -> list[Visit]:
    """``count`` visits one after the other, each going as planned."""
    ahead = []
    for number in range(count):
        ahead.append(visit(chunk, tempo, new=new and number == 0, pace=pace))
        tempo = ahead[-1].to_tempo
    return ahead


def returns_left(chunk: Chunk, state: State, returns: int, on: date) -> int:
    """How often a loop that was met must still come back: ``returns`` times in all, and until it is clean.

    A loop that is short of its goal comes back until it should be there; one that is
    secure does not come back.
    """
    if state.is_secure(chunk):
        return 0
    owed = max(0, returns - (len(state.days) - 1))
    if not state.is_clean:
        owed = max(owed, 1)
    if not chunk.is_whole:
        short = marks_between(state.tempo(chunk, on), chunk.goal)
        lag = ceil(short / max(1, marks_a_visit(chunk)))
        owed = max(owed, min(lag, MOST_OVERDUE_RETURNS))
    return owed


def was_long_away(state: State, on: date) -> bool:
    """Whether a loop has not been played for more than a week."""
    return state.is_met and (on - state.days[-1]).days >= LONG_AWAY

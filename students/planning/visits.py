"""One visit to a loop: how far it climbs, in how many passes, in how many minutes.

A loop is supposed to climb its ladder in about five visits, one a day.
Each new mark takes three clean passes in a row, more where the loop is hard. How much of
that a learner makes, the ``share``, is learned (``climbing``): a visit aims at
``marks × share`` marks, rounded up where the share is less than 1; whoever makes less plays as often, and whoever
makes more plays the more marks. At less than a mark a visit the same mark is aimed at on
several days. Minutes are
``passes × (beats + 2) × 60 / from_tempo × pace``, in whole minutes rounded up: the
two beats are the breath between passes.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import lru_cache
from math import ceil
from typing import NamedTuple

from students.planning.history import LONG_AWAY, TickRecord, clean_days_at, days_of, left_at
from students.planning.loops import Chunk
from students.planning.tempo import CLEAN_IN_A_ROW, climb, ladder, step_down

VISITS_TO_GOAL = 5
BREATH = 2  # beats
# Beats from which a loop is long: it takes fewer passes a day, its marks spread over days.
LONG, VERY_LONG = 32, 64
# A loop whose parts have been played, or one like it, goes up by so many marks at once.
KNOWN_STEP = 2
# A short loop is ready to rest, for its section to be played, this far up its ladder ...
READY = 2 / 3
# ... and once its section is played and did not go clean, so many marks ahead of it.
AHEAD = 3
# A loop is taken up so many marks behind its slowest part, where its parts have overtaken it.
BEHIND = 4
# A loop of difficulty 10 takes half as many passes again.
HARDEST = 1.5


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

    A short loop is at its goal after five visits; a section climbs four marks, or two
    where it is longer than four bars of four, and the run two.
    """
    if chunk.is_whole:
        return 2 * KNOWN_STEP if chunk.kind == "section" and chunk.beats <= LONG // 2 else KNOWN_STEP
    return -(-marks_between(chunk.start, chunk.goal) // VISITS_TO_GOAL)


def clean_in_a_row(chunk: Chunk) -> int:
    """How many clean passes in a row a loop needs before its next mark: three, fewer where it is long."""
    if chunk.kind == "run" or chunk.beats > VERY_LONG:
        return 1
    return CLEAN_IN_A_ROW if chunk.beats <= LONG else 2


@lru_cache(maxsize=4096)
def marks_between(tempo: int, goal: int) -> int:
    """How many steps of the ladder lie between a tempo and the goal."""
    return len(ladder(tempo, goal)) - 1


def marks_played(chunk: Chunk, tempo: int, to_tempo: int, *, new: bool = False) -> tuple[int, ...]:
    """The marks at which a visit to ``chunk`` stops on its way, both ends included.

    Every mark; on a longer way every other one where its parts are known, or, while it is
    new, a loop like it.
    """
    marks = ladder(tempo, to_tempo)
    if len(marks) <= KNOWN_STEP + 1 or not (chunk.is_whole or chunk.parts or (new and chunk.resembles)):
        return marks
    return tuple(dict.fromkeys((*marks[::KNOWN_STEP], to_tempo)))


def visit(chunk: Chunk, tempo: int, *, new: bool = False, pace: float = 1.0, share: float = 1.0) -> Visit:
    """A visit to ``chunk`` taken up at ``tempo`` by a learner who makes ``share`` of the usual climb."""
    supposed = marks_a_visit(chunk)
    aim = ceil(supposed * share - 1e-9) if share < 1 else _whole(supposed * share)
    to_tempo = climb(tempo, chunk.goal, aim)
    # Less gained is no less played: the passes are those of the usual climb.
    played = to_tempo if aim >= supposed else climb(tempo, chunk.goal, supposed)
    passes = _passes(chunk, len(marks_played(chunk, tempo, played, new=new)), new)
    return Visit(passes, tempo, to_tempo, minutes_for(passes, chunk.beats, tempo, pace))


def longer(chunk: Chunk, played: Visit, minutes: int, pace: float) -> Visit:
    """``played`` with as many passes as ``minutes`` hold."""
    passes = played.passes
    while minutes_for(passes + 1, chunk.beats, played.from_tempo, pace) <= minutes:
        passes += 1
    return played._replace(passes=passes, minutes=minutes_for(passes, chunk.beats, played.from_tempo, pace))


def marks_after(chunk: Chunk, visits: int, share: float) -> int:
    """How many marks ``chunk`` has climbed after so many visits of which each makes ``share``."""
    rate = marks_a_visit(chunk) * share
    return visits * _whole(rate) if rate >= 1 else int(visits * rate + 1e-9)


def visits_for(chunk: Chunk, marks: int, share: float) -> int:
    """How many visits it takes to climb so many marks."""
    rate = marks_a_visit(chunk) * share
    return ceil(marks / _whole(rate)) if rate >= 1 else ceil(marks / max(rate, 1e-9) - 1e-9)


def _whole(marks: float) -> int:
    return int(marks + 0.5)


def _passes(chunk: Chunk, marks: int, new: bool) -> int:
    at_a_mark = clean_in_a_row(chunk)
    # A return begins with one pass at the mark where it was left.
    again = 1 + at_a_mark * (marks - 1) if marks > 1 else at_a_mark
    passes = at_a_mark * marks if new else again
    return passes if chunk.is_whole else ceil(passes * (1 + (HARDEST - 1) * chunk.rating / 10))


def behind_parts(chunk: Chunk, parts: Collection[TickRecord]) -> int:
    """Where a loop begins, given the last ticks of those of its parts that were played.

    A little behind the slowest of them where all went clean, ``chunk.start`` at least; but
    never faster than any of them goes.
    """
    slowest = min((tick.tempo for tick in parts), default=chunk.start)
    if len(parts) < len(chunk.parts) or any(tick.felt != "clean" for tick in parts):
        return min(chunk.start, slowest)
    return min(chunk.goal, slowest, max(chunk.start, step_down(slowest, BEHIND)))


def play_through(beats: Fraction, tempo: int, pace: float = 1.0) -> Visit:
    """One pass, to keep what is known."""
    return Visit(1, tempo, tempo, minutes_for(1, beats, tempo, pace))


def visits_ahead(
    chunk: Chunk, tempo: int, count: int, *, new: bool, pace: float, share: float = 1.0
) -> list[Visit]:
    """``count`` visits one after the other, each taken up where those before it have led."""
    at = (climb(tempo, chunk.goal, marks_after(chunk, number, share)) for number in range(count))
    return [
        visit(chunk, tempo, new=new and number == 0, pace=pace, share=share)
        for number, tempo in enumerate(at)
    ]


def ready_tempo(chunk: Chunk, sections_at: Collection[int]) -> int:
    """The tempo from which a short loop may rest.

    ``sections_at`` are the tempos that sections it is part of ask for, of those that have
    been met; what ties sections together goes as the slower. Before that it is enough to
    be two thirds up its ladder.
    """
    if sections_at:
        return min(chunk.goal, min(sections_at) if chunk.across else max(sections_at))
    return climb(chunk.start, chunk.goal, round(READY * marks_between(chunk.start, chunk.goal)))


def returns_left(chunk: Chunk, state: State, returns: int) -> int:
    """How often a loop that was met must still come back.

    ``returns`` times in all, and once more where it was not clean. One that is secure
    does not come back.
    """
    if state.is_secure(chunk):
        return 0
    owed = max(0, returns - (len(state.days) - 1))
    return owed if state.is_clean else max(owed, 1)


def was_long_away(state: State, on: date) -> bool:
    """Whether a loop has not been played for more than a week."""
    return state.is_met and (on - state.days[-1]).days >= LONG_AWAY

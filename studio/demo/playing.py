"""How a planned loop goes for somebody with given habits: a pure function of chance.

The shape is what teachers know (common practice, no source): most visits reach the
tempo asked or stop a mark or two short; a few go with slips; a break-down is rare and
likelier where the loop is new or hard.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from random import Random

from students.planning.tempo import ladder
from studio.demo.people import Habits

MIDDLING = 5.0  # difficulty
PER_DIFFICULTY = 0.03
NEW = 0.1
# Of visits that do not go clean as planned: clean but short of it, with slips, or broken off.
SHORT, SLIPS = 0.6, 0.35


@dataclass(frozen=True)
class Loop:
    """What is asked of one loop on one day. ``rating`` is its difficulty, 0-10."""

    piece: str
    bars: tuple[int, ...]
    kind: str
    rating: float
    from_tempo: int
    to_tempo: int
    minutes: int
    new: bool


@dataclass(frozen=True)
class Outcome:
    tempo: int
    felt: str
    minutes: int


def play(loop: Loop, habits: Habits, chance: Random) -> Outcome:
    """Play ``loop`` once.

    >>> loop = Loop("Two Lanterns", (3,), "bar", 5.0, 46, 56, 4, False)
    >>> play(loop, Habits(ease=1.0), Random(1))
    Outcome(tempo=56, felt='clean', minutes=4)
    >>> play(loop, Habits(sticks={("Two Lanterns", 3): 50}), Random(1))
    Outcome(tempo=50, felt='slips', minutes=4)
    """
    minutes = max(1, round(loop.minutes * habits.pace * chance.uniform(0.9, 1.1)))
    ceiling = _ceiling(loop, habits)
    if ceiling is not None and loop.to_tempo > ceiling:
        return Outcome(ceiling, "slips", minutes)
    clean = habits.ease - PER_DIFFICULTY * (loop.rating - MIDDLING) - NEW * loop.new
    if chance.random() < clean:
        return Outcome(loop.to_tempo, "clean", minutes)
    marks = ladder(loop.from_tempo, loop.to_tempo)
    kind = chance.random()
    if kind < SHORT:
        return Outcome(_some(marks[1:-1] or marks[-1:], chance), "clean", minutes)
    if kind < SHORT + SLIPS:
        return Outcome(_some(marks[1:] or marks, chance), "slips", minutes)
    return Outcome(loop.from_tempo, "broke", minutes)


def _ceiling(loop: Loop, habits: Habits) -> int | None:
    """The tempo that nothing with a bar that sticks gets past; a change alone may."""
    if loop.kind == "drill":
        return None
    return min((tempo for (piece, bar), tempo in habits.sticks.items()
                if piece == loop.piece and bar in loop.bars), default=None)  # fmt: skip


def _some(marks: Iterable[int], chance: Random) -> int:
    return chance.choice(list(marks))

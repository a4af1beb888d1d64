"""Other ways to hold a chord, for the teacher to choose from: never taken silently.

The same frets with other fingers, the same chord elsewhere on the neck, and easier
shapes near it that change what sounds. Only what agrees with the written notes of
some bar is offered.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from pieces.music.chords import UnknownChord
from pieces.music.held import bars_open_to
from pieces.music.score import Score
from pieces.music.shapes import Shape, easier_neighbours, find_shapes, other_fingers

Kind = Literal["fingers", "place", "easier"]
FINGERS, PLACES, EASIER = 3, 4, 3  # offered of each kind


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another way to hold a chord. ``bars`` are those whose written notes allow it."""

    shape: Shape
    kind: Kind
    text: str
    bars: tuple[int, ...]


def alternatives(score: Score, symbol: str, current: Shape) -> list[Alternative]:
    """The other ways to hold ``symbol`` where ``score`` has it, in place of ``current``.

    >>> from dataclasses import replace
    >>> from fractions import Fraction
    >>> from pieces.music.score import Bar, ChordMark
    >>> bar = replace(Bar.of("2/4", "1/2"), chords=(ChordMark(Fraction(0), "C"),))
    >>> c = Shape("C", (0, 0, 0, 3), (0, 0, 0, 3), 0.0)
    >>> alternatives(Score(bars=(bar,)), "C", c)[0].text
    'Middle instead of ring on string 1.'
    """
    found, seen = [], {(current.frets, current.fingers)}
    for kind, most, ways in (
        ("fingers", FINGERS, _other_hands(current)),
        ("place", PLACES, _elsewhere(symbol, score, current)),
        ("easier", EASIER, _easier(symbol, score)),
    ):
        offered = []
        for shape, text in ways:
            bars = tuple(dict.fromkeys(bars_open_to(score, shape, symbol)))
            if bars and (shape.frets, shape.fingers) not in seen and len(offered) < most:
                seen.add((shape.frets, shape.fingers))
                offered.append(Alternative(shape, kind, text, bars))
        found += offered
    return found


def _other_hands(current: Shape) -> Iterator[tuple[Shape, str]]:
    for shape in other_fingers(current):
        yield shape, shape.reasons[0]


def _elsewhere(symbol: str, score: Score, current: Shape) -> Iterator[tuple[Shape, str]]:
    try:
        shapes = find_shapes(symbol, score.tuning, limit=24)
    except UnknownChord:
        return
    for shape in shapes:
        if shape.frets != current.frets:
            yield shape, " ".join(shape.reasons[:2])


def _easier(symbol: str, score: Score) -> Iterator[tuple[Shape, str]]:
    try:
        yield from easier_neighbours(symbol, score.tuning)
    except UnknownChord:
        return

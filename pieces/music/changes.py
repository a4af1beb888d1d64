"""Shapes and fingers for a row of chords, so that the hand has the least to do.

A row is fingered as a whole by dynamic programming: the cheapest path through the
shapes and hands that each chord allows. What one change costs stands in ``moves``.
"""

from collections.abc import Collection, Sequence
from itertools import pairwise

from pieces.music.moves import Change, Guide, change, change_cost
from pieces.music.shapes import Shape, find_shapes, other_fingers
from pieces.music.tuning import Tuning

__all__ = [
    "Change",
    "Guide",
    "change",
    "change_cost",
    "choices_for",
    "finger_progression",
    "path_cost",
    "with_other_hands",
]

# Shapes of one chord that a progression chooses among, and hands for each.
SHAPES_A_CHORD = 8
HANDS_A_SHAPE = 3


def finger_progression(
    shapes_or_symbols: Sequence[Shape | str],
    tuning: Tuning,
    *,
    movement: float = 0.5,
    settled: Collection[int] = (),
) -> list[Shape]:
    """Choose shapes and fingers for a row of chords at the least total cost.

    A symbol leaves the shape free; a ``Shape`` keeps its frets and leaves only the
    fingers free. ``movement`` weighs the changes against the shapes: 0 takes the
    shape and fingers of the textbook for each chord, 1 the least movement between
    them. ``settled`` are places in the row, from 0, whose shape keeps its fingers too.
    Raises ``UnknownChord`` on a symbol that names no chord, and ValueError on
    one that this tuning cannot play.

    >>> from pieces.music.tuning import TUNINGS
    >>> am, f = finger_progression(["Am", "F"], TUNINGS["ukulele high G"])
    >>> am.written, f.written
    ('2000', '2010')
    """
    if not 0 <= movement <= 1:
        raise ValueError("Movement runs from 0, textbook shapes, to 1, least movement.")
    choices = [
        [chord] if at in settled else _choices(chord, tuning, movement)
        for at, chord in enumerate(shapes_or_symbols)
    ]
    return _cheapest_path(choices, movement)


def path_cost(path: Sequence[Shape], movement: float) -> tuple[float, float]:
    """What ``finger_progression`` makes least: the weighed cost, then the shapes' own.

    >>> path_cost([Shape("C", (0, 0, 0, 3), (0, 0, 0, 3), 1.5)], 0.5)
    (0.75, 1.5)
    """
    own = sum(shape.cost for shape in path)
    between = sum(change_cost(a, b) for a, b in pairwise(path))
    return (1 - movement) * own + movement * between, own


def choices_for(symbol: str, tuning: Tuning) -> list[Shape]:
    """The shapes and fingerings that a progression chooses among, textbook first."""
    shapes = find_shapes(symbol, tuning, limit=SHAPES_A_CHORD)
    if not shapes:
        raise ValueError(f"{symbol} has no shape that a hand can play on {tuning.name}.")
    return [other for shape in shapes for other in with_other_hands(shape)]


def with_other_hands(shape: Shape) -> list[Shape]:
    """``shape`` as it is given, then its frets with the easiest other fingers.

    >>> {other.frets for other in with_other_hands(Shape("C", (0, 0, 0, 3), (0, 0, 0, 3), 1.0))}
    {(0, 0, 0, 3)}
    """
    return [shape, *other_fingers(shape, limit=HANDS_A_SHAPE - 1)]


# --- The cheapest path ---------------------------------------------------------------------


def _choices(chord: Shape | str, tuning: Tuning, movement: float) -> list[Shape]:
    if isinstance(chord, Shape):
        return [chord] if movement == 0 else with_other_hands(chord)
    if movement == 0:
        return choices_for(chord, tuning)[:1]
    return choices_for(chord, tuning)


def _cheapest_path(choices: Sequence[Sequence[Shape]], movement: float) -> list[Shape]:
    """The path that ``path_cost`` puts first, by dynamic programming."""
    columns: list[list[tuple[float, float, int]]] = []
    for at, shapes in enumerate(choices):
        column = []
        for shape in shapes:
            own = (1 - movement) * shape.cost
            if not columns:
                column.append((own, shape.cost, -1))
                continue
            column.append(
                min(
                    (
                        weighed + own + movement * change_cost(before, shape),
                        shapes_cost + shape.cost,
                        earlier,
                    )
                    for earlier, (before, (weighed, shapes_cost, _)) in enumerate(
                        zip(choices[at - 1], columns[-1], strict=True)
                    )
                )
            )
        columns.append(column)
    if not columns:
        return []
    place = min(range(len(columns[-1])), key=lambda i: columns[-1][i])
    path = []
    for shapes, column in zip(reversed(choices), reversed(columns), strict=True):
        path.append(shapes[place])
        place = column[place][2]
    return path[::-1]

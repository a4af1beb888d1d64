"""The metronome and the ladder of marks that a loop climbs.

Tempos are whole beats a minute. The marks are the traditional series of the
pendulum metronome: 40-60 by 2, 60-72 by 3, 72-120 by 4, 120-144 by 6, 144-208 by 8.
"""

from bisect import bisect_left, bisect_right
from itertools import chain

MARKS: tuple[int, ...] = tuple(
    chain(
        range(40, 60, 2),
        range(60, 72, 3),
        range(72, 120, 4),
        range(120, 144, 6),
        range(144, 209, 8),
    )
)

# Three clean passes in a row before the next mark (common practice, no source).
CLEAN_IN_A_ROW = 3


def snap_down(tempo: float) -> int:
    """The mark at or below ``tempo``; 40, the lowest, for anything slower.

    >>> snap_down(57), snap_down(60), snap_down(12)
    (56, 60, 40)
    """
    return MARKS[max(0, bisect_right(MARKS, tempo) - 1)]


def next_mark(tempo: int, steps: int = 1) -> int:
    """The mark ``steps`` above ``tempo``; the last mark, 208, has none above it.

    >>> next_mark(58), next_mark(60), next_mark(61), next_mark(50, 3)
    (60, 63, 63, 56)
    """
    above = bisect_right(MARKS, tempo) + steps - 1
    return MARKS[min(above, len(MARKS) - 1)]


def step_down(tempo: int, steps: int = 1) -> int:
    """The mark ``steps`` below ``tempo``, 40 at the least.

    >>> step_down(54, 2), step_down(60), step_down(90), step_down(40)
    (50, 58, 88, 40)
    """
    return MARKS[max(0, bisect_left(MARKS, tempo) - steps)]


def ladder(start: int, goal: int) -> tuple[int, ...]:
    """The marks from ``start`` to ``goal``, both included whether or not they are marks.

    >>> ladder(50, 60)
    (50, 52, 54, 56, 58, 60)
    >>> ladder(84, 90)
    (84, 88, 90)

    A start at or above the goal is a ladder of one rung, the goal.
    """
    if start >= goal:
        return (goal,)
    return (start, *MARKS[bisect_right(MARKS, start) : bisect_left(MARKS, goal)], goal)


def climb(tempo: int, goal: int, steps: int) -> int:
    """The tempo ``steps`` rungs above ``tempo`` on the way to ``goal``, never past it.

    >>> climb(50, 60, 2), climb(58, 60, 4), climb(66, 60, 1)
    (54, 60, 60)
    """
    if steps <= 0 or tempo >= goal:
        return min(tempo, goal)
    above = bisect_right(MARKS, tempo) + steps - 1
    return min(goal, MARKS[above]) if above < len(MARKS) else goal


def start_tempo(goal: int, score: float) -> int:
    """Where a loop of difficulty ``score`` (0-10, a ``Rating.score``) begins: a mark.

    Seven tenths of the goal for the easiest, half for the hardest, snapped down
    (common practice, no source). A goal below the lowest mark is its own start.

    >>> start_tempo(100, 0), start_tempo(100, 5), start_tempo(100, 10), start_tempo(30, 5)
    (69, 60, 50, 30)
    """
    share = 0.7 - 0.02 * min(10.0, max(0.0, score))
    return min(goal, snap_down(goal * share + 1e-9))

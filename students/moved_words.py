"""What an edit of a piece means for those who play it, in words."""

from collections.abc import Iterable

from pieces.music.words import listed
from students.practice import Moved


def moved_in_words(moves: Iterable[Moved]) -> list[str]:
    """One line for each set of bars that changed, with everybody for whom it did."""
    by_bars: dict[tuple[int, ...], list[str]] = {}
    for move in moves:
        by_bars.setdefault(move.changed, []).append(move.student.name)
    return [_line(bars, listed(names)) for bars, names in sorted(by_bars.items(), reverse=True)]


def _line(bars: tuple[int, ...], who: str) -> str:
    if not bars:
        return f"No bar changed for {who}: every tick counts on."
    if len(bars) == 1:
        return f"Bar {bars[0]} changed for {who}. It is begun anew; ticks on every other bar count on."
    return f"Bars {listed(bars)} changed for {who}. They are begun anew; ticks on every other bar count on."

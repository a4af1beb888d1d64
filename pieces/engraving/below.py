"""What stands under the count band: picking letters, strum arrows, words that are sung."""

from collections.abc import Sequence
from typing import NamedTuple

from pieces.engraving.columns import pick_letters
from pieces.engraving.ink import Text, line, num
from pieces.engraving.lettering import text_width
from pieces.engraving.options import StripOptions
from pieces.engraving.place import Lines, PlacedBar
from pieces.music.score import Event

_FOOT = 1.5


class Under(NamedTuple):
    """What stands under one bar: its arrows as SVG, and its texts."""

    svg: str
    texts: list[Text]


def draw_below(bars: Sequence[PlacedBar], lines: Lines, options: StripOptions) -> tuple[list[Under], float]:
    """What stands under each bar, and how far down the system reaches.

    An arrow points the way the hand moves. The letter of the string nearest the floor
    stands on top, as its line does in the tab.
    """
    size = options.note
    arrows = options.picks and any(event.stroke for bar in bars for event in bar.bar.events)
    top = lines.band_foot
    letters_top = top + (size * 1.3 if arrows else 0)
    under = []
    deepest = 0
    for bar in bars:
        path, texts = [], []
        for event in bar.bar.events if options.picks else ():
            x = bar.x(event.onset)
            if event.stroke:
                path.append(_arrow(x, top + 2.5, size, event.stroke == "down"))
            letters = pick_letters(event)
            deepest = max(deepest, len(letters))
            for row, letter in enumerate(letters):
                texts.append(Text(x, letters_top + size * (0.975 + row), letter, size, "read", "in2"))
        under.append(Under(line("".join(path), "sm", options.stem), texts))
    foot = letters_top + size * deepest
    if options.lyrics:
        foot = _words(bars, foot, options, under)
    return under, foot + (_FOOT + size * 0.12 if foot > top else _FOOT)


def _arrow(x: float, top: float, size: float, down: bool) -> str:
    """A shaft with a head at its lower end for a down stroke, at its upper end for an up stroke."""
    foot = top + size
    tip, back = (foot, -1) if down else (top, 1)
    wide = size * 0.3
    rear = num(tip + back * wide)
    return (
        f"M{num(x)} {num(top)}V{num(foot)}M{num(x - wide)} {rear}L{num(x)} {num(tip)}L{num(x + wide)} {rear}"
    )


def _words(bars: Sequence[PlacedBar], top: float, options: StripOptions, under: list[Under]) -> float:
    """Sung syllables under their columns, on a second line where they would touch."""
    size = options.label
    rows: list[list[tuple[float, float]]] = [[]]
    sung: list[tuple[PlacedBar, Event]] = [(bar, e) for bar in bars for e in bar.bar.events if e.lyric]
    for bar, event in sung:
        half = text_width(event.lyric, size, "read") / 2
        x = min(max(bar.x(event.onset), half + 1), max(half + 1, bars[-1].right - half))
        row = _free_row(rows, x - half - 2, x + half + 2)
        place = bars.index(bar)
        under[place].texts.append(Text(x, top + size * (1 + 1.15 * row), event.lyric, size, "read", "ink"))
    return top + (size * (1.2 + 1.15 * (len(rows) - 1)) if sung else 0)


def _free_row(rows: list[list[tuple[float, float]]], left: float, right: float) -> int:
    """The first of ``rows`` with room from ``left`` to ``right``, which is then taken.

    >>> rows = [[(0, 10)]]
    >>> _free_row(rows, 8, 12), _free_row(rows, 10, 12)
    (1, 0)
    """
    for row, spans in enumerate(rows):
        if all(right <= start or left >= end for start, end in spans):
            spans.append((left, right))
            return row
    rows.append([(left, right)])
    return len(rows) - 1

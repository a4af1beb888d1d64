"""One system's string lines cut at the barlines into bars of figures.

Columns are those of the first string line. Where another line's barline stands a
column off, its figures are counted from their own barline.
"""

import re
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from pieces.music.score import Problem
from pieces.music.tab.cells import Cell, Wrong, cells_in
from pieces.music.tab.counts import Token
from pieces.music.tab.headers import label_class
from pieces.music.tab.lines import Line, StringLine, System
from pieces.music.tuning import Tuning

MOST_FIGURES = 128

_BARLINE = re.compile(r"\[?\|+\]?")
_TIMES = re.compile(r"\s*\(?(?:[x×]\s*([0-9]{1,3})|([0-9]{1,3})\s*[x×])\)?\s*$")


class Span(NamedTuple):
    """The columns between two barlines, ``end`` not included."""

    start: int
    end: int


@dataclass
class TypedBar:
    """A bar as it stands on the page: where, its figures by string, and its repeat signs."""

    span: Span
    cells: dict[int, list[Cell]] = field(default_factory=dict)
    opens_repeat: bool = False
    closes_repeat: bool = False
    times: int | None = None


class Place(NamedTuple):
    """Where problems of a system are reported from: its first line and the number of its first bar."""

    report: list[Problem]
    first_number: int

    def add(self, line, index: int, bar: int | None, message: str, remedy: str, *, fatal: bool = True):
        number = None if bar is None else self.first_number + bar
        self.report.append(Problem(message, remedy, line.number, line.column(index), number, fatal))

    def wrong(self, line, wrong: Wrong, bar: int | None, *, shift: int = 0):
        self.add(line, wrong.column + shift, bar, wrong.message, wrong.remedy)


def strings_in_order(
    system: System, tuning: Tuning, place: Place, *, upside_down: bool = False
) -> list[StringLine] | None:
    """The string lines from string 1 on, whichever way they were typed; None if the tuning is another."""
    strings, first = system.strings, system.strings[0]
    expected = [tuning.string_name(string) for string in reversed(tuning.strings)]
    if len(strings) != len(expected):
        place.add(
            first.line,
            0,
            None,
            f"These are {len(strings)} string lines, but {tuning.name} has {len(expected)} strings.",
            f"Write {len(expected)} lines, from the top {' '.join(expected)}, or name another tuning.",
        )
        return None
    way = _way_up(strings, tuning)
    if way == "wrong":
        place.add(
            first.line,
            0,
            None,
            f"The strings are named {' '.join(s.label or '?' for s in strings)}, which is not {tuning.name}.",
            f"From the top the lines are {' '.join(expected)}; or write the tuning: line that is meant.",
        )
        return None
    if way == "down" or (way == "" and upside_down):
        place.add(
            first.line,
            0,
            None,
            "String 1 stands at the bottom here, so the lines are read upside down.",
            f"Usually string 1 is on top: {' '.join(expected)}.",
            fatal=False,
        )
        return strings[::-1]
    return strings


def _way_up(strings: list[StringLine], tuning: Tuning) -> str:
    """ "up", "down", "wrong", or "" where the labels do not tell."""
    labels = [string.label for string in strings]
    if not any(labels):
        return ""
    numbers = [str(string) for string in tuning.strings]
    if labels in (numbers, numbers[::-1]):
        return "down" if labels == numbers else "up"
    names = [pitch % 12 for pitch in tuning.open_pitches]
    classes = [label_class(label) for label in labels]
    if classes == names[::-1]:
        return "up"
    return "down" if classes == names else "wrong"


def cut_into_bars(strings: list[StringLine], place: Place) -> list[TypedBar]:
    """The bars of a system, ``strings`` being from string 1 on. Lines that disagree are reported."""
    cuts = [_spans(string) for string in strings]
    number = Counter(len(spans) for spans, _ in cuts).most_common(1)[0][0]
    reference = next(spans for spans, _ in cuts if len(spans) == number)
    for string, (spans, trailing) in zip(strings, cuts, strict=True):
        if len(spans) != number and not _cut_short(spans, reference):
            place.add(
                string.line,
                string.start,
                None,
                f"This line has {_bars(len(spans))}, but the others have {number}.",
                "Put its barlines straight under theirs.",
            )
        elif [s.start for s in spans] != [s.start for s in reference[: len(spans)]]:
            message = "The barlines of this line do not stand under the others."
            remedy = "Add or take out dashes until they do."
            place.add(string.line, string.start, None, message, remedy, fatal=False)
        elif len(spans) < number:
            message = f"This line ends after {_bars(len(spans))}; the others have {number}."
            place.add(string.line, string.start, None, message, "Fill it up with dashes.", fatal=False)
        if trailing and not _TIMES.match(trailing):
            message = f"{trailing.strip()[:20]!r} after the last barline is not read."
            place.add(string.line, len(string.text), None, message, "Write it as a note: line.", fatal=False)
    bars = [TypedBar(span) for span in reference]
    for number, (string, (spans, trailing)) in enumerate(zip(strings, cuts, strict=True), 1):
        times = _TIMES.match(trailing)
        if times and bars:
            bars[-1].times = int(times[1] or times[2])
        for index, (bar, span) in enumerate(zip(bars, spans, strict=False)):
            _fill(bar, index, number, string, span, place)
    return bars


def _bars(number: int) -> str:
    return "1 bar" if number == 1 else f"{number} bars"


def _cut_short(spans: list[Span], reference: list[Span]) -> bool:
    return bool(spans) and [s.start for s in spans] == [s.start for s in reference[: len(spans)]]


def _spans(string: StringLine) -> tuple[list[Span], str]:
    """The spans between the barlines of a line, and what follows its last barline."""
    text = string.text
    first = _BARLINE.match(text, string.start)
    start = first.end() if first else string.start + (text[string.start] == ":")
    spans = []
    for barline in _BARLINE.finditer(text, start):
        spans.append(Span(start, barline.start()))
        start = barline.end()
    rest = text[start:]
    if rest.strip() and ("-" in rest or not spans):
        return [*spans, Span(start, len(text))], ""
    return spans, rest.strip()


def _fill(bar: TypedBar, index: int, string: int, typed: StringLine, span: Span, place: Place) -> None:
    """Add the figures of one line's bar to ``bar``, moved under the columns of the first line."""
    text, shift = typed.text, bar.span.start - span.start
    start, end = span
    if text[start : start + 1] == ":":
        bar.opens_repeat, start = True, start + 1
    if end > start and text[end - 1] == ":":
        bar.closes_repeat, end = True, end - 1
    cells = bar.cells.setdefault(string, [])
    for cell in cells_in(text, start, end):
        if isinstance(cell, Wrong):
            place.wrong(typed.line, cell, index)
        elif len(cells) == MOST_FIGURES:
            message = f"More than {MOST_FIGURES} frets stand on this string without a barline."
            place.add(typed.line, cell.start, index, message, "Draw the barlines.")
            break
        else:
            cells.append(replace(cell, start=cell.start + shift, end=cell.end + shift))


class Cut(NamedTuple):
    """A system cut into bars, with the words of the count that stand under each.

    ``strings`` are its lines from string 1 on. ``fits``: they are those of the tuning.
    """

    system: System
    strings: list[StringLine]
    place: Place
    bars: list[TypedBar]
    counts: list[list[Token]]
    fits: bool

    @property
    def top(self) -> Line:
        """The first of its string lines as typed, on which its bars are reported."""
        return self.system.strings[0].line

"""The rows above and below the strings: what each says, and of which moment or bar."""

import re
from bisect import bisect_right
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from pieces.music.score import ChordMark, Meter
from pieces.music.tab.headers import plain_key
from pieces.music.tab.lines import ABOVE_TOKEN, Row, System, above_mark, is_drawn_line
from pieces.music.tab.rhythm import SLACK, Moment, Timing, gap
from pieces.music.tab.systems import Place, TypedBar

_WORD = re.compile(r"\S+")
_STROKES = {"D": "down", "d": "down", "↓": "down", "U": "up", "u": "up", "↑": "up"}
ELISION = "‿"


@dataclass
class BarMarks:
    """What stands over one bar as a whole."""

    letter: str = ""
    meter: Meter | None = None
    key: str = ""
    endings: tuple[int, ...] = ()
    times: int | None = None
    chords: list[ChordMark] = field(default_factory=list)


class TimedBar(NamedTuple):
    """A bar of the system with its time and its number from the system's first bar."""

    index: int
    typed: TypedBar
    timing: Timing
    marks: BarMarks


class Target(NamedTuple):
    """A column that a mark may stand under: a moment, or one grace note of it."""

    start: int
    end: int
    moment: Moment
    grace: int | None = None


def bar_at(bars: list[TypedBar], column: int) -> int:
    """Index of the bar over whose columns a mark stands; the first or last for one outside."""
    return min(bisect_right(bars, column, key=lambda bar: bar.span.end), len(bars) - 1)


def bar_marks(system: System, bars: list[TypedBar], place: Place) -> list[BarMarks]:
    """What the rows above say of each bar as a whole: letter, meter, key, endings, times played."""
    marks = [BarMarks() for _ in bars]
    for row in system.above if bars else ():
        if row.kind:
            continue
        for match in ABOVE_TOKEN.finditer(row.text):
            mark = above_mark(match.group())
            if mark and mark[0] in _OF_BARS:
                index = bar_at(bars, match.start())
                problem = _OF_BARS[mark[0]](marks, bars, index, mark[1], match)
                if problem:
                    place.add(row.line, match.start(), index, *problem)
    return marks


def _letter(marks, bars, index, text, match):
    marks[index].letter = " ".join(text.split())


def _key(marks, bars, index, text, match):
    marks[index].key = plain_key(" ".join(text.split()))


def _meter(marks, bars, index, text, match):
    try:
        marks[index].meter = Meter.parse(text)
    except ValueError:
        return f"{text} is no meter.", "Write it as 4/4, 3/4 or 6/8."


def _times(marks, bars, index, text, match):
    marks[index].times = int(text)


def _endings(marks, bars, index, text, match):
    """An ending holds for its bar, and for every bar that its bracket of dashes reaches."""
    endings = tuple(int(number) for number in re.findall(r"[0-9]+", text))
    for bar, mark in zip(bars[index:], marks[index:], strict=True):
        if bar is bars[index] or bar.span.start < match.end() - 1:
            mark.endings = endings


_OF_BARS: dict[str, Callable] = {
    "letter": _letter,
    "key": _key,
    "meter": _meter,
    "times": _times,
    "endings": _endings,
}


def read_rows(system: System, bars: list[TimedBar], place: Place) -> None:
    """Put what every row says on the moments it stands over or under."""
    if not bars:
        return
    for row in system.above:
        if row.kind in ("", "chords"):
            _read_chords(row, bars, place)
    for kind, reader in _OF_MOMENTS.items():
        for row in system.row(kind):
            signs = _syllables(row.text, bars) if reader is _word else _signs(row.text)
            for column, sign in signs:
                _read_mark(row, column, sign, reader, bars, place)


def _timed_at(bars: list[TimedBar], column: int) -> int:
    return min(bisect_right(bars, column, key=lambda bar: bar.typed.span.end), len(bars) - 1)


def _signs(text: str) -> Iterator[tuple[int, str]]:
    """The signs of a row with their columns."""
    return ((match.start(), match.group()) for match in _WORD.finditer(text))


def _syllables(text: str, bars: list[TimedBar]) -> Iterator[tuple[int, str]]:
    """The signs of a row of words; a word in one piece is cut after a hyphen where a note stands."""
    starts = {target.start for bar in bars for target in _targets(bar.timing)}
    for column, word in _signs(text):
        cuts = [i for i in range(1, len(word)) if word[i - 1] == "-" and column + i in starts]
        for begin, end in zip([0, *cuts], [*cuts, len(word)], strict=True):
            yield column + begin, word[begin:end]


def _read_chords(row: Row, bars: list[TimedBar], place: Place) -> None:
    for match in (_WORD if row.kind else ABOVE_TOKEN).finditer(row.text):
        symbol = match.group()
        mark = ("chord", symbol) if row.kind else above_mark(symbol)
        if not row.kind and is_drawn_line(symbol):
            continue
        bar = bars[_timed_at(bars, match.start())]
        if mark is None:
            message = f"{symbol[:20]} is no chord name or mark Fourbar knows; it is kept as a chord name."
            remedy = (
                "Over the strings stand chord names, [A] for a section, 1. for an ending, 3/4 for a meter."
            )
            place.add(row.line, match.start(), bar.index, message, remedy, fatal=False)
        if mark and mark[0] == "accent":
            _read_mark(row, match.start(), symbol, _accent, bars, place)
        if mark is None or mark[0] == "chord":
            bar.marks.chords.append(ChordMark(_onset_under(match.start(), bar.timing), symbol))


def _onset_under(column: int, timing: Timing) -> Fraction:
    spots = [s for s in timing.spots if s.onset < timing.length or not s.onset]
    nearest = min(spots, key=lambda s: (gap(column, column + 1, s.start, s.end), s.start), default=None)
    return nearest.onset if nearest else Fraction(0)


def _read_mark(
    row: Row, column: int, sign: str, reader: Callable, bars: list[TimedBar], place: Place
) -> None:
    bar = bars[_timed_at(bars, column)]

    def away(target: Target) -> tuple[int, int]:
        return gap(column, column + 1, target.start, target.end), abs(column - target.start)

    nearest = min(_targets(bar.timing), key=away, default=None)
    # A sung syllable may stand a little beside its note, as words are wider than frets.
    if nearest is None or (away(nearest)[0] > SLACK and reader is not _word):
        message = f"{sign[:20]} stands over or under no note."
        remedy = "Put it straight in line with the note it is meant for."
        place.add(row.line, column, bar.index, message, remedy)
        return
    problem = reader(nearest, sign)
    if problem:
        place.add(row.line, column, bar.index, *problem)


def _targets(timing: Timing) -> list[Target]:
    targets = []
    for moment in timing.moments:
        cells = list(moment.cells.values())
        start = min((cell.start for cell in cells), default=moment.start)
        end = max((cell.end for cell in cells), default=moment.end)
        targets.append(Target(start, end, moment))
        targets += [Target(c.start, c.end, moment, i) for i, (_, c) in enumerate(moment.graces)]
    return targets


def _accent(target: Target, text: str):
    if text.strip(">"):
        return f"{text[:20]} is no accent.", "Write > over or under the note."
    target.moment.accent = True


def _stroke(target: Target, text: str):
    if text not in _STROKES:
        return f"{text[:20]} is no stroke.", "Write D for down, U for up."
    target.moment.stroke = _STROKES[text]


def _word(target: Target, text: str):
    said = target.moment.lyric
    target.moment.lyric = (said + " " if said else "") + text.replace(ELISION, " ")


def _tuplet(target: Target, text: str):
    match = re.fullmatch(r"([0-9]{1,3}):([0-9]{1,3})", text)
    if not match or not int(match[1]) or not int(match[2]):
        return f"{text[:20]} is no tuplet.", "Write 3:2 for three in the time of two."
    ratio = int(match[1]), int(match[2])
    target.moment.tuplet, target.moment.tuplet_written = (None if ratio == (1, 1) else ratio), True


def _pick(target: Target, text: str):
    """Picking letters, one a note from the highest string number on; one alone is for all."""
    strings = _strings(target)
    letters = text.replace("-", ".")
    if not re.fullmatch(r"[pima.]+", letters):
        return (
            f"{text[:20]} is no picking hand finger.",
            "Write p, i, m or a, and a dot for a note without one.",
        )
    if len(letters) == 1 and letters != ".":
        letters *= len(strings)
    if len(letters) != len(strings):
        return _wrong_number(text, len(strings), "picking letters")
    chosen = {string: letter for string, letter in zip(strings, letters, strict=True) if letter != "."}
    if target.grace is None:
        target.moment.picks |= chosen
    elif chosen:
        target.moment.grace_picks[target.grace] = letters


def _finger(target: Target, text: str):
    """Left-hand fingers, one a note from the highest string number on; one alone is for all fretted."""
    strings = _strings(target)
    figures = text.replace("-", ".").replace("0", ".")
    if not re.fullmatch(r"[1-4.]+", figures):
        return f"{text[:20]} is no left-hand finger.", "Write 1 to 4, and a dot for a note without one."
    cells = target.moment.cells
    if len(figures) == 1 and len(strings) > 1:
        figures = "".join(figures if cells[s].fret else "." for s in strings)
    if len(figures) != len(strings):
        return _wrong_number(text, len(strings), "fingers")
    chosen = {string: int(f) for string, f in zip(strings, figures, strict=True) if f != "."}
    if target.grace is None:
        target.moment.fingers |= chosen
    elif chosen:
        target.moment.grace_fingers[target.grace] = int(figures)


def _strings(target: Target) -> list[int]:
    if target.grace is not None:
        return [target.moment.graces[target.grace][0]]
    return sorted((s for s, cell in target.moment.cells.items() if not cell.rest), reverse=True)


def _wrong_number(text: str, notes: int, what: str):
    counted = "1 note" if notes == 1 else f"{notes} notes"
    return (
        f"{text[:20]} names {len(text)} {what} for {counted}.",
        "Write one for each note, from the highest string number to string 1, a dot for none.",
    )


_OF_MOMENTS: dict[str, Callable] = {
    "accent": _accent,
    "strum": _stroke,
    "pick": _pick,
    "left": _finger,
    "tuplet": _tuplet,
    "words": _word,
}

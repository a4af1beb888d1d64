"""A score written as counted tab, so that it reads back as the same score."""

from collections.abc import Iterator
from fractions import Fraction

from pieces.music.score import Bar, Score
from pieces.music.tab.cells import MOST_FRETS
from pieces.music.tab.headers import MOST_CAPO, tuning_text
from pieces.music.tab.layout import DrawnBar, Row, draw_bar, pickup_start, string_row
from pieces.music.tab.lines import above_mark, plain_text

WIDEST_LINE = 78
GOES_ON = "..."
_ALWAYS_LABELLED = ("left", "words", "tuplet")


def write_tab(score: Score) -> str:
    """``score`` as counted tab; ``read_tab`` makes the same score of it.

    A system ends where a bar has a line break; a longer one is folded at 78
    columns, and a line of three dots says that it goes on. Titles, words and notes
    are written with single spaces. Raises ValueError, naming every reason, where a
    score is not set on strings or its bars leave gaps in time.

    >>> print(write_tab(Score("Bell", bars=(Bar.of("4/4", "1/4 1/8 1/8 1/2"),))))
    title: Bell
    tuning: ukulele high G
    meter: 4/4
    <BLANKLINE>
    A|-0---0-0-0-----|
    E|---------------|
    C|---------------|
    G|---------------|
       1   2 & 3  (4)
    <BLANKLINE>
    """
    reasons = list(_unwritable(score))
    if reasons:
        raise ValueError("\n".join(reasons))
    parts = ["\n".join(_headers(score))]
    frets: dict[int, int] = {}
    meter = score.meter
    drawn = []
    for bar in score.bars:
        drawn.append(draw_bar(bar, meter, score.tuning, frets))
        meter = bar.meter
    for bars, goes_on in _systems(score, drawn):
        lines = _system_lines(score, [block for _, block in bars])
        lines += [f"bar {bar.number}: {plain_text(bar.remark)}" for bar, _ in bars if bar.remark]
        parts.append("\n".join(lines + [GOES_ON] * goes_on))
    return "\n\n".join(parts) + "\n"


def _headers(score: Score) -> Iterator[str]:
    named = (("title", score.title), ("credit", score.credit), ("tuning", tuning_text(score.tuning)))
    yield from (f"{name}: {plain_text(text)}" for name, text in named if text)
    if score.tuning.capo:
        yield f"capo: {score.tuning.capo}"
    yield f"meter: {score.meter}"
    if score.key:
        yield f"key: {plain_text(score.key)}"
    if score.tempo is not None:
        yield f"tempo: {score.tempo}"
    if score.bars and score.bars[0].number != (1 if pickup_start(score.bars[0]) == 0 else 0):
        yield f"first bar: {score.bars[0].number}"
    yield from (f"note: {plain_text(remark)}" for remark in score.remarks)


def _systems(score: Score, drawn: list[DrawnBar]) -> Iterator[tuple[list[tuple[Bar, DrawnBar]], bool]]:
    """The bars of each system, and whether it is folded there rather than broken."""
    system: list[tuple[Bar, DrawnBar]] = []
    width = 0
    for bar, block in zip(score.bars, drawn, strict=True):
        if system and width + block.width + 1 > WIDEST_LINE:
            yield system, True
            system, width = [], 0
        system.append((bar, block))
        width += block.width + 1
        if bar.line_break:
            yield system, False
            system, width = [], 0
    # A piece without bars, or with a line break after its last, ends in bare strings.
    if system or not score.bars or score.bars[-1].line_break:
        yield system, False


def _system_lines(score: Score, blocks: list[DrawnBar]) -> list[str]:
    rows = {row for block in blocks for row in block.rows}
    labels = {row: label for row in rows if (label := _label(row, blocks))}
    strings = [string_row(string) for string in range(1, len(score.tuning.strings) + 1)]
    names = {string_row(string): score.tuning.string_name(string) for string in score.tuning.strings}
    margin = max(len(name) for name in [*names.values(), *labels.values()])
    chords = sorted((row for row in rows if row[0] == "chords"), reverse=False)
    order = ["marks", *chords, "accent", "tuplet", *strings, "strum", "pick", "left", "count", "words"]
    lines = []
    for row in order:
        if row in names:
            lines.append(_string_text(row, names[row].rjust(margin), blocks))
        elif row in rows:
            lines.append(_row_text(row, labels.get(row, "").ljust(margin), blocks))
    return lines


def _label(row: Row, blocks: list[DrawnBar]) -> str:
    """The label a row needs so that it is not taken for another."""
    texts = [text for block in blocks for _, text in block.rows.get(row, ())]
    if row in _ALWAYS_LABELLED:
        return f"{row}:"
    if row == "count" and not any(text.strip("([])").isdigit() for text in texts):
        return "count:"
    if row[0] == "chords" and any(above_mark(text) != ("chord", text) for text in texts):
        return "chords:"
    return ""


def _string_text(row: Row, name: str, blocks: list[DrawnBar]) -> str:
    line = name + "|"
    for block in blocks:
        text = ":" if block.opens_repeat else ""
        for column, cell in block.rows.get(row, ()):
            text = text.ljust(column, "-") + cell
        text = text.ljust(block.width - block.closes_repeat, "-")
        line += text + ":" * block.closes_repeat + "|"
    return line


def _row_text(row: Row, label: str, blocks: list[DrawnBar]) -> str:
    line, start = label, len(label) + 1
    for block in blocks:
        for column, text in block.rows.get(row, ()):
            line = line.ljust(start + column) + text
        start += block.width + 1
    return line.rstrip()


def _unwritable(score: Score) -> Iterator[str]:
    """Every reason why ``score`` cannot stand as tab."""
    if score.tuning.capo > MOST_CAPO or score.tuning.capo < 0:
        yield f"There is no capo at fret {score.tuning.capo}."
    if score.tempo is not None and not 0 < score.tempo < 10_000:
        yield f"{score.tempo} is no tempo."
    for index, bar in enumerate(score.bars):
        if bar.number != score.bars[0].number + index:
            yield f"Bar {bar.number} does not follow bar {bar.number - 1}."
        for reason in _unwritable_bar(bar, score):
            yield f"Bar {bar.number}: {reason}"


def _unwritable_bar(bar: Bar, score: Score) -> Iterator[str]:
    time = Fraction(0)
    for event in bar.events:
        if event.onset != time or event.duration <= 0:
            yield f"the event at {event.onset} does not follow the one before in time."
        time = event.end
        strings = [note.string for note in event.notes]
        if None in strings:
            yield "not every note is set on a string."
        elif strings != sorted(set(strings), reverse=True):
            yield "the notes at one moment must be on different strings, the highest string number first."
        for note in event.notes + event.grace:
            if note.fret is not None and note.fret > MOST_FRETS:
                yield f"there is no fret {note.fret}."
    if any(not (onset == 0 or 0 <= onset < bar.length) for onset, _ in bar.chords):
        yield "a chord name stands outside the bar."
    if bar.length * bar.meter.unit > 64:
        yield "it has more than 64 counts."
    if set("[]|") & set(bar.letter) or set("()|") & set(bar.key):
        yield "a section letter or a key has brackets in its name."

"""What stands above the strings: section letters, bar numbers, endings, brackets, chords.

Planned from the strings upwards, because the height of a system is known only when
its chord names have found their rows.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pieces.engraving.columns import fret_half, join_letters
from pieces.engraving.diagram import Figure, draw_shape
from pieces.engraving.ink import Text, line, num, rectangle
from pieces.engraving.lettering import text_depth, text_width
from pieces.engraving.marks import join_text
from pieces.engraving.options import StripOptions
from pieces.engraving.place import PlacedBar
from pieces.music.shapes import Shape

Span = tuple[Fraction, Fraction]
_BOX = 19
_HOOK = 6


@dataclass(frozen=True, slots=True)
class Findings:
    """What is known of a piece besides its notes.

    ``hard``: bar number to the stretch of its hard counts, its end not included.
    ``same_as``: bar number to the number of an earlier bar that is the same.
    ``shapes``: shapes to draw over chord names, by symbol.
    """

    hard: Mapping[int, Span]
    same_as: Mapping[int, int]
    shapes: Mapping[str, Shape]


@dataclass(frozen=True, slots=True)
class Head:
    """A finished head: y is relative to string 1, so all of it is negative."""

    svg: str
    texts: tuple[Text, ...]
    height: float


@dataclass(frozen=True, slots=True)
class _Block:
    """A chord name, with its diagram where there is one; ``left`` and ``right`` with their air."""

    left: float
    right: float
    text: Text
    figure: Figure | None
    scale: float

    @property
    def depth(self) -> float:
        return text_depth(self.text.text, self.text.size, self.text.voice)

    @property
    def height(self) -> float:
        return self.text.size * 0.8 + (self.figure.height * self.scale + 3 if self.figure else 0)


def label_text(placed: PlacedBar, findings: Findings) -> str:
    """The bar's number, and the earlier bar it is the same as; nothing for a pickup."""
    return number_text(placed.bar.number, findings)


def number_text(number: int, findings: Findings) -> str:
    same = findings.same_as.get(number)
    if number == 0:
        return ""
    return f"{number} as {same}" if same is not None and same != number else str(number)


def times_text(repeats: int) -> str:
    """How often a passage is played, where that is not just twice."""
    return f"{repeats} times" if repeats > 2 else ""


def letter_width(letter: str, options: StripOptions) -> float:
    return max(_BOX, text_width(letter, options.label * 1.27, "said") + 9)


def label_width(letter: str, number: str, times: str, options: StripOptions) -> float:
    """Least width of a bar for the labels above it."""
    width = 3 + text_width(number, options.label, "read") + 4
    if letter:
        width += letter_width(letter, options) + 2
    if times:
        width += text_width(times, options.label, "read") + 4
    return width


def plan_head(
    bars: Sequence[PlacedBar], findings: Findings, width: float, clear: float, options: StripOptions
) -> Head:
    """Everything above the strings of one system, at least ``clear`` above string 1."""
    texts: list[Text] = []
    drawn: list[str] = []
    joins = [i for bar in bars for i in bar.bar.events if join_letters(i)]
    accents = any(event.accent for bar in bars for event in bar.bar.events)
    low = _numbers_are_low(bars, findings, bool(joins), options)
    top = -max(options.fret * 0.5, clear)
    base = min(-6, top + 0.5 if clear else 0)
    if accents:
        drawn.append(_accents(bars, top - 2, options))
        top -= options.fret * 0.45 + 2
    if joins:
        top -= 2.5
        texts += _join_letters(bars, top, options)
        top -= options.note * 0.75
    numbers = [(bar, label_text(bar, findings)) for bar in bars]
    taken = []
    if low:
        for bar, number in numbers:
            text = Text(bar.left + 3, base, number, options.label, "read", "in2", "start")
            texts.append(text)
            taken.append((text.box.left - 2, text.box.right + 2, text.box.top))
        top = min(top, base - options.label * 0.75) if not options.chords else top
    if options.chords:
        top = _chords(bars, findings, taken, width, top, options, drawn, texts)
    top = min(top, base - options.label * 0.8) if low else top
    top = _hard(bars, findings, top, drawn)
    top = _endings(bars, top, options, drawn, texts)
    if not low:
        top = _labels(numbers, top, options, drawn, texts)
    return Head("".join(drawn), tuple(texts), 1.5 - top)


def _numbers_are_low(bars, findings: Findings, joins: bool, options: StripOptions) -> bool:
    """Whether each number fits between its bar line and the first chord name."""
    if joins or any(bar.bar.letter or times_text(bar.bar.repeats) for bar in bars):
        return False
    for bar in bars:
        room = bar.origin - bar.left - options.fret * 0.5 - 5
        if text_width(label_text(bar, findings), options.label, "read") > room:
            return False
    return True


def _accents(bars, y: float, options: StripOptions) -> str:
    half, high = options.fret * 0.32, options.fret * 0.2
    return line(
        "".join(
            f"M{num(bar.x(event.onset) - half)} {num(y - 2 * high)}l{num(2 * half)} {num(high)}"
            f"l{num(-2 * half)} {num(high)}"
            for bar in bars
            for event in bar.bar.events
            if event.accent
        ),
        "sm",
        options.stem,
    )


def _join_letters(bars, y: float, options: StripOptions) -> list[Text]:
    texts = []
    for bar in bars:
        before = bar.left
        for event in bar.bar.events:
            x = bar.x(event.onset)
            text = join_text(event, x, before, y, options)
            if text:
                texts.append(text)
            before = x
    return texts


def _chords(
    bars, findings: Findings, taken, width: float, top: float, options: StripOptions, drawn, texts
) -> float:
    """Chord names above ``top``, each as low as others and bar numbers let it; returns the new top."""
    blocks = _chord_blocks(bars, findings, width, options)
    if not blocks:
        return top
    deepest = max(block.depth for block in blocks)
    base = min(-options.chord_gap, top - 1.5 - deepest)
    tops = list(taken)
    for block in blocks:
        under = [high for left, right, high in tops if block.left < right and left < block.right]
        y = min([base, *(high - 1.5 - block.depth for high in under)])
        texts.append(block.text._replace(y=y))
        high = y - block.height
        tops.append((block.left, block.right, high))
        if block.figure:
            move = f"translate({num(block.text.x - 4 * block.scale)} {num(high)}) scale({block.scale:.3g})"
            drawn.append(f'<g transform="{move}">{block.figure.svg}</g>')
    return min(high for _, _, high in tops)


def _chord_blocks(bars, findings: Findings, width: float, options: StripOptions) -> list[_Block]:
    blocks = []
    shown = None
    for bar in bars:
        for mark in bar.bar.chords:
            size = options.chord
            wide = text_width(mark.symbol, size, "said")
            if wide > width - 2:
                size *= (width - 2) / wide
                wide = width - 2
            shape = findings.shapes.get(mark.symbol) if mark.symbol != shown else None
            figure = draw_shape(shape, left_handed=options.left_handed) if shape else None
            scale = options.fret / 16
            whole = max(wide, (figure.width - 4) * scale if figure else 0)
            half = _half_at(bar, mark.onset, options)
            left = max(1, min(bar.x(mark.onset) - half, width - whole - 1))
            text = Text(left, 0, mark.symbol, size, "said", "ink", "start")
            blocks.append(_Block(left - (5 if figure else 1), left + whole + 3, text, figure, scale))
            shown = mark.symbol
    return blocks


def _half_at(bar: PlacedBar, onset: Fraction, options: StripOptions) -> float:
    """Half the width of the frets under a chord name, so that it starts where they start."""
    for event in bar.bar.events:
        if event.onset == onset and event.notes:
            return max(fret_half(note, options) for note in event.notes)
    return options.fret * 0.36


def _hard(bars, findings: Findings, top: float, drawn: list[str]) -> float:
    spans = [(bar, findings.hard[bar.bar.number]) for bar in bars if findings.hard.get(bar.bar.number)]
    if not spans:
        return top
    y = top - 3 - _HOOK
    path = "".join(
        f"M{num(max(bar.left + 2, bar.x(first) - 8.4))} {num(y + _HOOK)}v-{_HOOK}"
        f"H{num(min(bar.right - 2, bar.x(_last_within(bar, first, end)) + 8.4))}v{_HOOK}"
        for bar, (first, end) in spans
    )
    drawn.append(line(path, "hard", 2.5))
    return y - 1.5


def _last_within(bar: PlacedBar, first: Fraction, end: Fraction) -> Fraction:
    """The last onset, said or played, of the stretch from ``first`` up to ``end``."""
    onsets = [one.onset for one in (*bar.measured.counts, *bar.bar.events)]
    return max((onset for onset in onsets if first <= onset < end), default=first)


def _endings(bars, top: float, options: StripOptions, drawn: list[str], texts: list[Text]) -> float:
    """Brackets over bars that are played only in some passes; returns the new top."""
    if not any(bar.bar.endings for bar in bars):
        return top
    size = options.label
    y = top - 4 - size
    path = []
    for i, bar in enumerate(bars):
        endings = bar.bar.endings
        if not endings:
            continue
        opens = i == 0 or bars[i - 1].bar.endings != endings
        goes_on = i + 1 < len(bars) and bars[i + 1].bar.endings == endings
        path.append(
            f"M{num(bar.left + 2)} {num(y + size * 0.9)}V{num(y)}" if opens else f"M{num(bar.left)} {num(y)}"
        )
        path.append(f"H{num(bar.right if goes_on else bar.right - 3)}")
        if bar.bar.repeats and not goes_on:
            path.append(f"v{num(size * 0.9)}")
        if opens:
            said = ", ".join(map(str, endings)) + "."
            texts.append(Text(bar.left + 6, y + size * 0.95, said, size, "read bold", "ink", "start"))
    drawn.append(line("".join(path), "bl", 1.2))
    return y - 1


def _labels(numbers, top: float, options: StripOptions, drawn: list[str], texts: list[Text]) -> float:
    """Section letters in their boxes, and bar numbers beside them; returns the new top."""
    boxed = any(bar.bar.letter for bar, _ in numbers)
    base = top - (10 if boxed else 4)
    boxes = []
    for bar, number in numbers:
        left = bar.left + 3
        if bar.bar.letter:
            wide = letter_width(bar.bar.letter, options)
            boxes.append(rectangle(bar.left + 1, base + 4.5 - _BOX, bar.left + 1 + wide, base + 4.5))
            texts.append(
                Text(bar.left + 1 + wide / 2, base, bar.bar.letter, options.label * 1.27, "said", "ink")
            )
            left += wide + 1
        if number:
            texts.append(Text(left, base, number, options.label, "read", "in2", "start"))
        times = times_text(bar.bar.repeats)
        if times:
            texts.append(Text(bar.right - 2, base, times, options.label, "read", "in2", "end"))
    drawn.append(line("".join(boxes), "bl", 1.6))
    return base + 4.5 - _BOX - 0.8 if boxed else base - options.label * 0.75

"""The lesson strip: tablature with its rhythm, the shapes, the picking hand, and the count.

Time runs evenly, so that the count reads evenly; every system is one ``<svg>`` with
an id on each bar (``b3``) and each event (``b3e2``), and the bars in words as its
title. It needs no style sheet: see ``ink`` for the classes by which a page sets its
own colours.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from html import escape

from pieces.engraving.below import Under, draw_below
from pieces.engraving.columns import (
    Measured,
    break_systems,
    count_look,
    count_size,
    fit,
    measure,
    name_width,
    natural_width,
    needed_width,
)
from pieces.engraving.head import Findings, Span, label_width, number_text, plan_head, times_text
from pieces.engraving.ink import TINT, Text, draw_texts, line, num, type_attributes
from pieces.engraving.marks import Trail, draw_event, fret_style
from pieces.engraving.options import DESK, StripOptions
from pieces.engraving.place import Lines, PlacedBar, lines_below, place_bars
from pieces.engraving.signs import (
    OPENING,
    PLAIN,
    draw_bar_lines,
    draw_meter,
    draw_names,
    meter_overhang,
    room_for,
)
from pieces.engraving.stems import draw_rhythm
from pieces.music.describe import speak_bar
from pieces.music.score import Bar
from pieces.music.shapes import Shape
from pieces.music.tuning import Tuning

# Right of the last bar stands half of the thick stroke of a final bar line.
_MARGIN = 4
# Where one bar alone is too dense for its line, its counts may shrink so far before all of it does.
_COUNT_SHARES = (1, 0.85, 0.7)
# A page is asked for again and again, and its bars are said the same each time.
_spoken = lru_cache(maxsize=2048)(speak_bar)


@dataclass(frozen=True, slots=True)
class System:
    """One drawn system: its SVG without ``<svg>``, its size, its texts and its title."""

    svg: str
    width: float
    height: float
    texts: tuple[Text, ...]
    title: str


def strips(
    bars: Sequence[Bar],
    tuning: Tuning,
    options: StripOptions = DESK,
    *,
    hard: Mapping[int, Span] | None = None,
    same_as: Mapping[int, int] | None = None,
    shapes: Mapping[str, Shape] | None = None,
    before: Bar | None = None,
) -> list[str]:
    """``bars`` engraved, one ``<svg>`` a system.

    ``hard``: bar number to the stretch of its hard counts, from an onset up to but not
    including another, as ``Rating.worst`` has it. ``same_as``: bar number to the earlier
    bar it is the same as. ``shapes``: fret diagrams to draw over chord names. ``before``:
    the bar that goes before, to know whether the meter changes. Notes not yet set on
    strings are left out. No bars give no systems.
    """
    findings = Findings(hard or {}, same_as or {}, shapes or {})
    return [
        f'<svg class="strip" viewBox="0 0 {num(s.width)} {num(s.height)}" role="img" '
        f'xmlns="http://www.w3.org/2000/svg"><title>{escape(s.title, quote=False)}</title>{s.svg}</svg>'
        for s in systems(bars, tuning, options, findings, before)
    ]


def strip(bars: Sequence[Bar], tuning: Tuning, options: StripOptions = DESK, **findings) -> str:
    """``bars`` engraved as ``strips`` does, one system under the other in a single string of SVGs."""
    return "\n".join(strips(bars, tuning, options, **findings))


def systems(
    bars: Sequence[Bar], tuning: Tuning, options: StripOptions, findings: Findings, before: Bar | None = None
) -> list[System]:
    """``bars`` laid out and drawn; see ``strips``."""
    if not bars:
        return []
    options, groups = _grouped(bars, tuning, options, findings, before)
    inner = options.but(width=options.width - _MARGIN)
    measured = [bar for group in groups for bar in group]
    drawn, at = [], 0
    for group in groups:
        row = fit(group, natural_width(group, measured, inner), inner)
        first, last = at == 0, at + len(group) == len(bars)
        signs = _Signs(tuning, bars, at, before, first and options.names, last and options.closed)
        drawn.append(_draw_system(place_bars(row, options.prefix), signs, findings, options))
        at += len(group)
    return drawn


def lines_of_bars(
    bars: Sequence[Bar], tuning: Tuning, options: StripOptions = DESK, *, before: Bar | None = None
) -> list[list[Bar]]:
    """Which bars ``strips`` puts into each system, so that a staff can go above each.

    >>> from pieces.music.tuning import TUNINGS
    >>> [len(line) for line in lines_of_bars([Bar.of("3/4", "3/4", n) for n in range(1, 6)], TUNINGS["guitar"])]
    [4, 1]
    """
    if not bars:
        return []
    _, groups = _grouped(bars, tuning, options, Findings({}, {}, {}), before)
    return [[measured.bar for measured in group] for group in groups]


def _grouped(bars, tuning: Tuning, options: StripOptions, findings: Findings, before: Bar | None):
    """The bars by system, and the options they fit: with smaller counts, or else with more width."""
    for share in _COUNT_SHARES:
        fitting = options.but(count=options.count * share)
        inner = fitting.but(width=fitting.width - _MARGIN)
        measured = _measure_all(bars, tuning, fitting, findings, before)
        width = needed_width(measured, inner)
        if width <= inner.width:
            break
    inner = inner.but(width=width)
    return fitting.but(width=width + _MARGIN), break_systems(measured, inner)


@dataclass(frozen=True, slots=True)
class _Signs:
    """What the bars of a system that starts at ``bars[at]`` need to know of their neighbours."""

    tuning: Tuning
    bars: Sequence[Bar]
    at: int
    before: Bar | None
    names: bool
    final: bool

    def previous(self, i: int) -> Bar | None:
        return self.bars[self.at + i - 1] if self.at + i else self.before


def _opens(bars: Sequence[Bar], i: int, options: StripOptions) -> bool:
    return bars[i].opens_repeat or (options.loop and i == 0)


def _closes(bars: Sequence[Bar], i: int, options: StripOptions) -> bool:
    return bars[i].repeats > 1 or (options.loop and i == len(bars) - 1)


def _shows_meter(bar: Bar, previous: Bar | None, options: StripOptions) -> bool:
    return options.meter if previous is None else bar.meter != previous.meter


def _measure_all(bars, tuning, options, findings, before) -> list[Measured]:
    measured = []
    for i, bar in enumerate(bars):
        previous = bars[i - 1] if i else before
        final = i == len(bars) - 1 and options.closed
        room = room_for(
            bar,
            tuning,
            options,
            opens=_opens(bars, i, options),
            names=options.names and i == 0,
            meter=_shows_meter(bar, previous, options),
            end="repeat" if _closes(bars, i, options) else "final" if final else "",
        )
        least = label_width(bar.letter, number_text(bar.number, findings), times_text(bar.repeats), options)
        measured.append(measure(bar, options, room, least=least))
    return measured


def _draw_system(bars: list[PlacedBar], signs: _Signs, findings: Findings, options: StripOptions) -> System:
    right = bars[-1].right
    strings = len(signs.tuning.strings)
    metered = any(_shows_meter(bar.bar, signs.previous(i), options) for i, bar in enumerate(bars))
    clear = meter_overhang(strings, options) if metered else 0
    head = plan_head(bars, findings, right + _MARGIN, clear, options)
    top = max(head.height, options.fret * 0.5 + 1)
    tuplets = any(event.tuplet for bar in bars for event in bar.bar.events)
    lines = lines_below(top, strings, tuplets, options)
    texts = [text._replace(y=text.y + top) for text in head.texts]
    opens = [_opens(signs.bars, signs.at + i, options) for i in range(len(bars))]
    closes = [_closes(signs.bars, signs.at + i, options) for i in range(len(bars))]
    parts = [_band(bars, lines, findings, options)]
    below, foot = draw_below(bars, lines, options)
    trail = Trail()
    for i, bar in enumerate(bars):
        svg, bar_texts = _draw_bar(bar, lines, trail, below[i], options)
        parts.append(svg)
        texts += bar_texts
        svg, sign_texts = _signs_before(bar, i, signs, opens[i], lines, options)
        parts.append(svg)
        texts += sign_texts
    parts.append(f'<g transform="translate(0 {num(top)})">{head.svg}</g>' if head.svg else "")
    parts.append(draw_texts(text._replace(y=text.y + top) for text in head.texts))
    parts.append(draw_bar_lines(bars, lines, opens=opens, closes=closes, final=signs.final))
    title = " ".join(_spoken(bar.bar, signs.tuning, options.syllables) for bar in bars)
    return System("".join(parts), options.width, foot, tuple(texts), title)


def _band(bars: list[PlacedBar], lines: Lines, findings: Findings, options: StripOptions) -> str:
    left, right = bars[0].left, bars[-1].right
    if not options.counts:
        return ""
    if options.paper:
        edges = f"M0 {num(lines.band_top)}H{num(right)}M0 {num(lines.band_foot)}H{num(right)}"
        return line(edges, "bl", 0.8)
    tinted = [bar for bar in bars if findings.same_as.get(bar.bar.number, bar.bar.number) == bar.bar.number]
    tall = num(lines.band_foot - lines.band_top)
    return "".join(
        f'<rect class="band" fill="{TINT}" x="{num(bar.left)}" y="{num(lines.band_top)}" '
        f'width="{num(bar.right - bar.left)}" height="{tall}"/>'
        for bar in tinted
    ) + line(f"M{num(left)} {num(lines.band_foot)}H{num(right)}", "gr")


def _draw_bar(bar: PlacedBar, lines: Lines, trail: Trail, below: Under, options: StripOptions):
    counts, grid, dotted = [], [], []
    middle = (lines.band_top + lines.band_foot) / 2
    for i, count in enumerate(bar.measured.counts, start=1):
        x = bar.x(count.onset)
        (grid if count.on_beat else dotted).append(f"M{num(x)} {num(lines.top - 4)}V{num(lines.band_top)}")
        look, voice = count_look(count)
        y = middle + options.count * (0.3 if look == "hd" else 0.36)
        extra = f' id="{bar.id}c{i}" data-at="{count.onset}"'
        counts.append(Text(x, y, count.text, count_size(count, options), voice, look, "middle", extra))
    strings = "".join(
        f"M{num(bar.left)} {num(lines.y(s))}H{num(bar.right)}" for s in range(1, lines.strings + 1)
    )
    events, fret_texts = [], []
    for i in range(len(bar.bar.events)):
        svg, texts = draw_event(bar, i, lines, trail, options)
        events.append(svg)
        fret_texts += texts
    rhythm, numbers = draw_rhythm(bar, lines, options)
    svg = (
        f'<g id="{bar.id}">'
        + line("".join(grid), "gr")
        + line("".join(dotted), "gr", more=' stroke-dasharray="1.5 3"')
        + line(strings, "st")
        + rhythm
        + f"<g {type_attributes(fret_style(options))}>{''.join(events)}</g>"
        + draw_texts(numbers)
        + draw_texts(counts, black=options.paper)
        + below.svg
        + draw_texts(below.texts)
        + "</g>"
    )
    return svg, [*fret_texts, *numbers, *counts, *below.texts]


def _signs_before(bar: PlacedBar, i: int, signs: _Signs, opens: bool, lines: Lines, options: StripOptions):
    left = bar.left + (OPENING if opens else PLAIN)
    svg, texts = "", []
    if i == 0 and signs.names:
        svg, texts = draw_names(left, signs.tuning, lines, options)
        left = left + name_width(signs.tuning, options) + 3
    if _shows_meter(bar.bar, signs.previous(i), options):
        texts = texts + draw_meter(left, bar.bar.meter, lines, options)
    return svg + draw_texts(texts), texts

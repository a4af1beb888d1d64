"""Signs at the bar lines: repeats, the time signature, the letters of the strings."""

from collections.abc import Sequence
from typing import Literal

from pieces.engraving.columns import Room, name_width
from pieces.engraving.ink import Text, dot, line, num, rectangle, solid
from pieces.engraving.lettering import text_width
from pieces.engraving.options import StripOptions
from pieces.engraving.place import Lines, PlacedBar
from pieces.music.score import Bar, Meter
from pieces.music.tuning import Tuning

THIN, THICK = 1.3, 4
OPENING, PLAIN = 13, 3
End = Literal["", "repeat", "final"]
# Room before a bar line, on the strings and under them.
_ENDS: dict[End, tuple[float, float]] = {"": (1.5, 1.5), "repeat": (14, 8), "final": (5, 6)}


def meter_size(strings: int, options: StripOptions) -> float:
    """Type size of a time signature: its two figures fill the height of the strings."""
    return min(max(options.spacing * (strings - 1) * 0.62, options.fret), options.fret * 1.7)


def meter_overhang(strings: int, options: StripOptions) -> float:
    """How far a time signature reaches above string 1."""
    return max(0, meter_size(strings, options) * 0.9 - options.spacing * (strings - 1) / 2)


def meter_width(meter: Meter, strings: int, options: StripOptions) -> float:
    size = meter_size(strings, options)
    return max(text_width(str(figure), size, "said") for figure in meter) + 9


def room_for(
    bar: Bar, tuning: Tuning, options: StripOptions, *, opens: bool, names: bool, meter: bool, end: End
) -> Room:
    """Room that the signs at the bar lines of ``bar`` take."""
    room = OPENING if opens else PLAIN
    if names:
        room += name_width(tuning, options) + 3
    if meter:
        room += meter_width(bar.meter, len(tuning.strings), options)
    return Room(room, 9 if opens else PLAIN, *_ENDS[end])


def draw_names(left: float, tuning: Tuning, lines: Lines, options: StripOptions) -> tuple[str, list[Text]]:
    """Letters of the open strings; returns the halos and the texts."""
    size = options.fret * 0.68
    halos, texts = [], []
    for string in tuning.strings:
        text = Text(
            left + 1, lines.y(string) + size * 0.35, tuning.string_name(string), size, "read", "in2", "start"
        )
        texts.append(text)
        halos.append(rectangle(left, lines.y(string) - 5, left + text.width + 2, lines.y(string) + 5))
    return solid("".join(halos), "halo"), texts


def draw_meter(left: float, meter: Meter, lines: Lines, options: StripOptions) -> list[Text]:
    size = meter_size(lines.strings, options)
    middle = left + meter_width(meter, lines.strings, options) / 2 - 1.5
    return [
        Text(middle, lines.middle - size * 0.05, str(meter.beats), size, "said", "ink"),
        Text(middle, lines.middle + size * 0.77, str(meter.unit), size, "said", "ink"),
    ]


def draw_bar_lines(
    bars: Sequence[PlacedBar], lines: Lines, *, opens: Sequence[bool], closes: Sequence[bool], final: bool
) -> str:
    """All bar lines of a system with their repeat signs; ``final``: the piece or loop ends here."""
    thin, thick, dots = [], [], []

    def dotted(x: float) -> None:
        away = max(lines.spacing * 0.5, 3)
        near = lines.middle - away, lines.middle + away
        dots.extend(dot(x, y, 2.2) for y in near)

    for i, bar in enumerate(bars):
        x, after_repeat = bar.left, i > 0 and closes[i - 1]
        if opens[i]:
            centre = x if after_repeat else x + 2
            thick.append(centre)
            thin.append(centre + 4.5)
            dotted(centre + 8.5)
        elif i == 0:
            thin.append(x + 0.7)
        last = i == len(bars) - 1
        shared = not last and opens[i + 1]
        if closes[i]:
            centre = bar.right if shared else bar.right + 2 if last else bar.right - 2
            if not shared:
                thick.append(centre)
            thin.append(centre - 4.5)
            dotted(centre - 8.5)
        elif last and final:
            thick.append(bar.right + 2)
            thin.append(bar.right - 2.5)
        elif last or not opens[i + 1]:
            thin.append(bar.right + (0.7 if last else 0))
    tall = f"{num(lines.top)}V{num(lines.band_foot)}"
    return (
        line("".join(f"M{num(x)} {tall}" for x in thin), "bl", THIN)
        + line("".join(f"M{num(x)} {tall}" for x in thick), "bl", THICK)
        + solid("".join(dots))
    )

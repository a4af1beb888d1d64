"""Bars and lines set in their places: from left to right and from top to bottom."""

from dataclasses import dataclass
from fractions import Fraction

from pieces.engraving.columns import Measured, Row
from pieces.engraving.options import StripOptions
from pieces.music.score import Bar


@dataclass(frozen=True, slots=True)
class PlacedBar:
    """A bar between its two bar lines; ``origin`` is where its time 0 stands."""

    measured: Measured
    left: float
    right: float
    origin: float
    scale: float
    id: str

    @property
    def bar(self) -> Bar:
        return self.measured.bar

    def x(self, onset: Fraction | float) -> float:
        """Where the column at ``onset`` stands."""
        return self.origin + float(onset) * self.scale


def place_bars(row: Row, prefix: str) -> list[PlacedBar]:
    """The bars of a system side by side, from x = 0."""
    placed = []
    left = 0.0
    for measured, width in zip(row.bars, row.widths, strict=True):
        origin = left + measured.lead(row.scale, row.lead)
        ident = f"{prefix}b{measured.bar.number}"
        placed.append(PlacedBar(measured, left, left + width, origin, row.scale, ident))
        left += width
    return placed


@dataclass(frozen=True, slots=True)
class Lines:
    """Heights in one system; y runs downwards, ``top`` is string 1."""

    top: float
    spacing: float
    strings: int
    stem_top: float
    stem_foot: float
    tuplet: float
    band_top: float
    band_foot: float

    def y(self, string: int) -> float:
        """Height of the line of ``string``."""
        return self.top + self.spacing * (string - 1)

    @property
    def low(self) -> float:
        """The line of the highest string number."""
        return self.y(self.strings)

    @property
    def middle(self) -> float:
        return (self.top + self.low) / 2


def lines_below(top: float, strings: int, tuplets: bool, options: StripOptions) -> Lines:
    """Strings, stems and count band under a head of height ``top``."""
    low = top + options.spacing * (strings - 1)
    tuplet_room = options.note * 0.85 + 2 if tuplets else 0
    band_top = low + options.room + tuplet_room
    foot = band_top - 4 - tuplet_room
    return Lines(
        top=top,
        spacing=options.spacing,
        strings=strings,
        stem_top=low + 7,
        stem_foot=foot,
        tuplet=band_top - 3.5,
        band_top=band_top,
        band_foot=band_top + (options.band if options.counts else 0),
    )

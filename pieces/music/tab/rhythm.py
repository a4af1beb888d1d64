"""When each figure of a bar is played: by the count under it, or by its column."""

from bisect import bisect_right
from dataclasses import dataclass, field
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from pieces.music.score import Meter
from pieces.music.tab.cells import Cell
from pieces.music.tab.counts import Count
from pieces.music.tab.systems import Span, TypedBar

# How far a figure may stand beside its count and still be taken as meant for it.
SLACK = 1


@dataclass
class Moment:
    """What will become one event: its onset, its columns, and what is written in them.

    ``cells`` are by string; ``fingers`` and ``picks`` by string, for grace notes by
    index in ``graces``. ``held``: nothing stands over it, and the sound goes on.
    ``mark`` is the bracket around its count, if any.
    """

    onset: Fraction
    start: int
    end: int
    cells: dict[int, Cell] = field(default_factory=dict)
    graces: list[tuple[int, Cell]] = field(default_factory=list)
    held: bool = False
    mark: str = ""
    stroke: str = ""
    accent: bool = False
    tuplet: tuple[int, int] | None = None
    tuplet_written: bool = False
    lyric: str = ""
    fingers: dict[int, int] = field(default_factory=dict)
    picks: dict[int, str] = field(default_factory=dict)
    grace_fingers: dict[int, int] = field(default_factory=dict)
    grace_picks: dict[int, str] = field(default_factory=dict)


class Spot(NamedTuple):
    """Columns that stand for a time of the bar."""

    start: int
    end: int
    onset: Fraction


@dataclass
class Timing:
    """A bar in time: its moments, its length, and which columns stand for which time."""

    moments: list[Moment]
    length: Fraction
    spots: list[Spot]
    late: Fraction = Fraction(0)


class Stray(NamedTuple):
    """A figure that stands over no count. ``near`` is the count nearest to it."""

    string: int
    cell: Cell
    near: Count | None
    twice: bool = False


def gap(start: int, end: int, other_start: int, other_end: int) -> int:
    """Columns between two stretches of a line, 0 where they touch or overlap."""
    return max(0, start - other_end + 1, other_start - end + 1)


def by_count(
    bar: TypedBar, counts: list[Count], start: Fraction, end: Fraction
) -> tuple[Timing, list[Stray]]:
    """Time the figures of ``bar`` by the counts they stand over."""
    moments = {c.place: Moment(c.place - start, c.start, c.end, mark=c.mark) for c in counts if not c.stop}
    strays, graces = [], []
    for string, cells in bar.cells.items():
        for cell in cells:
            if cell.grace:
                graces.append((cell.start, -string, cell))
                continue
            count = _count_under(cell, counts)
            if count is None or gap(cell.start, cell.end, count.start, count.end) > SLACK or count.stop:
                strays.append(Stray(string, cell, count))
            elif string in moments[count.place].cells:
                strays.append(Stray(string, cell, count, twice=True))
            else:
                moments[count.place].cells[string] = cell
    kept = _sounding(counts, moments)
    strays += _hang_graces(graces, kept)
    spots = [Spot(c.start, c.end, c.place - start) for c in counts if not c.stop or c.place == start]
    return Timing(kept, end - start, spots), strays


def _count_under(cell: Cell, counts: list[Count]) -> Count | None:
    """The count nearest to a figure, of those just before and after it."""
    after = bisect_right(counts, cell.start, key=lambda count: count.start)
    return min(
        counts[max(0, after - 2) : after + 2],
        key=lambda c: (gap(cell.start, cell.end, c.start, c.end), abs(cell.start - c.start)),
        default=None,
    )


def _sounding(counts: list[Count], moments: dict[Fraction, Moment]) -> list[Moment]:
    """The moments at which something begins: figures stand over them, a rest begins, or the bar does."""
    kept, silent = [], False
    for count in counts:
        moment = moments.get(count.place)
        if moment is None:
            continue
        if moment.cells:
            kept.append(moment)
            silent = all(cell.rest for cell in moment.cells.values())
        elif count.mark == "[" and not silent:
            moment.cells[0] = Cell(count.start, count.end, rest=True)
            kept.append(moment)
            silent = True
        elif not kept:
            moment.held = True
            kept.append(moment)
    return kept


def _hang_graces(graces: list[tuple[int, int, Cell]], moments: list[Moment]) -> list[Stray]:
    """Give each grace note to the moment after it; return those that have none."""
    strays = []
    for column, lower, cell in sorted(graces, key=lambda grace: grace[:2]):
        moment = next((m for m in moments if _first_column(m) > column and not m.held), None)
        if moment:
            moment.graces.append((-lower, cell))
        else:
            strays.append(Stray(-lower, cell, None))
    return strays


def _first_column(moment: Moment) -> int:
    return min((cell.start for cell in moment.cells.values()), default=moment.start)


def clusters(bar: TypedBar) -> list[Moment]:
    """The figures of a bar that stand over one another, from the left, their onsets still 0."""
    found: list[Moment] = []
    cells = [
        (cell.start, string, cell) for string, row in bar.cells.items() for cell in row if not cell.grace
    ]
    for _, string, cell in sorted(cells, key=lambda item: item[:2]):
        if (
            found
            and gap(cell.start, cell.end, found[-1].start, found[-1].end) == 0
            and string not in found[-1].cells
        ):
            found[-1].cells[string] = cell
            found[-1].end = max(found[-1].end, cell.end)
        else:
            found.append(Moment(Fraction(0), cell.start, cell.end, {string: cell}))
    return found


def lead_in(bars: list[TypedBar]) -> int:
    """How many columns stand between the barline and the first beat, in a system without a count."""
    starts = [found[0].start - bar.span.start for bar in bars if (found := clusters(bar))]
    return min(starts, default=0)


def by_spacing(bar: TypedBar, meter: Meter, lead: int) -> tuple[Timing, int]:
    """Time the figures of ``bar`` by their columns, which divide it evenly.

    Returns the timing, and into how many parts of a count the columns divide it: 1 to 4,
    or 0 where they fall on no plain division. Then each figure is put on the nearest
    quarter of a count, or they share the bar evenly.
    """
    moments = clusters(bar)
    width = bar.span.end - bar.span.start
    offsets = [moment.start - bar.span.start - lead for moment in moments]
    onsets, parts = _even_onsets(offsets, width, lead, meter)
    for moment, onset in zip(moments, onsets, strict=True):
        moment.onset = onset
    if not moments or moments[0].onset:
        moments.insert(0, Moment(Fraction(0), bar.span.start, bar.span.start + 1, {0: Cell(0, 1, rest=True)}))
    graces = [(cell.start, -string, cell) for string, row in bar.cells.items() for cell in row if cell.grace]
    _hang_graces(graces, moments)
    return Timing(moments, meter.length, _beat_spots(bar.span, moments, meter, lead)), parts


def _even_onsets(offsets: list[int], width: int, lead: int, meter: Meter) -> tuple[list[Fraction], int]:
    unit = Fraction(1, meter.unit)
    best: tuple[int, list[Fraction]] | None = None
    # A lead-in and the barline belong to the time, or only the columns from the first beat on do.
    for period in dict.fromkeys((width + 1, width - lead, width, width - lead + 1)):
        if period <= max(offsets, default=0):
            continue
        onsets = [Fraction(offset, period) * meter.length for offset in offsets]
        fineness = lcm(*((onset / unit).denominator for onset in onsets))
        if best is None or fineness < best[0]:
            best = fineness, onsets
    if best and best[0] <= 4:
        return best[1], best[0]
    grid = unit / 4
    near = [round(Fraction(offset, width + 1) * meter.length / grid) * grid for offset in offsets]
    if len(set(near)) == len(near) and all(onset < meter.length for onset in near):
        return near, 0
    return [meter.length * index / len(offsets) for index in range(len(offsets))], 0


def _beat_spots(span: Span, moments: list[Moment], meter: Meter, lead: int) -> list[Spot]:
    """Columns of the figures and of the beats, so that a chord name can stand over either."""
    spots = [Spot(moment.start, moment.end, moment.onset) for moment in moments]
    beats = meter.length // meter.beat
    for beat in range(int(beats)):
        column = span.start + lead + round((span.end - span.start + 1) * beat / beats)
        onset = beat * meter.beat
        if all(spot.onset != onset for spot in spots):
            spots.append(Spot(column, column + 1, onset))
    return sorted(spots, key=lambda spot: spot.start)

"""Where everything stands from left to right.

Time runs evenly across a system, over the bar lines too, so that the count reads
evenly whatever the notes do. What a bar holds is first measured in rows (each
string, the counts, the stems ...); neighbours in a row say how many units a whole
note needs at least, and so how many bars go into one system.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from pieces.engraving.lettering import text_width
from pieces.engraving.options import StripOptions
from pieces.engraving.rhythm import written
from pieces.music.counting import Count, UncountableRhythm, count_bar, count_unit
from pieces.music.score import Bar, Event, Note
from pieces.music.tuning import Tuning

# Left free at either side of what stands on the strings.
_AIR = 1.2
GRACE_AIR = 2
_JOINS = {"hammer": "H", "pull": "P", "slide": "sl"}
# Size of a left-hand finger beside its fret.
FINGER = 0.62
# A last bar that would fill this much of its system is spread over all of it.
_NEARLY_FULL = 0.8


class Room(NamedTuple):
    """Room that signs take after a bar line (``before`` the first column) and before the next.

    Dots, letters and meter stand on the strings; ``under`` them only strokes reach.
    """

    before: float
    before_under: float
    after: float
    after_under: float


class Reach(NamedTuple):
    """How far something at ``onset`` reaches to the left and right of its column."""

    onset: float
    left: float
    right: float


@dataclass(frozen=True, slots=True)
class Measured:
    """A bar with what its engraving needs.

    ``length`` is in whole notes. ``starts``, ``ends``: reach of the first and last
    thing in each row; ``signed``: of the first, with the signs at the bar line before
    it. ``tight``: least units a whole note may have. ``least``: least width of the bar.
    """

    bar: Bar
    counts: tuple[Count, ...]
    length: float
    starts: tuple[Reach, ...]
    signed: tuple[Reach, ...]
    ends: tuple[Reach, ...]
    tight: float
    least: float

    def first(self, scale: float) -> float:
        """How far what the bar holds reaches to the left of its first column."""
        return _leftmost(self.starts, scale)

    def lead(self, scale: float, common: float) -> float:
        """From the bar line to the first column, ``common`` where the signs leave it."""
        return max(common, _leftmost(self.signed, scale))

    def width(self, scale: float, common: float) -> float:
        """Width of the bar at ``scale`` units to the whole note."""
        lead = self.lead(scale, common)
        room = max((reach.onset * scale + reach.right for reach in self.ends), default=0)
        return max(lead - common + self.length * scale, lead + room, self.least)


def _leftmost(starts: Sequence[Reach], scale: float) -> float:
    return max((reach.left - reach.onset * scale for reach in starts), default=0)


@dataclass(frozen=True, slots=True)
class Row:
    """The bars of one system: ``scale`` units to the whole note, and ``lead`` before each first count."""

    bars: tuple[Measured, ...]
    scale: float
    lead: float
    widths: tuple[float, ...]


def count_or_nothing(bar: Bar, options: StripOptions) -> tuple[Count, ...]:
    """The count of ``bar``; nothing where none is wanted, or where a bar still being typed cannot be said."""
    try:
        return tuple(count_bar(bar, options.syllables)) if options.counts else ()
    except UncountableRhythm:
        return ()


def fret_text(note: Note) -> str:
    """What stands on the string: the fret, a cross for a muted stroke, marks of a tie or harmonic.

    >>> fret_text(Note(72, 1, 3, tied=True)), fret_text(Note(None, 1, 0, muted=True))
    ('(3)', '×')
    """
    text = "×" if note.muted or note.fret is None else str(note.fret)
    if note.tied:
        return f"({text})"
    return f"‹{text}›" if note.harmonic else text


def fret_voice(note: Note) -> str:
    return "read" if note.tied else "read bold"


def fret_size(note: Note, options: StripOptions) -> float:
    """Type size of a fret; one in brackets is smaller, so that it stays between its neighbours."""
    return options.fret * (0.9 if note.tied else 1)


def fret_half(note: Note, options: StripOptions) -> float:
    """Half the width of what stands on the string, with its air."""
    return text_width(fret_text(note), fret_size(note, options), fret_voice(note)) / 2 + options.fret * 0.06


def grace_size(options: StripOptions) -> float:
    return options.fret * 0.68


def grace_width(event: Event, options: StripOptions) -> float:
    """Width of the grace notes before ``event``, each with its air."""
    return sum(text_width(fret_text(n), grace_size(options), fret_voice(n)) + GRACE_AIR for n in event.grace)


def finger_width(note: Note, options: StripOptions) -> float:
    """Width of the left-hand finger beside a fret, 0 where it is not shown."""
    if not (options.fingers and note.finger):
        return 0
    return text_width(str(note.finger), options.fret * FINGER, "read") + 1


def join_letters(event: Event) -> str:
    """The letters over an event that say how it is reached, each once.

    >>> join_letters(Event(0, 1, (Note(60, 3, 2, join="hammer"), Note(64, 2, 2, join="hammer"))))
    'H'
    """
    return " ".join(dict.fromkeys(_JOINS[note.join] for note in event.notes if note.join))


def join_size(options: StripOptions) -> float:
    return options.note * 0.9


def name_width(tuning: Tuning, options: StripOptions) -> float:
    """Width of the widest letter of an open string."""
    return max(text_width(tuning.string_name(s), options.fret * 0.68, "read") for s in tuning.strings)


def pick_letters(event: Event) -> list[str]:
    """Letters of the picking hand at ``event``, that of the string nearest the floor first.

    >>> from fractions import Fraction
    >>> pick_letters(Event(Fraction(0), Fraction(1, 4), (Note(60, 3, 0, pick="p"), Note(69, 1, 0, pick="m"))))
    ['m', 'p']
    """
    letters: list[str] = []
    for note in sorted(event.notes, key=lambda note: note.string or 0):
        if note.pick and not note.tied and note.pick not in letters:
            letters.append(note.pick)
    return letters


def measure(bar: Bar, options: StripOptions, room: Room, *, least: float = 0) -> Measured:
    """What ``bar`` needs, with ``room`` for the signs at its bar lines."""
    counts = count_or_nothing(bar, options)
    columns = [_column(event, options) for event in bar.events]
    stems = [_stem(event, options) for event in bar.events]
    picks = [_pick(event, options) for event in bar.events if event.stroke or pick_letters(event)]
    spoken = [_said(count, options) for count in counts]
    rows = [(columns, room.before, room.after)]
    rows.append(([_join(event, options) for event in bar.events], 0, 0))
    rows += [(row, room.before_under, room.after_under) for row in (stems, picks, spoken)]
    rows = [row for row in rows if row[0]]
    length = max([bar.length or bar.meter.length, *(c.onset for c in counts[-1:])])
    return Measured(
        bar=bar,
        counts=counts,
        length=float(length),
        starts=tuple(row[0] for row, _, _ in rows),
        signed=tuple(row[0]._replace(left=row[0].left + sign) for row, sign, _ in rows),
        ends=tuple(Reach(row[-1].onset, 0, row[-1].right + sign) for row, _, sign in rows),
        tight=max((_tightest_pair(row) for row, _, _ in rows), default=0),
        least=least,
    )


def _tightest_pair(row: Sequence[Reach]) -> float:
    """Units a whole note needs so that no two neighbours of ``row`` touch."""
    return max(
        (
            (one.right + two.left) / (two.onset - one.onset)
            for one, two in pairwise(row)
            if two.onset > one.onset
        ),
        default=0,
    )


def _column(event: Event, options: StripOptions) -> Reach:
    """What an event takes on the strings: frets, grace notes, fingers, or a rest."""
    onset = float(event.onset)
    if event.is_rest:
        return Reach(onset, options.fret * 0.5, options.fret * 0.7)
    half = column_half(event, options)
    fingers = max((finger_width(note, options) for note in event.notes), default=0)
    return Reach(onset, half + grace_width(event, options) + _AIR, half + fingers + _AIR)


def column_half(event: Event, options: StripOptions) -> float:
    """Half the width of the widest fret of ``event``."""
    return max((fret_half(note, options) for note in event.notes if note.string is not None), default=0)


def _join(event: Event, options: StripOptions) -> Reach:
    """The letters of a join fit between their column and the one before."""
    letters = join_letters(event)
    width = text_width(letters, join_size(options), "read") + _AIR if letters else 0
    return Reach(float(event.onset), width, 0)


def _stem(event: Event, options: StripOptions) -> Reach:
    value = written(event.duration, event.tuplet)[0]
    dots = value.dots * options.fret * 0.35
    flag = options.fret * 0.3 if value.beams else 0
    return Reach(float(event.onset), options.stem, options.stem + dots + flag)


def _pick(event: Event, options: StripOptions) -> Reach:
    half = max((text_width(letter, options.note, "read") for letter in pick_letters(event)), default=0) / 2
    half = max(half, options.note * 0.35 if event.stroke else 0) + 1
    return Reach(float(event.onset), half, half)


def _said(count: Count, options: StripOptions) -> Reach:
    width = text_width(count.text, count_size(count, options), count_look(count)[1])
    half = width / 2 + options.count * 0.06
    return Reach(float(count.onset), half, half)


def count_look(count: Count) -> tuple[str, str]:
    """Class and voice of a count: strong when played on the beat, lighter between and when held."""
    if count.kind != "struck":
        return "hd", "said light"
    return ("c", "said") if count.on_beat else ("am", "said light")


def count_size(count: Count, options: StripOptions) -> float:
    return options.count if count.kind == "struck" and count.on_beat else options.small


def common_lead(bars: Sequence[Measured], scale: float, options: StripOptions) -> float:
    """From a bar line to the first count, the same in every bar of a system."""
    cell = min(float(count_unit(bars[0].bar.meter, options.syllables)), 0.25) * scale
    spare = min(
        (bar.length - reach.onset) * scale - reach.right
        for bar in bars
        for reach in (*bar.ends, Reach(0, 0, 0))
    )
    return max(*(bar.first(scale) for bar in bars), 0, min(options.lead * cell, spare))


def tightest(bars: Sequence[Measured], options: StripOptions) -> float:
    """The least width of a system of ``bars``."""
    scale = max(bar.tight for bar in bars)
    lead = common_lead(bars, scale, options)
    return sum(bar.width(scale, lead) for bar in bars)


def fit(bars: Sequence[Measured], width: float, options: StripOptions) -> Row:
    """``bars`` set to exactly ``width``, which is at least ``tightest(bars)``."""
    length = sum(bar.length for bar in bars)
    scale = max(width / length, *(bar.tight for bar in bars), 0)
    for _ in range(4):
        lead = common_lead(bars, scale, options)
        widths = [bar.width(scale, lead) for bar in bars]
        excess = sum(widths) - width
        if abs(excess) < 0.05:
            break
        scale = max(scale - excess / length, *(bar.tight for bar in bars), 0)
    return Row(tuple(bars), scale, lead, tuple(widths))


def break_systems(bars: Sequence[Measured], options: StripOptions) -> list[tuple[Measured, ...]]:
    """``bars`` parted into systems, in halves where a full one would be too tight.

    A pickup stands with the first full bars. A section letter opens a system where
    ``options.sections`` says so.
    """
    groups: list[list[Measured]] = [[]]
    for bar in bars:
        full = sum(not one.bar.is_pickup for one in groups[-1]) >= options.per_system
        letter = options.sections and bar.bar.letter and any(not one.bar.is_pickup for one in groups[-1])
        if full or letter:
            groups.append([])
        groups[-1].append(bar)
    return [part for group in groups if group for part in _halved(group, options)]


def _halved(group: Sequence[Measured], options: StripOptions) -> list[tuple[Measured, ...]]:
    full = [i for i, bar in enumerate(group) if not bar.bar.is_pickup]
    if len(full) < 2 or tightest(group, options) <= options.width:
        return [tuple(group)]
    middle = full[(len(full) + 1) // 2]
    return [*_halved(group[:middle], options), *_halved(group[middle:], options)]


def needed_width(bars: Sequence[Measured], options: StripOptions) -> float:
    """Width of the systems: as asked, or as wide as the tightest single bar needs."""
    pickups = [bars[:2]] if bars[0].bar.is_pickup else []
    return max(
        [options.width, *(tightest(group, options) for group in (*((bar,) for bar in bars), *pickups))]
    )


def natural_width(group: Sequence[Measured], bars: Sequence[Measured], options: StripOptions) -> float:
    """How wide a system of ``group`` is set: all the width, or its share where bars are few."""
    longest = max(bar.length for bar in bars)
    share = sum(bar.length for bar in group) / (longest * options.per_system)
    tight = tightest(group, options)
    if max(share, tight / options.width) >= _NEARLY_FULL or len(group) >= options.per_system:
        return options.width
    return share * options.width if tight <= share * options.width else options.width

"""The outline of a lesson: bar after bar in words, nothing said twice.

What a bar needs is said in ``bar_words``; here a row of bars is told as a teacher
tells it, who remembers which shapes, drills and counts were said a moment ago.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

from pieces.music.bar_words import Said, name_of, outline_bar, said_of
from pieces.music.counting import BEATS_AND, Syllables
from pieces.music.difficulty import Rating
from pieces.music.score import Bar, Score
from pieces.music.sections import Section
from pieces.music.shapes import Shape
from pieces.music.words import spelled


@dataclass(frozen=True, slots=True)
class Known:
    """All that words are made from. Mappings go by bar number, shapes by symbol.

    ``own`` are the shapes by symbol of bars that hold another than the usual one.
    ``classes`` gives for a bar the first identical one (``form.bar_classes``), ``near``
    the text of ``form.near_repeats``.
    """

    score: Score
    shapes: Mapping[str, Shape]
    ratings: Mapping[int, Rating]
    classes: Mapping[int, int]
    near: Mapping[int, str] = field(default_factory=dict)
    own: Mapping[int, Mapping[str, Shape]] = field(default_factory=dict)
    left_handed: bool = False
    syllables: Syllables = BEATS_AND

    def is_new(self, bar: Bar) -> bool:
        """Whether no earlier bar is played like it."""
        return self.classes.get(bar.number, bar.number) == bar.number

    def shapes_in(self, bar: Bar) -> Mapping[str, Shape]:
        """The shape of each symbol as it is held in ``bar``."""
        return {**self.shapes, **self.own.get(bar.number, {})}


@dataclass
class Told:
    """What has been said so far: shapes, drills by kind of load, and the last count."""

    shapes: set[Shape] = field(default_factory=set)
    drills: dict[str, str] = field(default_factory=dict)
    count: str = ""


class BarOutline(NamedTuple):
    """What is said about one bar, in order."""

    bar: Bar
    said: tuple[Said, ...]

    @property
    def text(self) -> str:
        return " ".join([f"{name_of(self.bar)}.", *(one.text for one in self.said)])


class SectionOutline(NamedTuple):
    """A section: its first sentence, what to know of it as a whole, and its bars."""

    section: Section
    head: str
    notes: tuple[str, ...]
    bars: tuple[BarOutline, ...]


def outline_bars(bars: Iterable[Bar], known: Known, told: Told | None = None) -> list[BarOutline]:
    """Tell ``bars`` of the score in the order given; ``told`` grows by what is said."""
    told = told if told is not None else Told()
    before = {bar.number: earlier for earlier, bar in pairwise((None, *known.score.bars))}
    outlines = []
    for bar in bars:
        first = known.classes.get(bar.number, bar.number)
        said = outline_bar(
            bar,
            tuning=known.score.tuning,
            shapes=known.shapes_in(bar),
            before=before.get(bar.number),
            came=_came(known, before.get(bar.number)),
            same_as=first if first != bar.number else None,
            rating=known.ratings.get(bar.number),
            left_handed=known.left_handed,
            near=known.near.get(bar.number, ""),
            told=told.shapes,
            drilled=told.drills,
            counted=told.count,
            syllables=known.syllables,
        )
        _remember(told, bar, said, known)
        outlines.append(BarOutline(bar, tuple(said)))
    return outlines


def outline_section(section: Section, known: Known, told: Told | None = None) -> SectionOutline:
    """Tell a section: what is new in it, the shapes not yet told, its hardest bar, its bars.

    A section that repeats an earlier one is only its way in.
    """
    told = told if told is not None else Told()
    bars = [bar for bar in known.score.bars if section.first <= bar.number <= section.last]
    span = span_of(section.first, section.last)
    if section.same_as is not None:
        earlier = span_of(section.same_as, section.same_as + section.last - section.first)
        way_in = f"Practise only the way in, from bar {section.first - 1} to bar {section.first}."
        return SectionOutline(
            section,
            f"Section {section.letter}, {span}: the same as {earlier}, so nothing new to learn.",
            (way_in,) if section.first > known.score.bars[0].number else (),
            (),
        )
    new = [bar for bar in bars if known.is_new(bar)]
    head = f"Section {section.letter}, {span}: {how_new(bars, new)}."
    notes = (*shape_list(bars, known, but=told.shapes), *hardest_of(new, known.ratings, 1))
    return SectionOutline(section, head, notes, tuple(outline_bars(bars, known, told)))


def outline_sections(sections: Sequence[Section], known: Known) -> list[SectionOutline]:
    """Tell each section after the other."""
    told = Told()
    return [outline_section(section, known, told) for section in sections]


def span_of(first: int, last: int) -> str:
    """Bars in words.

    >>> span_of(3, 3), span_of(1, 4), span_of(0, 4)
    ('bar 3', 'bars 1 to 4', 'the pickup to bar 4')
    """
    if first == last:
        return f"bar {first}"
    return f"bars {first} to {last}" if first else f"the pickup to bar {last}"


def how_new(bars: Sequence[Bar], new: Sequence[Bar]) -> str:
    """How many of ``bars`` are to be learned."""
    if len(new) == len(bars):
        return "every bar is new" if len(bars) > 1 else "it is new"
    if not new:
        return "no bar is new, only the way from one to the next"
    return f"{spelled(len(new))} of {spelled(len(bars))} bars {'is' if len(new) == 1 else 'are'} new"


def shape_list(bars: Iterable[Bar], known: Known, *, but: Collection[Shape] = ()) -> list[str]:
    """The shapes of ``bars``, in one line, without those told already; no line where none is left."""
    held = [known.shapes_in(bar).get(mark.symbol) for bar in bars for mark in bar.chords]
    left = [shape for shape in dict.fromkeys(held) if shape and shape not in but]
    if not left:
        return []
    return [f"{'New shapes' if but else 'Shapes'}: {', '.join(f'{s.symbol} ({s.written})' for s in left)}."]


def hardest_of(bars: Sequence[Bar], ratings: Mapping[int, Rating], most: int) -> list[str]:
    """The hardest bars that have a hard spot, worst first, in one line."""
    rated = [(ratings[bar.number], bar) for bar in bars if bar.number in ratings]
    hard = sorted((pair for pair in rated if pair[0].worst), key=lambda pair: -pair[0].score)[:most]
    if not hard:
        return []
    spots = [f"{name_of(bar)} ({rating.score} of 10): {rating.reasons[0]}" for rating, bar in hard]
    return [f"Hardest{', worst first' * (len(spots) > 1)}: {' '.join(spots)}"]


def _came(known: Known, before: Bar | None) -> Shape | None:
    """The shape that the hand holds at the end of the bar before."""
    return known.shapes_in(before).get(before.chords[-1].symbol) if before and before.chords else None


def _remember(told: Told, bar: Bar, said: Sequence[Said], known: Known) -> None:
    topics = {one.topic: one.text for one in said}
    if known.is_new(bar):
        told.shapes |= {shape for mark in bar.chords if (shape := known.shapes_in(bar).get(mark.symbol))}
        told.count = topics.get("count", told.count)
    if "drill" in topics:
        told.drills.setdefault(known.ratings[bar.number].kinds[0], said_of(bar))

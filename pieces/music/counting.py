"""The count: what is said aloud while a bar is played.

Every count of the bar is said, and between two counts only what sounds anew, so
that a bar is subdivided as far as it needs and no further. Source: the
beat-and-subdivision counting of method books (common practice, no source).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from math import lcm
from types import MappingProxyType
from typing import Literal, NamedTuple

from pieces.music.score import Bar, Event, Meter

Kind = Literal["struck", "held", "rest"]

# How a count is written by what happens on it.
MARKS: Mapping[Kind, str] = MappingProxyType({"struck": "{}", "held": "({})", "rest": "[{}]"})
# Finer than this the hand plays by ear: nobody can say it in time.
MOST_PARTS = 24
# A syllable as a screen reader should say it, where the written one would mislead.
SPOKEN = MappingProxyType({"&": "and", "e": "ee", "a": "ah"})


class UncountableRhythm(ValueError):
    """An onset that no subdivision of the meter reaches."""


@dataclass(frozen=True, slots=True)
class Syllables:
    """A way of counting.

    ``parts`` gives for a beat in n equal parts what is said on parts 2 to n; the
    first part is the number. A division that is missing but is twice one that is
    there takes ``between`` on each new part. ``felt``: compound meters are counted
    in dotted beats (6/8 as ``1 la li 2 la li``) instead of in units (``1 2 3 4 5 6``).
    ``every_part``: a beat that is divided has all its parts written, the held ones
    in brackets.
    """

    name: str
    parts: Mapping[int, tuple[str, ...]] = field(hash=False)
    between: str = "ta"
    felt: bool = False
    every_part: bool = False

    def divide(self, parts: int) -> tuple[str, ...] | None:
        """What is said on parts 2 to ``parts`` of a beat, None where this way has no words.

        >>> BEATS_AND.divide(6)
        ('ta', 'la', 'ta', 'li', 'ta')
        """
        if parts == 1:
            return ()
        if parts in self.parts:
            return self.parts[parts]
        if parts > MOST_PARTS or parts % 2:
            return None
        coarser = self.divide(parts // 2)
        if coarser is None:
            return None
        return (*(word for said in coarser for word in (self.between, said)), self.between)


_AND = {2: ("&",), 4: ("e", "&", "a")}
_LA_LI = {3: ("la", "li")}
# Five in a beat as in takadimi, a published system (from memory).
_FIVE = {5: ("ka", "di", "mi", "ti")}

BEATS_AND = Syllables("1 & 2 &", MappingProxyType(_AND | _LA_LI | _FIVE))
SIXTEENTHS = Syllables("1 e & a", BEATS_AND.parts, every_part=True)
LA_LI = Syllables("1 la li", BEATS_AND.parts, felt=True)
AND_A = Syllables("1 & a", MappingProxyType(_AND | {3: ("&", "a")} | _FIVE), felt=True)
# The Eastman system (McHose and Tibbs), from memory.
TA_TE_TA = Syllables(
    "1 ta te ta", MappingProxyType({2: ("te",), 4: ("ta", "te", "ta")} | _LA_LI | _FIVE), felt=True
)

SYLLABLES: Mapping[str, Syllables] = MappingProxyType(
    {way.name: way for way in (BEATS_AND, SIXTEENTHS, LA_LI, AND_A, TA_TE_TA)}
)


def own_syllables(text: str, *, name: str = "", felt: bool = False) -> Syllables:
    """A teacher's own way of counting, from beats written out and parted by commas.

    Each beat starts with 1 and is divided by as many words as it has; what the
    teacher leaves out is said as in ``BEATS_AND``. Raises ValueError in plain words.

    >>> own_syllables("1 tri plet, 1 and").divide(3)
    ('tri', 'plet')
    """
    parts = dict(BEATS_AND.parts)
    for beat in filter(None, (beat.split() for beat in text.split(","))):
        if beat[0] != "1" or not 2 <= len(beat) <= MOST_PARTS:
            raise ValueError(
                f"{' '.join(beat)!r} is no beat: write 1 and the words after it, such as 1 & or 1 la li."
            )
        if any(set(word) & set("()[]|") or word.isdecimal() for word in beat[1:]):
            raise ValueError(f"{' '.join(beat)!r}: after the 1, use words without numbers or brackets.")
        parts[len(beat)] = tuple(beat[1:])
    return Syllables(name or text.strip(), MappingProxyType(parts), felt=felt)


def way_of_counting(said: str, *, felt: bool = False) -> Syllables:
    """A way of counting from what a studio keeps: the name of one in ``SYLLABLES``, or its own beats.

    ``felt`` is for own beats only; a named way knows it. Raises ValueError as ``own_syllables``.

    >>> way_of_counting("1 la li") is LA_LI, way_of_counting("1 tri plet").divide(3)
    (True, ('tri', 'plet'))
    """
    return SYLLABLES.get(said) or own_syllables(said, felt=felt)


class Count(NamedTuple):
    """One word of the count. ``onset`` as in the bar's events; ``text`` with its mark."""

    onset: Fraction
    text: str
    kind: Kind

    @property
    def said(self) -> str:
        """The word alone.

        >>> Count(Fraction(0), "(2)", "held").said
        '2'
        """
        return self.text.strip("()[]")

    @property
    def on_beat(self) -> bool:
        """Whether this is a number, not a word between two."""
        return self.said.isdecimal()


def count_bar(
    bar: Bar,
    syllables: Syllables = BEATS_AND,
    *,
    begins: Fraction | None = None,
    every_onset: bool = False,
) -> list[Count]:
    """What is said aloud in ``bar``, in order of onset.

    >>> [c.text for c in count_bar(Bar.of("4/4", "1/4 1/8 1/8 1/2"))]
    ['1', '2', '&', '3', '(4)']

    Onsets are fractions of a whole note, as those of the bar's events. A count on
    which the sound goes on is in round brackets, a count in a rest in square ones.
    ``begins`` is how far into a full bar the bar starts; without it a pickup (bar 0)
    is counted so that it ends with the bar, and every other bar from 1:

    >>> count_text(Bar.of("4/4", "1/8 1/8", number=0))
    '4 &'

    ``every_onset`` gives each event its word, also one that only holds on, as a
    typed piece needs. Raises ``UncountableRhythm`` where no subdivision of the meter
    reaches an onset.
    """
    begins = begins_at(bar) if begins is None else begins
    beat = count_unit(bar.meter, syllables)
    length = bar.length or bar.meter.length
    needed = [event.onset for event in (bar.events if every_onset else _new(bar.events))]
    counts = []
    for number in range(begins // beat, -((begins + length) // -beat)):
        starts = number * beat - begins
        places = {(onset - starts) / beat for onset in needed if starts <= onset < starts + beat}
        words = _words_between(bar, number + 1, places, syllables) | {Fraction(0): str(number + 1)}
        for place, word in sorted(words.items()):
            onset = starts + place * beat
            if 0 <= onset < length:
                kind = _kind(bar, onset)
                counts.append(Count(onset, MARKS[kind].format(word), kind))
    return counts


def count_text(bar: Bar, syllables: Syllables = BEATS_AND, *, begins: Fraction | None = None) -> str:
    """The count of ``bar`` on one line.

    >>> count_text(Bar.of("6/8", "1/4 1/8 3/8")), count_text(Bar.of("6/8", "1/4 1/8 3/8"), LA_LI)
    ('1 (2) 3 4 (5) (6)', '1 li 2')
    """
    return " ".join(count.text for count in count_bar(bar, syllables, begins=begins))


def speak_count(bar: Bar, syllables: Syllables = BEATS_AND, *, begins: Fraction | None = None) -> str:
    """The count of ``bar`` for a voice.

    >>> speak_count(Bar.of("4/4", "1/4 1/8 1/8 1/2"))
    '1, 2 and 3, hold 4'
    """
    return speak_counts(count_bar(bar, syllables, begins=begins))


def speak_counts(counts) -> str:
    """Counts for a voice: a number opens a breath unless a word leads into it.

    >>> speak_counts(count_bar(Bar.of("3/4", "3/8 1/8 1/8 1/8")))
    '1, hold 2 and 3 and'
    """
    spoken, led_in = "", True
    for count in counts:
        lead = {"struck": "", "held": "hold ", "rest": "rest "}[count.kind]
        word = lead + SPOKEN.get(count.said, count.said)
        breath = count.on_beat and not led_in
        spoken += (", " if breath else " " if spoken else "") + word
        led_in = not count.on_beat and count.kind == "struck"
    return spoken


def count_unit(meter: Meter, syllables: Syllables = BEATS_AND) -> Fraction:
    """What one number of the count lasts.

    >>> count_unit(Meter(6, 8)), count_unit(Meter(6, 8), LA_LI), count_unit(Meter(7, 8), LA_LI)
    (Fraction(1, 8), Fraction(3, 8), Fraction(1, 8))
    """
    return meter.beat if syllables.felt else Fraction(1, meter.unit)


def begins_at(bar: Bar) -> Fraction:
    """How far into a full bar ``bar`` starts: a pickup ends where a full bar ends."""
    return max(bar.meter.length - bar.length, Fraction(0)) if bar.is_pickup else Fraction(0)


def count_at(bar: Bar, onset: Fraction, syllables: Syllables = BEATS_AND) -> str:
    """How a teacher points at a moment of ``bar``: the number and the word within it.

    >>> count_at(Bar.of("4/4", "1/4 1/8 1/8 1/2"), Fraction(3, 8))
    '2 &'
    """
    number = ""
    place = ""
    for count in count_bar(bar, syllables):
        if count.onset > onset:
            break
        number, place = (count.said, "") if count.on_beat else (number, count.said)
    return f"{number} {place}".strip()


def _new(events: tuple[Event, ...]) -> list[Event]:
    """The events on which something changes for the ear: a note is struck, or silence begins."""
    return [
        event
        for before, event in zip((None, *events), events, strict=False)
        if event.struck or (event.is_rest and not (before and before.is_rest))
    ]


def _words_between(bar: Bar, number: int, places: set[Fraction], syllables: Syllables) -> dict[Fraction, str]:
    """The words said within one beat, by their place in it (0 to 1)."""
    cut = _parts(places)
    in_halves = Fraction(1, 2) in places and cut not in syllables.parts
    threefold = syllables.felt and bar.meter.compound
    words = _words_of_halves(places, syllables) if in_halves and not threefold else _words_of(cut, syllables)
    if words is None:
        raise UncountableRhythm(
            f"Bar {bar.number}: count {number} would have to be cut into {cut} parts, and there are no"
            f" words for that. Write it in simpler notes, or give your own words for {cut}."
        )
    return words if syllables.every_part else {place: words[place] for place in places if place}


def _parts(places) -> int:
    """Into how many equal parts a beat is cut so that each place is the start of one."""
    return lcm(*(place.denominator for place in places))


def _words_of(parts: int, syllables: Syllables) -> dict[Fraction, str] | None:
    words = syllables.divide(parts)
    return None if words is None else {Fraction(i, parts): word for i, word in enumerate(words, start=1)}


def _words_of_halves(places: set[Fraction], syllables: Syllables) -> dict[Fraction, str] | None:
    """The words of a beat whose halves are cut differently: ``1 & la li``.

    A half with a triplet in it is said as a small beat; the other keeps the words it
    has in the whole beat.
    """
    half = Fraction(1, 2)
    spoken = _words_of(2, syllables)
    for starts in (Fraction(0), half):
        cut = _parts((place - starts) * 2 for place in places if starts <= place < starts + half)
        if cut in (1, 2, 4, 8):
            inner = _words_of(2 * cut, syllables)
        else:
            small = _words_of(cut, syllables)
            inner = None if small is None else {starts + place / 2: word for place, word in small.items()}
        if inner is None:
            return None
        spoken |= {place: word for place, word in inner.items() if starts < place < starts + half}
    return spoken


def _kind(bar: Bar, onset: Fraction) -> Kind:
    """What happens at ``onset``: something is struck, sounds on, or is silent."""
    for event in bar.events:
        if event.onset <= onset < event.end:
            if event.is_rest:
                return "rest"
            return "struck" if event.onset == onset and event.struck else "held"
    return "rest"

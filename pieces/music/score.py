"""A piece as a value: bars of events on strings, in exact time.

All times are ``fractions.Fraction`` of a whole note; onsets count from the
barline. Every other room of the house reads a ``Score`` and none changes one:
all of these are frozen, and ``dataclasses.replace`` makes the next.
"""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, NamedTuple

from pieces.music.tuning import TUNINGS, Tuning

Join = Literal["", "hammer", "pull", "slide"]
Stroke = Literal["", "down", "up"]


class Meter(NamedTuple):
    """A time signature.

    >>> Meter(6, 8).compound, Meter(6, 8).beat, Meter(3, 4).beat
    (True, Fraction(3, 8), Fraction(1, 4))
    """

    beats: int
    unit: int

    @classmethod
    def parse(cls, text: str) -> "Meter":
        """Read ``"3/4"``. Raises ValueError on anything that is no time signature."""
        beats, slash, unit = text.strip().partition("/")
        if not (slash and beats.isdecimal() and unit.isdecimal()):
            raise ValueError(f"{text!r} is no time signature; write it as 4/4, 3/4 or 6/8.")
        meter = cls(int(beats), int(unit))
        if not 1 <= meter.beats <= 32 or meter.unit not in (1, 2, 4, 8, 16, 32):
            raise ValueError(f"{text!r} is no time signature; write it as 4/4, 3/4 or 6/8.")
        return meter

    def __str__(self) -> str:
        return f"{self.beats}/{self.unit}"

    @property
    def length(self) -> Fraction:
        """Length of a full bar."""
        return Fraction(self.beats, self.unit)

    @property
    def compound(self) -> bool:
        """Whether the felt beat is dotted: 6/8, 9/8, 12/8, but not 3/8 or 3/4."""
        return self.unit >= 8 and self.beats > 3 and self.beats % 3 == 0

    @property
    def beat(self) -> Fraction:
        """Length of one metronome beat: the unit, or three units in compound meters."""
        return Fraction(3 if self.compound else 1, self.unit)


COMMON_TIME = Meter(4, 4)


@dataclass(frozen=True, slots=True)
class Note:
    """One string struck (or still sounding) at a moment.

    ``string`` and ``fret`` are None while staff music is not yet set on strings.
    ``pitch`` is the sounding MIDI number, None for a muted stroke. ``finger`` is
    the left hand's 1-4 (None: not written). ``pick`` is the picking hand's p, i, m
    or a ("": not written). ``tied``: held from the event before, not struck again.
    ``join`` says how the note is reached from the one before on its string.
    ``length`` is how long it sounds where that differs from the event's duration.
    """

    pitch: int | None
    string: int | None = None
    fret: int | None = None
    finger: int | None = None
    pick: Literal["", "p", "i", "m", "a"] = ""
    tied: bool = False
    muted: bool = False
    harmonic: bool = False
    join: Join = ""
    length: Fraction | None = None

    @classmethod
    def at(cls, tuning: Tuning, string: int, fret: int, **more) -> "Note":
        """The note at ``fret`` of ``string``."""
        return cls(tuning.pitch(string, fret), string, fret, **more)


@dataclass(frozen=True, slots=True)
class Event:
    """One moment of playing, or a rest where ``notes`` is empty.

    Notes stand from the highest string number to string 1. ``grace`` holds the
    notes squeezed in before the beat, each a single note. ``stroke`` is the strum
    direction. ``tuplet`` is (actual, normal), (3, 2) for a triplet, or None.
    ``lyric`` is the syllable sung here.
    """

    onset: Fraction
    duration: Fraction
    notes: tuple[Note, ...] = ()
    stroke: Stroke = ""
    accent: bool = False
    grace: tuple[Note, ...] = ()
    tuplet: tuple[int, int] | None = None
    lyric: str = ""

    @property
    def end(self) -> Fraction:
        return self.onset + self.duration

    @property
    def is_rest(self) -> bool:
        return not self.notes

    @property
    def struck(self) -> tuple[Note, ...]:
        """The notes that are played anew here: all but those held by a tie."""
        return tuple(note for note in self.notes if not note.tied)

    @property
    def is_held(self) -> bool:
        """Whether everything here only sounds on from before."""
        return bool(self.notes) and not self.struck


class ChordMark(NamedTuple):
    """A chord symbol written above a moment of a bar."""

    onset: Fraction
    symbol: str


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar. Its events, in order of onset, tile it without gap where it adds up.

    ``number`` counts from 1; a pickup is bar 0. ``meter`` is the time signature in
    force. ``opens_repeat``/``repeats`` are the signs at its two ends: ``repeats``
    is how often the passage is played (0: no sign). ``endings`` are the passes in
    which a bracketed bar is played. ``letter`` is a section letter above its start.
    ``line_break``: the next bar starts a new line where the piece was typed so.
    ``key`` is a change of key at its start, written like ``Score.key``; "" for none.
    """

    number: int
    meter: Meter
    events: tuple[Event, ...]
    chords: tuple[ChordMark, ...] = ()
    letter: str = ""
    opens_repeat: bool = False
    repeats: int = 0
    endings: tuple[int, ...] = ()
    line_break: bool = False
    remark: str = ""
    key: str = ""

    @property
    def length(self) -> Fraction:
        """Time from the barline to the end of the last event."""
        return max((event.end for event in self.events), default=Fraction(0))

    @property
    def is_pickup(self) -> bool:
        return self.number == 0

    @classmethod
    def of(cls, meter: str, durations: str, number: int = 1) -> "Bar":
        """A bar of one open string in the given rhythm, for worked examples.

        >>> Bar.of("3/4", "1/4 1/2").length
        Fraction(3, 4)
        """
        onset, events = Fraction(0), []
        for text in durations.split():
            duration = Fraction(text)
            events.append(Event(onset, duration, (Note(69, 1, 0),)))
            onset += duration
        return cls(number, Meter.parse(meter), tuple(events))


@dataclass(frozen=True, slots=True)
class Score:
    """A whole piece. ``tempo`` is in beats of its first meter a minute, None if not given.

    ``key`` is a tonic as written, with ``m`` for minor ("C", "F#m"); "" if not given.
    """

    title: str = ""
    tuning: Tuning = TUNINGS["ukulele high G"]
    meter: Meter = COMMON_TIME
    bars: tuple[Bar, ...] = ()
    key: str = ""
    tempo: int | None = None
    credit: str = ""
    remarks: tuple[str, ...] = field(default=())

    def bar(self, number: int) -> Bar:
        """The bar of that number. Raises KeyError where there is none."""
        for bar in self.bars:
            if bar.number == number:
                return bar
        raise KeyError(number)

    @property
    def is_set(self) -> bool:
        """Whether every sounding note has its string and fret."""
        return all(n.string is not None for b in self.bars for e in b.events for n in e.notes)


@dataclass(frozen=True, slots=True)
class Problem:
    """Something wrong in what was typed or brought, in the user's words.

    ``line`` and ``column`` count from 1 and are 0 where a file has none; ``bar`` is
    the bar's number or None. ``remedy`` says what would be right. ``fatal``: the
    piece cannot be read until it is mended.
    """

    message: str
    remedy: str = ""
    line: int = 0
    column: int = 0
    bar: int | None = None
    fatal: bool = True

    def __str__(self) -> str:
        place = [f"line {self.line}"] if self.line else []
        place += [f"column {self.column}"] if self.column else []
        place += [f"bar {self.bar}"] if self.bar is not None else []
        head = ", ".join(place)
        text = f"{head[:1].upper()}{head[1:]}: {self.message}" if head else self.message
        return f"{text} {self.remedy}".strip()


class UnreadableScore(ValueError):
    """What was typed or brought cannot be read; ``problems`` lists every reason."""

    def __init__(self, problems):
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

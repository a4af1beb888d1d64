"""The tune of a piece, note by note, with the beats and chords it runs over.

Times called ``at`` or ``start`` count from the start of the piece, onsets from the
barline; all are fractions of a whole note.
"""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from pieces.music.chords import UnknownChord, chord_tones
from pieces.music.counting import begins_at
from pieces.music.score import Bar, ChordMark, Event, Score

Symbols = Mapping[int, Sequence[ChordMark]]


class Tone(NamedTuple):
    """A melody note: places of its bar and event from 0, its time, and its pitch.

    ``tied``: it only sounds on from the note before.
    """

    bar: int
    event: int
    at: Fraction
    onset: Fraction
    duration: Fraction
    pitch: int
    tied: bool


class Harmony(NamedTuple):
    """A chord from ``at`` on. ``tones`` are pitch classes, root first; empty where no chord is read."""

    at: Fraction
    symbol: str
    tones: tuple[int, ...]


def bar_starts(score: Score) -> list[Fraction]:
    """When each bar starts."""
    starts, at = [], Fraction(0)
    for bar in score.bars:
        starts.append(at)
        at += bar.length
    return starts


def top_note(event: Event):
    """The highest sounding note of an event, or None in a rest or a muted stroke."""
    sounding = [note for note in event.notes if note.pitch is not None]
    return max(sounding, key=lambda note: note.pitch, default=None)


def tones_of(score: Score) -> list[Tone]:
    """The tune: the highest note of every event that sounds.

    >>> [tone.pitch for tone in tones_of(Score(bars=(Bar.of("3/4", "1/4 1/2"),)))]
    [69, 69]
    """
    found = []
    for at, (bar, start) in enumerate(zip(score.bars, bar_starts(score), strict=True)):
        for place, event in enumerate(bar.events):
            note = top_note(event)
            if note:
                found.append(
                    Tone(at, place, start + event.onset, event.onset, event.duration, note.pitch, note.tied)
                )
    return found


def strong_beats(bar: Bar) -> tuple[Fraction, ...]:
    """Onsets in ``bar`` of the beats that carry the harmony.

    The first of two or three beats, every second of four, both of 6/8 and of 2/2,
    the first and fourth of five. A pickup ends at its barline. (Common practice, no
    source.)

    >>> strong_beats(Bar.of("4/4", "1")), strong_beats(Bar.of("3/4", "3/4"))
    ((Fraction(0, 1), Fraction(1, 2)), (Fraction(0, 1),))
    """
    meter = bar.meter
    beats = int(meter.length / meter.beat)
    if beats == 5:
        strong = [0, 3]
    elif beats == 2 and (meter.compound or meter.unit == 2):
        strong = [0, 1]
    else:
        strong = list(range(0, beats, 2)) if beats % 2 == 0 else [0]
    onsets = (beat * meter.beat - begins_at(bar) for beat in strong)
    return tuple(onset for onset in onsets if 0 <= onset < bar.length)


def harmonies_of(score: Score, symbols: Symbols | None = None) -> list[Harmony]:
    """The chords in order of time: ``symbols`` by bar number, or those written in the score.

    A symbol that names no chord (``N.C.`` among them) stands with no tones, so that
    nothing is put beneath it.
    """
    found = []
    for bar, start in zip(score.bars, bar_starts(score), strict=True):
        marks = bar.chords if symbols is None else symbols.get(bar.number, ())
        for mark in sorted(marks):
            found.append(Harmony(start + mark.onset, mark.symbol, _tones(mark.symbol)))
    return found


def harmony_at(harmonies: Sequence[Harmony], at: Fraction) -> Harmony | None:
    """The chord in force at ``at``, None before the first."""
    place = bisect_right(harmonies, at, key=lambda harmony: harmony.at)
    return harmonies[place - 1] if place else None


def _tones(symbol: str) -> tuple[int, ...]:
    try:
        return chord_tones(symbol)
    except UnknownChord:
        return ()

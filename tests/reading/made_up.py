"""Scores made up at random by Hypothesis, with everything that a file can carry."""

from dataclasses import replace
from fractions import Fraction

from hypothesis import assume
from hypothesis import strategies as st

from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.tuning import TUNINGS

SYMBOLS = ("C", "Am7", "F#m7b5", "Bb/D", "G7sus4", "Ebmaj7", "D7#9", "A-7", "Caug")
KEYS = ("", "C", "G", "F", "Eb", "F#m", "Bbm", "Am")
LENGTHS = [Fraction(text) for text in ("1/4", "1/8", "3/8", "1/16", "1/2", "3/16", "5/16", "7/16")]


@st.composite
def scores(draw, unisons: bool = True):
    """A score set on strings. ``unisons``: whether one pitch may sound on two strings at once."""
    tuning = TUNINGS[draw(st.sampled_from(sorted(TUNINGS)))]
    meter = draw(st.sampled_from([Meter(4, 4), Meter(3, 4), Meter(6, 8), Meter(2, 2)]))
    pickup = draw(st.booleans())
    count = draw(st.integers(2, 4))
    bars, before = [], None
    for at in range(count):
        length = Fraction(1, 4) if pickup and at == 0 else meter.length
        events = draw(_events(tuning, length, before, unisons))
        before = events[-1]
        bars.append(Bar(at + (0 if pickup else 1), meter, events, chords=draw(_chords(length))))
    assume(any(note.pitch is not None for bar in bars for event in bar.events for note in event.notes))
    bars = draw(_signs(bars))
    return Score(
        title=draw(st.sampled_from(["", "Two Lanterns", "Träume & Tänze"])),
        tuning=tuning,
        meter=meter,
        bars=tuple(bars),
        key=draw(st.sampled_from(KEYS)),
        tempo=draw(st.sampled_from([None, 60, 76, 120])),
    )


@st.composite
def _events(draw, tuning, length, before, unisons):
    events, at = [], Fraction(0)
    ringing: dict[int, Fraction] = {}
    while at < length:
        left = length - at
        if left >= Fraction(1, 4) and at.denominator in (1, 2, 4) and draw(st.integers(0, 7)) == 0:
            for _ in range(3):
                free = _free(tuning, ringing, at)
                notes = draw(_notes(tuning, free, unisons))
                events.append(Event(at, Fraction(1, 12), notes, tuplet=(3, 2)))
                at += Fraction(1, 12)
            continue
        duration = min(left, draw(st.sampled_from(LENGTHS)))
        last = events[-1] if events else before
        notes = draw(_notes(tuning, _free(tuning, ringing, at), unisons))
        if last and last.notes and not last.tuplet and draw(st.integers(0, 6)) == 0:
            notes = tuple(replace(n, tied=True, finger=None, pick="") for n in last.notes if n.length is None)
            notes = tuple(n for n in notes if ringing.get(n.string, at) <= at)
        elif notes and duration < left and draw(st.integers(0, 4)) == 0:
            longer = min(left, duration + Fraction(1, 8))
            notes = (replace(notes[0], length=longer), *notes[1:])
            ringing[notes[0].string] = at + longer
        events.append(Event(at, duration, notes))
        at += duration
    if not unisons:
        events = _without_unisons(events)
    return tuple(events)


def _free(tuning, ringing, at):
    return [string for string in tuning.strings if ringing.get(string, at) <= at]


@st.composite
def _notes(draw, tuning, strings, unisons):
    if not strings or draw(st.integers(0, 6)) == 0:
        return ()
    chosen = draw(st.lists(st.sampled_from(strings), min_size=1, max_size=3, unique=True))
    return tuple(
        Note.at(
            tuning,
            string,
            draw(st.integers(0, 12)),
            finger=draw(st.sampled_from([None, 1, 2, 3, 4])),
            pick=draw(st.sampled_from(["", "p", "i", "m", "a"])),
        )
        for string in sorted(chosen, reverse=True)
    )


def _without_unisons(events):
    """ABC has one sound a pitch: a second string at the pitch of one that sounds is left out."""
    kept, sounding = [], {}
    for event in events:
        notes = []
        for note in event.notes:
            if sounding.get(note.pitch, (event.onset, None))[0] <= event.onset:
                notes.append(note)
                sounding[note.pitch] = (event.onset + (note.length or event.duration), note.string)
        kept.append(replace(event, notes=tuple(notes)))
    return kept


@st.composite
def _chords(draw, length):
    places = draw(
        st.lists(st.sampled_from([Fraction(0), Fraction(1, 8), Fraction(1, 4)]), max_size=2, unique=True)
    )
    return tuple(ChordMark(at, draw(st.sampled_from(SYMBOLS))) for at in sorted(places) if at < length)


@st.composite
def _signs(draw, bars):
    if draw(st.booleans()):
        return bars
    first, last = (1 if bars[0].is_pickup else 0), len(bars) - 1
    bars = list(bars)
    bars[first] = replace(bars[first], opens_repeat=True)
    if last > first and draw(st.booleans()):
        bars[last - 1] = (
            replace(bars[last - 1], endings=(1,), repeats=2) if last - 1 > first else bars[last - 1]
        )
        bars[last] = replace(bars[last], endings=(2,)) if last - 1 > first else replace(bars[last], repeats=2)
    else:
        bars[last] = replace(bars[last], repeats=draw(st.sampled_from([2, 3])))
    return bars

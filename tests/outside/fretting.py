"""Whether an arrangement keeps its promises, judged from the written notes alone."""

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from pieces.music.chords import UnknownChord, chord_tones
from pieces.music.score import Score

REACH = 4  # frets between the lowest and the highest finger


class Sounding(NamedTuple):
    """One struck note with the time in which it sounds, from the start of the piece."""

    start: Fraction
    end: Fraction
    pitch: int
    string: int
    fret: int
    finger: int | None


def faults(arranged: Score, melody: Score) -> Iterator[str]:
    """Everything in ``arranged`` that breaks a promise made for an arrangement of ``melody``."""
    tune, chords = list(_tune(melody)), list(_chords(arranged))
    notes = list(_soundings(arranged))
    for number, (note, string_fret) in enumerate(_pitches(arranged)):
        if note != string_fret:
            yield f"note {number} is written as {note} but sounds {string_fret}"
    for at in sorted({note.start for note in notes}):
        here = [note for note in notes if note.start <= at < note.end]
        where = f"at {at}"
        wanted = next((pitch for start, end, pitch in tune if start <= at < end), None)
        top = max(here, key=lambda note: note.pitch)
        if top.pitch != wanted:
            yield f"{where}: the highest note is {top.pitch}, the tune has {wanted}"
        beneath = [note for note in here if note is not top]
        tones = next((tones for start, tones in reversed(chords) if start <= at), ())
        for note in beneath:
            if note.pitch >= top.pitch or note.pitch % 12 not in tones:
                yield f"{where}: {note.pitch} is beneath {top.pitch} over {tones}"
        yield from (f"{where}: {fault}" for fault in _hand_faults(here))


def _hand_faults(here: list[Sounding]) -> Iterator[str]:
    if len({note.string for note in here}) < len(here):
        yield "a string sounds twice"
    stopped = [note for note in here if note.fret]
    if any(not note.finger for note in stopped):
        yield "a stopped note has no finger"
    if stopped and max(n.fret for n in stopped) - min(n.fret for n in stopped) > REACH:
        yield "the hand opens too wide"
    for finger in {note.finger for note in stopped}:
        held = [note for note in stopped if note.finger == finger]
        if len({note.fret for note in held}) > 1:
            yield f"finger {finger} is in two places"
        across = range(min(n.string for n in held), max(n.string for n in held) + 1)
        if any(note.string in across and note.fret < held[0].fret for note in here):
            yield f"finger {finger} lies across a string that sounds lower"
    for low in stopped:
        for high in stopped:
            if low.finger < high.finger and low.fret > high.fret:
                yield f"finger {low.finger} stands above finger {high.finger}"


def _soundings(score: Score) -> Iterator[Sounding]:
    ends: dict[int, Sounding] = {}
    start = Fraction(0)
    for bar in score.bars:
        for event in bar.events:
            at = start + event.onset
            for note in event.notes:
                end = at + (event.duration if note.length is None else note.length)
                if note.tied:
                    ends[note.string] = ends[note.string]._replace(end=end)
                    continue
                if note.string in ends:
                    yield ends.pop(note.string)
                ends[note.string] = Sounding(at, end, note.pitch, note.string, note.fret, note.finger)
        start += bar.length
    yield from ends.values()


def _tune(melody: Score) -> Iterator[tuple[Fraction, Fraction, int]]:
    start = Fraction(0)
    for bar in melody.bars:
        for event in bar.events:
            if event.notes:
                pitch = max(note.pitch for note in event.notes)
                yield start + event.onset, start + event.end, pitch
        start += bar.length


def _chords(score: Score) -> Iterator[tuple[Fraction, tuple[int, ...]]]:
    start = Fraction(0)
    for bar in score.bars:
        for mark in bar.chords:
            try:
                yield start + mark.onset, chord_tones(mark.symbol)
            except UnknownChord:
                yield start + mark.onset, ()
        start += bar.length


def _pitches(score: Score) -> Iterator[tuple[int, int]]:
    for bar in score.bars:
        for event in bar.events:
            for note in event.notes:
                yield note.pitch, score.tuning.pitch(note.string, note.fret)

"""MIDI into a score: events by music21, bars and a grid by our own count.

Source: Standard MIDI Files 1.0. MIDI knows no written note lengths, so onsets and
ends are moved to a grid; the grid that fits is found unless one is given.
"""

import bisect
import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from music21 import midi

from pieces.music.keys import key_of
from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Problem, Score
from pieces.reading.barring import numbered, one_line
from pieces.reading.refusals import MOST_BARS, MOST_NOTES, refused

# Parts of a whole note that a grid may have, coarsest first; threes are triplets, fives quintuplets.
GRIDS = (4, 8, 12, 16, 24, 32, 48, 64, 96, 192, 240, 480)
COARSEST_SURE = 16
_TOLERANCE = Fraction(1, 200)  # of a whole note: what counts as on the grid
_PERCUSSION = 10
_SYMBOL = re.compile(r"[A-G](##|bb|#|b)?(maj|min|m|M|dim|aug|sus|add|[0-9+°ø#b()-])*(/[A-G][#b]?)?\Z")


@dataclass
class _Part:
    name: str = ""
    notes: list[tuple[int, int, int, int]] = field(
        default_factory=list
    )  # (start, end, pitch, channel) in ticks


@dataclass
class _Read:
    """What the file holds, in ticks."""

    quarter: int
    tracks: int
    parts: dict[tuple[int, int], _Part] = field(default_factory=lambda: defaultdict(_Part))
    meters: list[tuple[int, Meter]] = field(default_factory=list)
    keys: list[tuple[int, str]] = field(default_factory=list)
    tempo: float | None = None
    title: str = ""
    chords: list[tuple[int, str]] = field(default_factory=list)
    lyrics: dict[int, str] = field(default_factory=dict)


def read_midi(
    data: bytes, part: int | None, grid: Fraction | None
) -> tuple[Score, list[Problem], list[str], dict]:
    """Score, problems, names of the parts, and ``{"grid": "1/16"}`` as it was used.

    Raises ``UnreadableScore`` where there is nothing to read.
    """
    read = _events(data)
    parts = [p for key, p in sorted(read.parts.items()) if p.notes and key[1] != _PERCUSSION]
    if not parts:
        raise refused("There are no notes in this MIDI file, or only drums.", "Choose another file.")
    if part is not None and not 0 <= part < len(parts):
        raise refused(f"There is no part {part + 1} in this file.", "Choose one of its parts.")
    chosen = parts[part or 0]
    fitting = grid or _fitting_grid(chosen.notes, read.quarter)
    notes, moved = _on_grid(chosen.notes, read.quarter, fitting)
    bars = _bars(notes, read, fitting)
    score = Score(
        title=read.title or chosen.name,
        meter=bars[0].meter,
        bars=bars,
        key=next((name for _, name in read.keys), ""),
        tempo=_tempo(read, bars[0].meter),
    )
    names = [p.name or f"Track {i + 1}" for i, p in enumerate(parts)]
    return score, _moved_problems(moved, fitting), names, {"grid": str(fitting)}


def _events(data: bytes) -> _Read:
    file = midi.MidiFile()
    file.readstr(data)
    read = _Read(file.ticksPerQuarterNote, len(file.tracks))
    count = 0
    for number, track in enumerate(file.tracks):
        at, name, sounding = 0, "", defaultdict(list)
        for event in track.events:
            if event.isDeltaTime():
                at += event.time
                continue
            count += event.isNoteOn()
            if count > MOST_NOTES:
                raise refused(f"This piece has more than {MOST_NOTES:,} notes.", "Bring it in parts.")
            if event.isNoteOn():
                sounding[event.channel, event.pitch].append(at)
            elif event.isNoteOff():
                _end_note(read, number, sounding, event, at)
            else:
                name = _read_meta(read, event, at, number, name)
        for key, part in read.parts.items():
            if key[0] == number:
                part.name = name
    return read


def _end_note(read: _Read, track: int, sounding, event, at: int) -> None:
    waiting = sounding[event.channel, event.pitch]
    if waiting:
        start = waiting.pop(0)
        if at > start:
            # One track is one part, whatever its channels; in a file of one track a channel is.
            part = event.channel if read.tracks == 1 or event.channel == _PERCUSSION else 0
            read.parts[track, part].notes.append((start, at, event.pitch, event.channel))


def _read_meta(read: _Read, event, at: int, track: int, name: str) -> str:
    """Take in a meta event; returns the name of the track as far as it is known."""
    kind, data = event.type, event.data
    meta = midi.MetaEvents
    if kind == meta.SEQUENCE_TRACK_NAME:
        name = name or _text(data)
        if track == 0:
            read.title = read.title or name
    elif kind == meta.TIME_SIGNATURE and len(data) >= 2:
        if 1 <= data[0] <= 32 and data[1] <= 5:
            read.meters.append((at, Meter(data[0], 2 ** data[1])))
    elif kind == meta.KEY_SIGNATURE and len(data) >= 2:
        signature = data[0] - 256 if data[0] > 127 else data[0]
        if -7 <= signature <= 7:
            read.keys.append((at, key_of(signature, data[1] == 1)))
    elif kind == meta.SET_TEMPO and len(data) == 3 and read.tempo is None:
        read.tempo = 60_000_000 / max(1, int.from_bytes(data, "big"))
    elif kind in (meta.TEXT_EVENT, meta.MARKER):
        if _SYMBOL.match(_text(data)):
            read.chords.append((at, _text(data)))
    elif kind == meta.LYRIC:
        read.lyrics.setdefault(at, _text(data)[:60])
    return name


def _text(data) -> str:
    if isinstance(data, str):
        return data.strip()[:200]
    raw = bytes(data or b"")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    return "".join(c for c in text if c.isprintable()).strip()[:200]


def _fitting_grid(notes: Iterable[tuple[int, int, int, int]], quarter: int) -> Fraction:
    """The coarsest grid on which every onset and end lies; else every onset; else sixteenths."""
    whole = 4 * quarter
    onsets = {start for start, *_ in notes}
    every = onsets | {end for _, end, *_ in notes}
    for ticks in (every, onsets):
        for parts in GRIDS:
            if all(_distance(t, whole, parts) <= max(_TOLERANCE / 4, Fraction(1, whole)) for t in ticks):
                return Fraction(1, parts)
        for parts in GRIDS[:5]:
            if all(_distance(t, whole, parts) <= _TOLERANCE for t in ticks):
                return Fraction(1, parts)
    return Fraction(1, COARSEST_SURE)


def _distance(tick: int, whole: int, parts: int) -> Fraction:
    place = Fraction(tick * parts, whole)
    return abs(place - round(place)) / parts


def _on_grid(notes, quarter: int, grid: Fraction) -> tuple[list[tuple[Fraction, Fraction, int]], Fraction]:
    """Notes in whole notes on the grid, and the furthest that an onset was moved.

    An end that is off the grid, as hands leave it, is drawn on to the next onset
    where that is near; an end on the grid is a written rest and stays.
    """
    whole = 4 * quarter
    onsets = sorted({_snap(Fraction(start, whole), grid) for start, *_ in notes})
    placed, moved = {}, Fraction(0)
    for start, end, pitch, channel in notes:
        onset = _snap(Fraction(start, whole), grid)
        moved = max(moved, abs(onset - Fraction(start, whole)))
        until = max(_snap(Fraction(end, whole), grid), onset + grid)
        following = bisect.bisect_right(onsets, onset)
        if following < len(onsets) and abs(until - Fraction(end, whole)) > _TOLERANCE / 4:
            gap = onsets[following] - Fraction(end, whole)
            if abs(gap) <= (onsets[following] - onset) / 4:
                until = onsets[following]
        spot = (onset, pitch, channel)
        placed[spot] = max(until, placed.get(spot, until))
    return sorted((onset, until, pitch) for (onset, pitch, _), until in placed.items()), moved


def _snap(time: Fraction, grid: Fraction) -> Fraction:
    return round(time / grid) * grid


def _bars(notes, read: _Read, grid: Fraction) -> tuple[Bar, ...]:
    end = max(until for _, until, _ in notes)
    lines = _barlines(read, end)
    whole = 4 * read.quarter
    starts = [start for start, _ in lines]
    voices: list[list[list[Event]]] = [[] for _ in lines]
    for onset, until, pitch in notes:
        at, tied = bisect.bisect_right(starts, onset) - 1, False
        while onset < until:
            stop = min(until, starts[at + 1] if at + 1 < len(lines) else until)
            event = Event(
                onset - starts[at], stop - onset, (Note(pitch, tied=tied),), tuplet=_tuplet(stop - onset)
            )
            voices[at].append([event])
            onset, at, tied = stop, at + 1, True
    chords, lyrics, keys = (
        _by_bar(read.chords, starts, whole, grid),
        read.lyrics,
        dict(_keys(read, starts, whole)),
    )
    bars = []
    for at, (start, meter) in enumerate(lines):
        rest = [Event(Fraction(0), meter.length)]
        events = one_line([*voices[at], rest], join_unisons=False) if voices[at] else tuple(rest)
        sung = {_snap(Fraction(t, whole), grid) - start: text for t, text in lyrics.items()}
        events = tuple(replace(e, lyric=sung.get(e.onset, "")) if e.struck else e for e in events)
        bars.append(Bar(at + 1, meter, events, chords.get(at, ()), key=keys.get(at, "") if at else ""))
    return numbered(_as_pickup(bars))


def _barlines(read: _Read, end: Fraction) -> list[tuple[Fraction, Meter]]:
    """Where each bar begins, in whole notes, and its meter."""
    whole = 4 * read.quarter
    changes = sorted({Fraction(t, whole): m for t, m in read.meters}.items())
    now, at, lines = Meter(4, 4), Fraction(0), []
    while at < end or not lines:
        while changes and changes[0][0] <= at:
            now = changes.pop(0)[1]
        lines.append((at, now))
        at += now.length
        if len(lines) > MOST_BARS:
            raise refused(f"This piece has more than {MOST_BARS:,} bars.", "Bring it in parts.")
    return lines


def _as_pickup(bars: list[Bar]) -> list[Bar]:
    """A first bar shorter than the meter after it is a pickup, as programs write one."""
    if (
        len(bars) > 1
        and bars[0].meter.length < bars[1].meter.length
        and (len(bars) < 3 or bars[2].meter == bars[1].meter)
    ):
        bars[0] = replace(bars[0], meter=bars[1].meter)
    return bars


def _by_bar(
    chords, starts: Sequence[Fraction], whole: int, grid: Fraction
) -> dict[int, tuple[ChordMark, ...]]:
    found: dict[int, dict[Fraction, str]] = defaultdict(dict)
    for tick, symbol in chords:
        time = _snap(Fraction(tick, whole), grid)
        at = bisect.bisect_right(starts, time) - 1
        found[at][time - starts[at]] = symbol
    return {at: tuple(ChordMark(*item) for item in sorted(marks.items())) for at, marks in found.items()}


def _keys(read: _Read, starts: Sequence[Fraction], whole: int) -> Iterable[tuple[int, str]]:
    before = ""
    for tick, name in read.keys:
        if name != before:
            yield bisect.bisect_right(starts, Fraction(tick, whole)) - 1, name
        before = name


def _tuplet(duration: Fraction) -> tuple[int, int] | None:
    if duration.denominator % 3 == 0:
        return (3, 2)
    return (5, 4) if duration.denominator % 5 == 0 else None


def _tempo(read: _Read, meter: Meter) -> int | None:
    if read.tempo is None:
        return None
    beats = round(read.tempo / float(meter.beat * 4))
    return beats if 10 <= beats <= 400 else None


def _moved_problems(moved: Fraction, grid: Fraction) -> list[Problem]:
    if moved <= _TOLERANCE:
        return []
    return [
        Problem(
            f"The notes were played freely and have been set to the nearest {grid} of a whole note.",
            "Compare the rhythm with the paper, or choose a finer or coarser grid.",
            fatal=False,
        )
    ]

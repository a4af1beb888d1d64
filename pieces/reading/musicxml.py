"""MusicXML into a score: the notes by music21, the hands by ``musicxml_marks``.

Takes text that has passed the guard, and runs in the child process only.
"""

import contextlib
import io
import re
from collections.abc import Iterator
from fractions import Fraction
from xml.etree import ElementTree

from music21 import (
    bar,
    chord,
    converter,
    expressions,
    harmony,
    key,
    meter,
    note,
    repeat,
    spanner,
    stream,
    tempo,
)

from pieces.music.keys import key_of, transpose_key, transpose_symbol
from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Problem, Score
from pieces.music.tuning import TUNINGS, Tuning
from pieces.reading.barring import numbered, one_line, stacked, sum_problems
from pieces.reading.musicxml_marks import BarMarks, Frame, PartMarks, read_marks
from pieces.reading.refusals import refused

# Read by musicxml_marks, or only drawn. music21 10.5.1 stumbles over some of it (an octave-change
# without diatonic, a frame) and takes its time over the rest.
_NOT_FOR_MUSIC21 = frozenset((
    "transpose", "harmony", "technical", "articulations", "ornaments", "dynamics", "slur", "slide",
    "glissando", "fermata", "arpeggiate", "staff-details", "measure-style", "print", "credit",
    "defaults", "beam", "stem", "notehead", "accidental", "figured-bass", "listening",
    "score-instrument", "midi-instrument", "midi-device", "instrument", "play", "wedge", "dashes",
    "bracket", "pedal",
))  # fmt: skip
_STAFF = re.compile(r"-Staff(\d+)\Z")


def read_musicxml(text: str, part: int | None) -> tuple[Score, list[Problem], list[str], dict]:
    """Score, problems, names of the parts, and ``{"frames": ...}`` of one part (the first if None).

    Raises ``UnreadableScore`` where there is nothing to read.
    """
    root = ElementTree.fromstring(text)
    marks = read_marks(root)
    _drop(root, _NOT_FOR_MUSIC21)
    with contextlib.redirect_stderr(io.StringIO()), contextlib.redirect_stdout(io.StringIO()):
        whole = converter.parseData(ElementTree.tostring(root, encoding="unicode"), format="musicxml")
    staves = _staves(whole, marks)
    if not staves:
        raise refused("There is no part with notes in this file.", "Save it again from its program.")
    if part is not None and not 0 <= part < len(staves):
        raise refused(f"There is no part {part + 1} in this file.", "Choose one of its parts.")
    name, line, of_part, staff = staves[part or 0]
    tuning = of_part.tunings.get(staff) or next(iter(of_part.tunings.values()), None)
    bars = numbered(tuple(_bars(line, of_part, staff, tuning)))
    if not any(e.notes for b in bars for e in b.events):
        raise refused(f"{name} has no notes.", "Choose another part.")
    shift = of_part.bars[0].transpose if of_part.bars else 0
    score = Score(
        title=_title(whole),
        tuning=tuning or TUNINGS["ukulele high G"],
        meter=bars[0].meter,
        bars=bars,
        key=transpose_key(_key(line), shift),
        tempo=_tempo(whole, bars[0].meter),
        credit=(whole.metadata.composer or "") if whole.metadata else "",
    )
    frames = {symbol: [list(f.frets), list(f.fingers)] for symbol, f in _frames(marks, of_part).items()}
    return score, sum_problems(bars), [name for name, *_ in staves], {"frames": frames}


def _drop(element: ElementTree.Element, names: frozenset[str]) -> None:
    """Remove every element of these names below ``element``."""
    kept = [child for child in element if child.tag not in names]
    if len(kept) < len(element):
        element[:] = kept
    for child in kept:
        if len(child):
            _drop(child, names)


def _staves(whole: stream.Stream, marks: list[PartMarks]) -> list[tuple[str, stream.Part, PartMarks, int]]:
    """Every staff that can be taken: its name, music21's part, our marks, its number in the part."""
    lines = list(whole.parts) if isinstance(whole, stream.Score) else [whole]
    found, at = [], -1
    for line in lines:
        match = _STAFF.search(str(line.id))
        staff = int(match[1]) if match else 1
        if staff == 1:
            at += 1
        if at >= len(marks):
            break
        name = marks[at].name or f"Part {at + 1}"
        found.append((name, line, marks[at], staff))
    kept = [item for item in found if not _is_doubled(item, found)]
    many = {id(m) for _, _, m, _ in kept if sum(m is other for _, _, other, _ in kept) > 1}
    return [(f"{n}, staff {s}" if id(m) in many else n, line, m, s) for n, line, m, s in kept]


def _is_doubled(item, found) -> bool:
    """Whether a staff only repeats in notation what the tablature below it says with frets."""
    _, line, marks, staff = item
    if staff in marks.tab_staves or not marks.tab_staves:
        return False
    pitches = _all_pitches(line)
    return any(
        m is marks and s in marks.tab_staves and _all_pitches(other) == pitches for _, other, m, s in found
    )


def _all_pitches(line: stream.Part) -> list[tuple]:
    sounding = line.recurse().getElementsByClass("NotRest")
    return sorted(
        (float(n.getOffsetInHierarchy(line)), p.midi)
        for n in sounding
        if not isinstance(n, harmony.Harmony)
        for p in n.pitches
    )


def _bars(line: stream.Part, marks: PartMarks, staff: int, tuning: Tuning | None) -> Iterator[Bar]:
    now, sounding_key = Meter(4, 4), ""
    endings = _endings(line)
    written = list(line.getElementsByClass(stream.Measure))
    for at, measure in enumerate(written):
        own = marks.bars[at] if at < len(marks.bars) else BarMarks()
        now = _meter(measure, now)
        found = transpose_key(_key_of_measure(measure), own.transpose)
        voices = [_voice(voice, measure, own, staff, tuning) for voice in [measure, *measure.voices]]
        events = one_line(voices) or (Event(Fraction(0), now.length),)
        yield Bar(
            number=at + 1,
            meter=now,
            events=events,
            chords=_chords(own, sounding_key),
            letter=_letter(measure),
            opens_repeat=_opens(measure),
            repeats=_repeats(measure),
            endings=endings.get(at, ()),
            remark=_remark(measure),
            key=found if at and found != sounding_key else "",
        )
        sounding_key = found or sounding_key


def _voice(voice: stream.Stream, measure, marks: BarMarks, staff: int, tuning: Tuning | None) -> list[Event]:
    events: list[Event] = []
    grace: list[Note] = []
    base = Fraction(0) if voice is measure else Fraction(voice.offset) / 4
    for element in voice.getElementsByClass(note.GeneralNote):
        if isinstance(element, harmony.Harmony):
            continue
        onset = base + Fraction(element.offset) / 4
        is_grace = element.duration.isGrace
        notes, stroke, accent = _notes(element, onset, marks, staff, tuning, is_grace)
        if is_grace:
            grace += notes
            continue
        events.append(
            Event(
                onset,
                Fraction(element.duration.quarterLength) / 4,
                stacked(notes),
                stroke=stroke,
                accent=accent,
                grace=tuple(grace[:16]) if notes else (),
                tuplet=_tuplet(element),
                lyric=_lyric(element),
            )
        )
        grace = []
    return [event for event in events if event.duration > 0]


def _notes(element, onset, marks: BarMarks, staff: int, tuning, is_grace: bool):
    """Notes of an element with what is written for the hands; stroke; accent."""
    if element.isRest:
        return [], "", False
    members = list(element.notes) if isinstance(element, chord.ChordBase) else [element]
    notes, stroke, accent = [], "", False
    for member in members:
        written = member.pitch.midi if isinstance(member, note.Note) else None
        hands = marks.take((staff, onset, written, is_grace))
        tie = member.tie or element.tie
        held = tie is not None and tie.type in ("stop", "continue")
        pitch = None if written is None else max(0, min(127, written + marks.transpose))
        notes.append(hands.on(Note(pitch, tied=held, muted=pitch is None), tuning))
        stroke, accent = stroke or hands.stroke, accent or hands.accent
    return notes, stroke, accent


def _tuplet(element) -> tuple[int, int] | None:
    actual = normal = 1
    for tuplet in element.duration.tuplets:
        actual, normal = actual * tuplet.numberNotesActual, normal * tuplet.numberNotesNormal
    return (actual, normal) if actual != normal else None


def _lyric(element) -> str:
    if not element.lyrics:
        return ""
    first = element.lyrics[0]
    text = (first.text or "").strip()[:60]
    return f"{text}-" if text and first.syllabic in ("begin", "middle") else text


def _chords(marks: BarMarks, sounding_key: str) -> tuple[ChordMark, ...]:
    chords = {mark.onset: mark for mark in marks.chords}
    shift = marks.transpose
    return tuple(
        mark._replace(symbol=transpose_symbol(mark.symbol, shift, sounding_key))
        for _, mark in sorted(chords.items())
    )


def _meter(measure: stream.Measure, before: Meter) -> Meter:
    sign = measure.getElementsByClass(meter.TimeSignature).first()
    if sign is None or not 1 <= sign.numerator <= 32 or sign.denominator not in (1, 2, 4, 8, 16, 32):
        return before
    return Meter(sign.numerator, sign.denominator)


def _key_of_measure(measure: stream.Measure) -> str:
    sign = measure.getElementsByClass(key.KeySignature).first()
    if sign is None or sign.sharps is None:
        return ""
    return key_of(sign.sharps, isinstance(sign, key.Key) and sign.mode == "minor")


def _key(line: stream.Part) -> str:
    first = line.getElementsByClass(stream.Measure).first()
    return _key_of_measure(first) if first is not None else ""


def _opens(measure: stream.Measure) -> bool:
    left = measure.leftBarline
    return isinstance(left, bar.Repeat) and left.direction == "start"


def _repeats(measure: stream.Measure) -> int:
    right = measure.rightBarline
    if not (isinstance(right, bar.Repeat) and right.direction == "end"):
        return 0
    return max(2, min(32, right.times or 2))


def _endings(line: stream.Part) -> dict[int, tuple[int, ...]]:
    """The passes in which each bracketed bar is played, by the bar's place in the part."""
    places = {id(measure): at for at, measure in enumerate(line.getElementsByClass(stream.Measure))}
    endings: dict[int, tuple[int, ...]] = {}
    for bracket in line.getElementsByClass(spanner.RepeatBracket):
        spanned = [places[id(m)] for m in bracket.getSpannedElements() if id(m) in places]
        if spanned:
            passes = tuple(n for n in bracket.numberRange if 0 < n <= 32)
            endings.update((at, passes) for at in range(min(spanned), max(spanned) + 1))
    return endings


def _letter(measure: stream.Measure) -> str:
    mark = measure.getElementsByClass(expressions.RehearsalMark).first()
    return str(mark.content or "").strip()[:20] if mark is not None else ""


def _remark(measure: stream.Measure) -> str:
    words = [e.getText() or "" for e in measure.getElementsByClass(repeat.RepeatExpression)]
    return " ".join(word for word in words if word)[:80]


def _title(whole: stream.Stream) -> str:
    found = whole.metadata
    return ((found.title or found.movementName or "") if found else "")[:200]


def _tempo(whole: stream.Stream, first: Meter) -> int | None:
    for mark in whole.recurse().getElementsByClass(tempo.MetronomeMark):
        if mark.numberImplicit and not mark.numberSounding:
            continue
        quarters = mark.getQuarterBPM() or mark.numberSounding
        if quarters:
            beats = round(quarters / float(first.beat * 4))
            return beats if 10 <= beats <= 400 else None
    return None


def _frames(marks: list[PartMarks], chosen: PartMarks) -> dict[str, Frame]:
    frames = dict(chosen.frames)
    for part in marks:
        frames = {**part.frames, **frames}
    return frames

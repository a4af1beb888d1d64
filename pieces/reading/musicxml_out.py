"""A score as MusicXML 4.0 (W3C): one part, with everything written for both hands.

Our own, because music21 10.5.1 puts a chord's strings and frets on its first note.
Notes that sound longer or shorter than their event stand in further voices.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import NamedTuple
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from pieces.music.keys import fifths, spell
from pieces.music.score import Bar, Event, Note, Score
from pieces.reading.chord_kinds import write_harmony
from pieces.reading.musicxml_marks import Frame
from pieces.reading.note_values import Written, written

_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">\n'
)
_JOINS = {"hammer": ("technical", "hammer-on", "H"), "pull": ("technical", "pull-off", "P")}


class _Item(NamedTuple):
    """What one voice plays at a moment: an event, and the notes of it that this voice holds."""

    onset: Fraction
    duration: Fraction
    event: Event
    notes: tuple[Note, ...]
    leads: bool  # carries what belongs to the whole event: words, stroke, grace notes


@dataclass(frozen=True, slots=True)
class _Sheet:
    """What must be known of the whole piece to write one note."""

    divisions: int
    ties: frozenset  # (time, pitch, string) at which a note is held on
    joins: Mapping[tuple[Fraction, int], str]  # (time, string) from which a note is hammered, pulled or slid
    is_tab: bool


def write_musicxml(score: Score, frames: Mapping[str, Frame] | None = None) -> str:
    """``score`` as MusicXML. ``frames`` are shapes to draw over the symbols they belong to.

    Written on a tablature staff where every note is set on a string, else in notation.
    """
    root = Element("score-partwise", {"version": "4.0"})
    _write_head(root, score)
    part = SubElement(root, "part", {"id": "P1"})
    sheet = _sheet_of(score)
    start, key, drawn = Fraction(0), score.key, set()
    for at, bar in enumerate(score.bars):
        key = bar.key or key
        measure = SubElement(part, "measure", {"number": str(bar.number)})
        if bar.is_pickup:
            measure.set("implicit", "yes")
        before = score.bars[at - 1] if at else None
        following = score.bars[at + 1] if at + 1 < len(score.bars) else None
        _write_left(measure, bar, before)
        _write_attributes(measure, score, bar, before, sheet)
        _write_directions(measure, score, bar, at == 0)
        _write_voices(measure, bar, sheet, start, key, frames or {}, drawn)
        _write_right(measure, bar, following)
        start += bar.length
    ElementTree.indent(root)
    return _HEAD + ElementTree.tostring(root, encoding="unicode") + "\n"


def _sub(parent: Element, name: str, text: object = None, **attributes: str) -> Element:
    child = SubElement(parent, name, attributes)
    if text is not None:
        child.text = str(text)
    return child


def _write_head(root: Element, score: Score) -> None:
    if score.title:
        _sub(_sub(root, "work"), "work-title", score.title)
    identification = _sub(root, "identification")
    if score.credit:
        _sub(identification, "creator", score.credit, type="composer")
    _sub(_sub(identification, "encoding"), "software", "Fourbar")
    parts = _sub(root, "part-list")
    _sub(_sub(parts, "score-part", id="P1"), "part-name", score.tuning.name if score.is_set else "Melody")


def _sheet_of(score: Score) -> _Sheet:
    durations = {d for b in score.bars for e in b.events for d in (e.onset, e.duration, *_lengths(e))}
    durations |= {mark.onset for b in score.bars for mark in b.chords}
    ties, joins = set(), {}
    last: dict[int, Fraction] = {}
    start = Fraction(0)
    for bar in score.bars:
        for event in bar.events:
            now = start + event.onset
            for note in event.notes:
                if note.tied:
                    ties.add((now, note.pitch, note.string))
                if note.join and note.string in last:
                    joins[last[note.string], note.string] = note.join
            last.update({note.string: now for note in event.notes if note.string})
        start += bar.length
    has_notes = any(e.notes for b in score.bars for e in b.events)
    divisions = lcm(*((4 * d).denominator for d in durations)) if durations else 1
    return _Sheet(divisions, frozenset(ties), joins, score.is_set and has_notes)


def _lengths(event: Event) -> list[Fraction]:
    return [note.length for note in event.notes if note.length is not None]


def _write_left(measure: Element, bar: Bar, before: Bar | None) -> None:
    begins = bool(bar.endings) and (before is None or before.endings != bar.endings or bool(before.repeats))
    if not (bar.opens_repeat or begins):
        return
    line = _sub(measure, "barline", location="left")
    if begins:
        _sub(line, "ending", number=_passes(bar), type="start")
    if bar.opens_repeat:
        _sub(line, "repeat", direction="forward")


def _write_right(measure: Element, bar: Bar, following: Bar | None) -> None:
    ends = bool(bar.endings) and (following is None or following.endings != bar.endings or bool(bar.repeats))
    if not (bar.repeats or ends or following is None):
        return
    line = _sub(measure, "barline", location="right")
    if following is None or bar.repeats:
        _sub(line, "bar-style", "light-heavy")
    if ends:
        _sub(line, "ending", number=_passes(bar), type="stop" if bar.repeats else "discontinue")
    if bar.repeats:
        repeat = _sub(line, "repeat", direction="backward")
        if bar.repeats > 2:
            repeat.set("times", str(bar.repeats))


def _passes(bar: Bar) -> str:
    return ",".join(str(number) for number in bar.endings)


def _write_attributes(measure: Element, score: Score, bar: Bar, before: Bar | None, sheet: _Sheet) -> None:
    attributes = Element("attributes")
    key = score.key if before is None else bar.key
    if before is None:
        _sub(attributes, "divisions", sheet.divisions)
    if key:
        sign = _sub(attributes, "key")
        _sub(sign, "fifths", fifths(key))
        _sub(sign, "mode", "minor" if key.endswith("m") else "major")
    if before is None or bar.meter != before.meter:
        time = _sub(attributes, "time")
        _sub(time, "beats", bar.meter.beats)
        _sub(time, "beat-type", bar.meter.unit)
    if before is None:
        clef = _sub(attributes, "clef")
        _sub(clef, "sign", "TAB" if sheet.is_tab else "G")
        _sub(clef, "line", 5 if sheet.is_tab else 2)
        if sheet.is_tab:
            _write_tuning(attributes, score)
    if len(attributes):
        measure.append(attributes)


def _write_tuning(attributes: Element, score: Score) -> None:
    details = _sub(attributes, "staff-details")
    _sub(details, "staff-lines", len(score.tuning.open_pitches))
    for line, pitch in enumerate(score.tuning.open_pitches, 1):
        letter, alter, octave = spell(pitch)
        tuning = _sub(details, "staff-tuning", line=str(line))
        _sub(tuning, "tuning-step", letter)
        if alter:
            _sub(tuning, "tuning-alter", alter)
        _sub(tuning, "tuning-octave", octave)
    if score.tuning.capo:
        _sub(details, "capo", score.tuning.capo)


def _write_directions(measure: Element, score: Score, bar: Bar, is_first: bool) -> None:
    if bar.letter:
        _sub(_sub(_direction(measure), "direction-type"), "rehearsal", bar.letter)
    if bar.remark:
        _sub(_sub(_direction(measure), "direction-type"), "words", bar.remark)
    if is_first and score.tempo:
        direction = _direction(measure)
        mark = _sub(_sub(direction, "direction-type"), "metronome")
        beat = written(score.meter.beat)[0]
        _sub(mark, "beat-unit", beat.name)
        for _ in range(beat.dots):
            _sub(mark, "beat-unit-dot")
        _sub(mark, "per-minute", score.tempo)
        quarters = score.tempo * score.meter.beat * 4
        _sub(direction, "sound", tempo=f"{float(quarters):g}")


def _direction(measure: Element) -> Element:
    return _sub(measure, "direction", placement="above")


def _write_voices(measure, bar: Bar, sheet: _Sheet, start: Fraction, key: str, frames, drawn: set) -> None:
    chords = list(bar.chords)
    for number, voice in enumerate(_voices(bar), 1):
        at = Fraction(0)
        if number > 1:
            _step(measure, "backup", bar.length, sheet)
        for item in voice:
            _step(measure, "forward", item.onset - at, sheet)
            at = item.onset + item.duration
            while number == 1 and chords and chords[0].onset < at:
                _write_chord(measure, chords.pop(0), item.onset, sheet, frames, drawn)
            _write_item(measure, item, number, sheet, start, key)
        if number == 1:
            for mark in chords:
                _write_chord(measure, mark, at, sheet, frames, drawn)
        _step(measure, "forward", bar.length - at, sheet)


def _voices(bar: Bar) -> list[list[_Item]]:
    """The first voice holds what lasts as long as its event; each further one what does not overlap."""
    first: list[_Item] = []
    others: list[list[_Item]] = []
    for event in bar.events:
        plain = tuple(n for n in event.notes if n.length in (None, event.duration))
        if plain or event.is_rest:
            first.append(_Item(event.onset, event.duration, event, plain, True))
        leads = not plain
        for note in event.notes:
            if note in plain:
                continue
            lasts = min(note.length, bar.length - event.onset)
            item = _Item(event.onset, lasts, event, (note,), leads)
            leads = False
            voice = next((v for v in others if v[-1].onset + v[-1].duration <= event.onset), None)
            if voice is None:
                others.append([item])
            else:
                voice.append(item)
    return [first, *others]


def _step(measure: Element, name: str, length: Fraction, sheet: _Sheet) -> None:
    if length > 0:
        _sub(_sub(measure, name), "duration", _ticks(length, sheet))


def _ticks(length: Fraction, sheet: _Sheet) -> int:
    return round(length * 4 * sheet.divisions)


def _write_chord(measure: Element, mark, at: Fraction, sheet: _Sheet, frames, drawn: set) -> None:
    harmony = write_harmony(mark.symbol)
    if harmony is None:
        return
    if mark.symbol in frames and mark.symbol not in drawn:
        drawn.add(mark.symbol)
        harmony.append(_frame(*frames[mark.symbol]))
    if mark.onset != at:
        _sub(harmony, "offset", _ticks(mark.onset - at, sheet))
    measure.append(harmony)


def _frame(frets, fingers) -> Element:
    frame = Element("frame")
    _sub(frame, "frame-strings", len(frets))
    stopped = [fret for fret in frets if fret]
    lowest, highest = min(stopped, default=0), max(stopped, default=0)
    _sub(frame, "frame-frets", max(4, highest - lowest + 1 if highest > 4 else highest))
    if highest > 4:
        _sub(frame, "first-fret", lowest)
    for string, (fret, finger) in zip(
        range(len(frets), 0, -1), zip(frets, fingers, strict=True), strict=True
    ):
        if fret is not None:
            note = _sub(frame, "frame-note")
            _sub(note, "string", string)
            _sub(note, "fret", fret)
            if finger:
                _sub(note, "fingering", finger)
    return frame


def _write_item(measure: Element, item: _Item, voice: int, sheet: _Sheet, start: Fraction, key: str) -> None:
    if item.leads:
        for note in item.event.grace:
            _write_grace(measure, note, voice, key)
    at, pieces = item.onset, written(item.duration, item.event.tuplet)
    for i, piece in enumerate(pieces):
        whole = _Piece(piece, start + at, i == 0, i == len(pieces) - 1)
        for j, note in enumerate(item.notes or (None,)):
            _write_note(measure, item, note, whole, j, voice, sheet, key)
        at += piece.duration


class _Piece(NamedTuple):
    """One of the written notes that an item takes, and when it begins."""

    value: Written
    time: Fraction
    is_first: bool
    is_last: bool


def _write_note(
    measure, item: _Item, note: Note | None, piece: _Piece, place: int, voice, sheet, key
) -> None:
    element = _sub(measure, "note")
    if place:
        _sub(element, "chord")
    _write_pitch(element, note, key)
    _sub(element, "duration", _ticks(piece.value.duration, sheet))
    ties = _ties(note, piece, sheet)
    for kind in ties:
        _sub(element, "tie", type=kind)
    _sub(element, "voice", voice)
    _sub(element, "type", piece.value.name)
    for _ in range(piece.value.dots):
        _sub(element, "dot")
    if piece.value.tuplet:
        change = _sub(element, "time-modification")
        _sub(change, "actual-notes", piece.value.tuplet[0])
        _sub(change, "normal-notes", piece.value.tuplet[1])
    if note is not None and note.muted:
        _sub(element, "notehead", "x")
    leads = item.leads and place == 0 and piece.is_first
    _write_notations(element, note, item.event if leads else None, ties, piece, sheet)
    if leads and item.event.lyric:
        _write_lyric(element, item.event.lyric)


def _write_pitch(element: Element, note: Note | None, key: str) -> None:
    if note is None:
        _sub(element, "rest")
    elif note.pitch is None:
        unpitched = _sub(element, "unpitched")
        _sub(unpitched, "display-step", "B")
        _sub(unpitched, "display-octave", 4)
    else:
        letter, alter, octave = spell(note.pitch, key)
        pitch = _sub(element, "pitch")
        _sub(pitch, "step", letter)
        if alter:
            _sub(pitch, "alter", alter)
        _sub(pitch, "octave", octave)


def _ties(note: Note | None, piece: _Piece, sheet: _Sheet) -> list[str]:
    if note is None or note.pitch is None:
        return []
    end = piece.time + piece.value.duration
    held_on = not piece.is_last or (end, note.pitch, note.string) in sheet.ties
    held = not piece.is_first or note.tied
    return ["stop"] * held + ["start"] * held_on


def _write_notations(element, note, event: Event | None, ties, piece: _Piece, sheet: _Sheet) -> None:
    notations, technical = Element("notations"), Element("technical")
    for kind in ties:
        _sub(notations, "tied", type=kind)
    if note is not None:
        _write_place(technical, note)
        if piece.is_first:
            _write_hands(notations, technical, note, piece.time, sheet)
    if event is not None and event.stroke:
        _sub(technical, f"{event.stroke}-bow")
    if len(technical):
        notations.append(technical)
    if event is not None and event.accent:
        _sub(_sub(notations, "articulations"), "accent")
    if len(notations):
        element.append(notations)


def _write_place(technical: Element, note: Note) -> None:
    if note.string is not None:
        _sub(technical, "string", note.string)
    if note.fret is not None:
        _sub(technical, "fret", note.fret)


def _write_hands(notations: Element, technical: Element, note: Note, time: Fraction, sheet: _Sheet) -> None:
    if note.finger:
        _sub(technical, "fingering", note.finger)
    if note.pick:
        _sub(technical, "pluck", note.pick)
    if note.harmonic:
        _sub(technical, "harmonic")
    for join, end in ((note.join, "stop"), (sheet.joins.get((time, note.string), ""), "start")):
        if join == "slide":
            notations.append(Element("slide", {"type": end, "line-type": "solid"}))
        elif join:
            _, name, sign = _JOINS[join]
            _sub(technical, name, sign if end == "start" else None, type=end)


def _write_grace(measure: Element, note: Note, voice: int, key: str) -> None:
    element = _sub(measure, "note")
    _sub(element, "grace")
    _write_pitch(element, note, key)
    _sub(element, "voice", voice)
    _sub(element, "type", "eighth")
    if note.muted:
        _sub(element, "notehead", "x")
    if note.string is not None:
        _write_place(_sub(_sub(element, "notations"), "technical"), note)


def _write_lyric(element: Element, words: str) -> None:
    lyric = _sub(element, "lyric", number="1")
    _sub(lyric, "syllabic", "begin" if words.endswith("-") else "single")
    _sub(lyric, "text", words.removesuffix("-"))

"""What music21 10.5.1 loses of MusicXML: everything about hands and strings.

A small reader of our own goes over the same XML for string, fret, fingers of both
hands, joins, strokes, chord symbols, frames, tuning and transposition; the notes
themselves are music21's. Source: MusicXML 4.0 (W3C), elements named as there.
"""

import re
from collections import defaultdict
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import NamedTuple
from xml.etree import ElementTree

from pieces.music.score import ChordMark, Note
from pieces.music.tuning import TUNINGS, Tuning
from pieces.reading.chord_kinds import symbol_of

_SEMITONE = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


class Frame(NamedTuple):
    """A drawn chord shape: frets and fingers from the highest string number to string 1."""

    frets: tuple[int | None, ...]
    fingers: tuple[int | None, ...]


@dataclass(frozen=True, slots=True)
class Hands:
    """What is written at one note for the two hands."""

    string: int | None = None
    fret: int | None = None
    finger: int | None = None
    pick: str = ""
    join: str = ""
    muted: bool = False
    harmonic: bool = False
    stroke: str = ""
    accent: bool = False

    def on(self, note: Note, tuning: Tuning | None) -> Note:
        """``note`` with these marks; string and fret only where they sound its pitch."""
        string, fret = self.string, self.fret
        known = tuning is not None and string in tuning.strings
        if self.muted:
            return replace(note, pitch=None, muted=True, string=string, fret=fret)
        if not known or fret is None or tuning.pitch(string, fret) != note.pitch:
            string = fret = None
        return replace(
            note,
            string=string,
            fret=fret,
            finger=self.finger,
            pick=self.pick,
            join=self.join,
            harmonic=self.harmonic,
        )


# (staff, onset, written pitch or None, whether a grace note)
Spot = tuple[int, Fraction, int | None, bool]


@dataclass
class BarMarks:
    """The marks of one bar; those of notes in the order written where several share a spot."""

    chords: list[ChordMark] = field(default_factory=list)
    notes: dict[Spot, list[Hands]] = field(default_factory=lambda: defaultdict(list))
    transpose: int = 0

    def take(self, spot: Spot) -> Hands:
        waiting = self.notes.get(spot)
        return waiting.pop(0) if waiting else _NOTHING


@dataclass
class PartMarks:
    """The marks of one part of the file."""

    id: str
    name: str
    staves: int = 1
    bars: list[BarMarks] = field(default_factory=list)
    tunings: dict[int, Tuning] = field(default_factory=dict)
    tab_staves: set[int] = field(default_factory=set)
    frames: dict[str, Frame] = field(default_factory=dict)


_NOTHING = Hands()


def read_marks(root: ElementTree.Element) -> list[PartMarks]:
    """The marks of every part of a ``score-partwise``, in order."""
    names = {p.get("id"): (p.findtext("part-name") or "").strip() for p in root.iter("score-part")}
    return [_read_part(part, names.get(part.get("id"), "")) for part in root.findall("part")]


def _read_part(part: ElementTree.Element, name: str) -> PartMarks:
    marks = PartMarks(part.get("id", ""), name)
    divisions, transpose = 1, 0
    for measure in part.findall("measure"):
        bar = BarMarks()
        at = last = Fraction(0)
        for element in measure:
            if element.tag == "attributes":
                divisions = int(float(element.findtext("divisions") or divisions)) or 1
                transpose = _transposition(element, transpose)
                _read_staves(element, marks)
            elif element.tag in ("backup", "forward"):
                step = _duration(element, divisions)
                at = max(Fraction(0), at - step if element.tag == "backup" else at + step)
            elif element.tag == "harmony":
                _read_harmony(element, at + _offset(element, divisions), bar, marks)
            elif element.tag == "note":
                if element.find("chord") is None:
                    last = at
                    at += _duration(element, divisions)
                staff = int(element.findtext("staff") or 1)
                marks.staves = max(marks.staves, staff)
                bar.notes[staff, last, _pitch(element), element.find("grace") is not None].append(
                    _hands(element)
                )
        bar.transpose = transpose
        marks.bars.append(bar)
    return marks


def _duration(element: ElementTree.Element, divisions: int) -> Fraction:
    return Fraction(element.findtext("duration") or "0") / divisions / 4


def _offset(element: ElementTree.Element, divisions: int) -> Fraction:
    return Fraction(element.findtext("offset") or "0") / divisions / 4


def _pitch(note: ElementTree.Element) -> int | None:
    pitch = note.find("pitch")
    if pitch is None:
        return None
    alter = round(float(pitch.findtext("alter") or 0))
    return _SEMITONE.get(pitch.findtext("step"), 0) + alter + 12 * (int(pitch.findtext("octave") or 4) + 1)


def _transposition(attributes: ElementTree.Element, before: int) -> int:
    """Semitones from written to sounding pitch."""
    transpose = attributes.find("transpose")
    if transpose is None:
        return before
    return int(float(transpose.findtext("chromatic") or 0)) + 12 * int(
        transpose.findtext("octave-change") or 0
    )


def _read_staves(attributes: ElementTree.Element, marks: PartMarks) -> None:
    marks.staves = max(marks.staves, int(attributes.findtext("staves") or 1))
    for clef in attributes.findall("clef"):
        if clef.findtext("sign") == "TAB":
            marks.tab_staves.add(int(clef.get("number") or 1))
    for details in attributes.findall("staff-details"):
        opens = [_open_string(t) for t in sorted(details.findall("staff-tuning"), key=_line)]
        if opens and None not in opens:
            capo = int(details.findtext("capo") or 0)
            marks.tunings[int(details.get("number") or 1)] = tuning_of(tuple(opens), capo)


def _line(tuning: ElementTree.Element) -> int:
    line = tuning.get("line") or "1"
    return int(line) if line.isdecimal() else 1


def _open_string(tuning: ElementTree.Element) -> int | None:
    step, octave = tuning.findtext("tuning-step"), tuning.findtext("tuning-octave")
    if step not in _SEMITONE or octave is None:
        return None
    return _SEMITONE[step] + round(float(tuning.findtext("tuning-alter") or 0)) + 12 * (int(octave) + 1)


def tuning_of(opens: tuple[int, ...], capo: int = 0) -> Tuning:
    """The tuning of these open strings by its usual name, where it has one."""
    known = next((t for t in TUNINGS.values() if t.open_pitches == opens), None)
    return (known or Tuning("as in the file", opens)).with_capo(capo)


def _hands(note: ElementTree.Element) -> Hands:
    said: dict = {"muted": note.findtext("notehead") in ("x", "cross")}
    for technical in note.iterfind("notations/technical/*"):
        text = (technical.text or "").strip()
        match technical.tag:
            case "string" | "fret":
                said[technical.tag] = int(text) if text.isdecimal() else None
            case "fingering":
                said["finger"] = int(text) if text in ("1", "2", "3", "4") else None
            case "pluck":
                said["pick"] = text.lower() if text.lower() in ("p", "i", "m", "a") else ""
            case "hammer-on" | "pull-off":
                if technical.get("type") == "stop":
                    said["join"] = "hammer" if technical.tag == "hammer-on" else "pull"
            case "harmonic":
                said["harmonic"] = True
            case "down-bow" | "up-bow":
                said["stroke"] = technical.tag.removesuffix("-bow")
    slides = [*note.iterfind("notations/slide"), *note.iterfind("notations/glissando")]
    if any(slide.get("type") == "stop" for slide in slides):
        said["join"] = "slide"
    said["accent"] = note.find("notations/articulations/accent") is not None
    return Hands(**said)


def _read_harmony(element: ElementTree.Element, at: Fraction, bar: BarMarks, marks: PartMarks) -> None:
    symbol = symbol_of(element)
    if symbol:
        bar.chords.append(ChordMark(max(at, Fraction(0)), symbol))
        frame = element.find("frame")
        if frame is not None:
            marks.frames.setdefault(symbol, _frame(frame))


def _frame(frame: ElementTree.Element) -> Frame:
    strings = int(frame.findtext("frame-strings") or 6)
    notes = {}
    for note in frame.findall("frame-note"):
        string, fret = note.findtext("string"), note.findtext("fret")
        finger = re.sub(r"\D", "", note.findtext("fingering") or "")
        if string and fret:
            notes[int(string)] = (int(fret), int(finger) if finger else (0 if fret == "0" else None))
    sounding = [notes.get(string, (None, None)) for string in range(strings, 0, -1)]
    return Frame(tuple(fret for fret, _ in sounding), tuple(finger for _, finger in sounding))

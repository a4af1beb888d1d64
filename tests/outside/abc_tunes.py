"""Tunes of music21's bundled corpus, read from their ABC text without music21.

A second road beside music21's own reader, and fast enough for thousands of tunes.
Reads what those files hold and no more: one voice, notes, rests, chords, ties,
tuplets, broken rhythm, key signatures, accidentals through the bar, repeats and
endings (ABC standard 2.1). Decorations, bowings, grace notes and slurs are dropped.
"""

import re
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from pieces.music.score import Bar, Event, Meter, Note, Score

CORPUS = Path(find_spec("music21").submodule_search_locations[0]) / "corpus"

TOKEN = re.compile(
    r"""(?P<inline>\[[A-Za-z]:[^\]]*\])
      | (?P<chord>\[(?:[_=^]*[A-Ga-g][,']*\d*/*\d*)+\])(?P<chord_length>\d*/*\d*)(?P<chord_tie>-?)
      | (?P<bar>[:|\[\]]*\|[:|\]]*|::)(?P<ending>\s*\[?[1-9](?:[,-][1-9])*)?
      | (?P<bracket>\[[1-9](?:[,-][1-9])*)
      | (?P<tuplet>\(\d(?::\d?(?::\d)?)?)
      | (?P<note>[_=^]*[A-Ga-gzx][,']*)(?P<length>\d*/*\d*)(?P<tie>-?)
      | (?P<broken>[<>]+)
      | (?P<line>\n)
      | (?P<skip>"[^"]*"|\{[^}]*\}|![^!\n]*!|%[^\n]*|\\[ \t]*\n|.)""",
    re.VERBOSE,
)
SCALE = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
FIFTHS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
MODES = {
    "maj": 0,
    "ion": 0,
    "mix": -1,
    "dor": -2,
    "m": -3,
    "min": -3,
    "aeo": -3,
    "phr": -4,
    "loc": -5,
    "lyd": 1,
}
TUPLET_NORMAL = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}


@dataclass
class Measure:
    """What stands between two bar lines: (onset, duration, pitches, tied from before)."""

    notes: list = field(default_factory=list)
    length: Fraction = Fraction(0)
    left: str = ""
    right: str = ""
    endings: tuple[int, ...] = ()
    text: str = ""


@dataclass
class Tune:
    """A tune: its measures, its meter, and the index of the note that begins each body line."""

    title: str
    meter: tuple[int, int] | None
    measures: list[Measure]
    line_starts: list[int]

    def melody(self):
        """(onset, duration, midi) of every note, ties joined, and how many notes precede each line."""
        notes, starts, at, index = [], [], Fraction(0), 0
        for measure in self.measures:
            for onset, duration, pitches, tied in measure.notes:
                if index in self.line_starts and not (tied and notes):
                    starts.append(len(notes))
                if tied and notes and notes[-1][2] == max(pitches):
                    first, _, pitch = notes[-1]
                    notes[-1] = (first, at + onset + duration - first, pitch)
                else:
                    notes.append((at + onset, duration, max(pitches)))
                index += 1
            at += measure.length
        return notes, sorted(set(starts) - {0})

    @property
    def first_barline(self):
        """Onset of the barline at or before the first note: negative after a pickup."""
        if not self.meter:
            return None
        full, first = Fraction(*self.meter), self.measures[0].length
        return first - full if first < full else Fraction(0)


def tunes(*names: str):
    """Every tune of the corpus files ``names`` (folder, or folder/file), in order."""
    for name in names:
        path = CORPUS / name
        for file in sorted(path.glob("*.abc")) if path.is_dir() else [path]:
            text = file.read_text(encoding="latin-1")
            for block in re.split(r"(?m)^(?=X:)", text)[1:]:
                if tune := read(block):
                    yield file.stem, tune


def read(text: str) -> Tune | None:
    """The tune written in ``text``, or None where it cannot be read."""
    head, body, in_body = {}, [], False
    for line in text.splitlines():
        if re.match(r"[A-Za-z]:(?![|:])", line) and not re.match(r"[a-g]:", line):
            if in_body and line[0] in "KM":
                body.append(f"[{line[0]}:{line[2:].strip()}]\\\n")
            elif not in_body:
                head.setdefault(line[0], line[2:].split("%")[0].strip())
            in_body = in_body or line[0] == "K"
        elif in_body and line.strip() and not line.startswith("%"):
            body.append(line.rstrip() + "\n")
    if not body or "K" not in head:
        return None
    return _Reader(head).read("".join(body))


class _Reader:
    """Reads one body; the state is what ABC carries from token to token."""

    def __init__(self, head):
        self.title = head.get("T", "")
        self.meter = _meter(head.get("M", ""))
        short = self.meter and Fraction(*self.meter) < Fraction(3, 4)
        default = Fraction(1, 16 if short else 8)
        self.unit = Fraction(head["L"]) if re.fullmatch(r"\d+/\d+", head.get("L", "")) else default
        self.signature = _signature(head["K"])
        self.measures, self.measure = [], Measure()
        self.line_starts, self.count, self.new_line = [], 0, True
        self.accidentals, self.tie, self.tuplet, self.broken = {}, set(), (0, Fraction(1)), None

    def read(self, body):
        for match in TOKEN.finditer(body):
            kind = match.lastgroup
            if match["note"]:
                self.measure.text += match.group()
                self._note([match["note"]], match["length"], match["tie"])
            elif match["chord"]:
                self.measure.text += match.group()
                inner = re.findall(r"([_=^]*[A-Ga-g][,']*)(\d*/*\d*)", match["chord"])
                length = _length(inner[0][1]) * _length(match["chord_length"])
                self._note([name for name, _ in inner], length, match["chord_tie"])
            elif match["bar"]:
                self._bar(match["bar"], match["ending"] or "")
            elif kind == "bracket":
                self.measure.endings = _endings(match.group())
            elif kind == "tuplet":
                self.measure.text += match.group()
                self._tuplet(match.group())
            elif kind == "broken":
                self.measure.text += match.group()
                self._broken(match.group())
            elif kind == "inline":
                self._inline(match.group())
            elif kind == "line":
                self.new_line = True
        self._close("")
        meter = self.meter
        return Tune(self.title, meter, self.measures, self.line_starts) if self.measures else None

    def _note(self, names, length, tie):
        duration = self.unit * (length if isinstance(length, Fraction) else _length(length))
        left, factor = self.tuplet
        if left:
            duration *= factor
            self.tuplet = (left - 1, factor)
        if self.broken is not None:
            duration *= self.broken
            self.broken = None
        onset = self.measure.length
        self.measure.length += duration
        if names[0][0] in "zx":
            self.tie = set()
            return
        pitches = tuple(sorted(self._pitch(name) for name in names))
        if self.new_line:
            self.line_starts.append(self.count)
            self.new_line = False
        self.measure.notes.append((onset, duration, pitches, bool(self.tie & set(pitches))))
        self.count += 1
        self.tie = set(pitches) if tie else set()

    def _pitch(self, name):
        sign, letter, octave = re.fullmatch(r"([_=^]*)([A-Ga-g])([,']*)", name).groups()
        place = letter.upper() + str(letter.islower()) + octave
        if sign:
            self.accidentals[place] = sign.count("^") - sign.count("_")
        shift = self.accidentals.get(place, self.signature.get(letter.upper(), 0))
        octaves = octave.count("'") - octave.count(",") + letter.islower()
        return 60 + SCALE[letter.upper()] + shift + 12 * octaves

    def _broken(self, marks):
        share = Fraction(1, 2 ** len(marks))
        before, self.broken = (2 - share, share) if marks[0] == ">" else (share, 2 - share)
        if self.measure.notes:
            onset, duration, pitches, tied = self.measure.notes[-1]
            self.measure.notes[-1] = (onset, duration * before, pitches, tied)
            self.measure.length += duration * (before - 1)

    def _tuplet(self, text):
        parts = [int(part) if part else 0 for part in text[1:].split(":")]
        actual = parts[0]
        compound = self.meter and self.meter[1] == 8 and self.meter[0] % 3 == 0
        normal = (parts[1] if len(parts) > 1 else 0) or TUPLET_NORMAL.get(actual, 3 if compound else 2)
        count = (parts[2] if len(parts) > 2 else 0) or actual
        self.tuplet = (count, Fraction(normal, actual))

    def _bar(self, sign, ending):
        self._close(sign)
        self.measure.left = sign
        if ending.strip():
            self.measure.endings = _endings(ending)

    def _close(self, sign):
        if self.measure.length:
            self.measure.right = sign
            self.measures.append(self.measure)
            before, self.measure = self.measure, Measure(left=sign)
            # An ending lasts until its repeat sign or a double bar.
            if before.endings and not re.search(r":|\|\||\|\]", sign):
                self.measure.endings = before.endings
        elif sign:
            self.measure.left += sign
            if self.measures:
                self.measures[-1].right += sign
        self.accidentals = {}

    def _inline(self, text):
        name, _, value = text[1:-1].partition(":")
        if name == "K":
            self.signature = _signature(value)
        elif name == "M" and not self.measures:
            self.meter = _meter(value)


def _length(text):
    match = re.fullmatch(r"(\d*)(/*)(\d*)", text)
    above, slashes, below = match.groups()
    under = int(below) if below else 2 ** len(slashes)
    return Fraction(int(above or 1), under)


def _endings(text):
    return tuple(int(digit) for digit in re.findall(r"\d", text))


def _meter(text):
    if text in ("C", "C|"):
        return (4, 4) if text == "C" else (2, 2)
    match = re.search(r"(\d+)/(\d+)", text)
    return (int(match[1]), int(match[2])) if match else None


@cache
def _signature(text):
    match = re.match(r"\s*([A-G])([#b]?)\s*([A-Za-z]*)", text)
    if not match:
        return {}
    tonic, sign, mode = match.groups()
    mode = "m" if mode == "m" else mode[:3].lower()
    fifths = FIFTHS[tonic] + 7 * (sign == "#") - 7 * (sign == "b") + MODES.get(mode, 0)
    if fifths >= 0:
        return dict.fromkeys("FCGDAEB"[:fifths], 1)
    return dict.fromkeys("BEADGCF"[:-fifths], -1)


def score_of(tune: Tune, *, signs: bool = True) -> Score:
    """The tune as staff music; without ``signs`` no repeat or ending shows.

    Where a repeat sign stands inside a bar the two halves are one bar again in a
    score without signs, and of several endings only the last remains, so that
    nothing gives the sign away.
    """
    measures = tune.measures if signs else whole_measures(tune)
    meter = Meter(*tune.meter)
    pickup = measures[0].length < meter.length
    bars = []
    for number, measure in enumerate(measures, 0 if pickup else 1):
        more = {}
        if signs:
            opens = "|:" in measure.left or "::" in measure.left
            closes = ":|" in measure.right or "::" in measure.right
            more = {"opens_repeat": opens, "repeats": 2 * closes, "endings": measure.endings}
        bars.append(Bar(number, meter, _events(measure), **more))
    return Score(title=tune.title, meter=meter, bars=tuple(bars))


def whole_measures(tune: Tune) -> list[Measure]:
    """Measures with split ones joined and all endings but the last left out.

    ``right`` of each keeps the signs at its end and ``left`` those at its start; a
    sign inside a joined bar is kept as the joined bar's ``left``.
    """
    full, whole = Fraction(*tune.meter), []
    last = max((n for m in tune.measures for n in m.endings), default=0)
    for measure in tune.measures:
        if measure.endings and last > 1 and last not in measure.endings:
            continue
        before = whole[-1] if whole else None
        if len(whole) > 1 and before.length < full and before.length + measure.length <= full:
            shifted = [(before.length + on, dur, pitches, tied) for on, dur, pitches, tied in measure.notes]
            left = before.right + measure.left
            length = before.length + measure.length
            whole[-1] = Measure(
                before.notes + shifted, length, left, measure.right, (), before.text + measure.text
            )
        else:
            whole.append(measure)
    return whole


def _events(measure: Measure) -> tuple[Event, ...]:
    events, at = [], Fraction(0)
    for onset, duration, pitches, tied in measure.notes:
        if onset > at:
            events.append(Event(at, onset - at))
        events.append(Event(onset, duration, tuple(Note(pitch, tied=tied) for pitch in pitches)))
        at = onset + duration
    if measure.length > at:
        events.append(Event(at, measure.length - at))
    return tuple(events)


def part_starts(tune: Tune) -> set[int]:
    """Indexes in ``whole_measures`` at which a part marked by repeat signs or endings begins.

    A sign inside a bar counts for the bar after it; the start of the tune is left out.
    """
    last = max((n for m in tune.measures for n in m.endings), default=0)
    kept = [m for m in tune.measures if not (m.endings and last > 1 and last not in m.endings)]
    signs, at, before = set(), Fraction(0), Measure()
    for measure in kept:
        if (":" in measure.left and not measure.endings) or (before.endings and not measure.endings):
            signs.add(at)
        at += measure.length
        if ":" in measure.right:
            signs.add(at)
        before = measure
    starts, at = [], Fraction(0)
    for measure in whole_measures(tune):
        starts.append(at)
        at += measure.length
    found = {next((i for i, start in enumerate(starts) if start >= sign), 0) for sign in signs}
    return found - ({0, 1} if tune.measures[0].length < Fraction(*tune.meter) else {0})

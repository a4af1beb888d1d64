"""One voice of ABC as it is read, a line at a time: notes, lengths, signs and bars.

Source: the ABC notation standard 2.1 (December 2011); sections are named where they
are followed.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from pieces.music.score import Bar, ChordMark, Event, Meter, Note
from pieces.reading.abc_tunes import ALTERATION, Key, read_key, read_meter, read_unit
from pieces.reading.barring import one_line, stacked
from pieces.reading.refusals import MOST_BARS, MOST_NOTES, refused

_LENGTH = r"(\d{0,4}(?:/\d{0,4}){0,4})"
_PITCH = r"(\^\^|\^|__|_|=)?([A-Ga-g])([,']{0,6})"
_TOKEN = re.compile(
    rf"""
    (?P<text>"[^"]*")
  | (?P<field>\[[A-Za-z]:[^\]]*\])
  | (?P<ending>\[\s*(?=[\d"])(?:"[^"]*"|\d[\d,\-]*))
  | (?P<bar>\.?(?:(?::*\[\|\]?|:*\|)(?:[|:\]]|\[\|)*|::+|\[\])(?P<number>\d[\d,\-]*)?)
  | (?P<grace>\{{/?[^}}]*\}})
  | (?P<mark>![^!\s]*!|\+[^+\s]+\+)
  | (?P<chord>\[[^\[\]|]*\]){_LENGTH.replace("(", "(?P<chord_length>", 1)}
  | (?P<note>{_PITCH}){_LENGTH.replace("(", "(?P<note_length>", 1)}
  | (?P<rest>[zx]){_LENGTH.replace("(", "(?P<rest_length>", 1)}
  | (?P<bars_rest>[ZX])(?P<bars>\d{{0,3}})
  | (?P<broken>>{{1,3}}|<{{1,3}})
  | (?P<tuplet>\((?P<p>\d{{1,2}})(?::(?P<q>\d{{0,2}}))?(?::(?P<r>\d{{0,2}}))?)
  | (?P<tie>-)
  | (?P<overlay>&)
  | (?P<short>[~.H-Wh-w])
  | (?P<space>[\s)`*$y\\]+|\(|!)
  | (?P<other>.)
    """,
    re.VERBOSE | re.DOTALL,
)
_STRAY_SIGN = re.compile(
    r'(\^\^?|__?|=)("[^"]*")(?=[A-Ga-g])'
)  # a finger written between a sign and its note
_INNER = re.compile(rf"{_PITCH}{_LENGTH}(-?)")
_SEMITONE = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
# How many notes fill the time of p notes where the tuplet does not say (section 4.13).
_TUPLET_TIME = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
_SYMBOL = re.compile(r"[A-G][#b♯♭]?(?![a-z]{0,2}[A-Z ])[\w#♯♭()+°øΔ△/^-]*\Z")
_ROADS = re.compile(
    r"!(D\.C\.|D\.S\.|dacapo|dacoda|segno|coda|fine|D\.[CS]\.al(?:coda|fine))!", re.IGNORECASE
)


Named = tuple[str, str, int]  # letter, octave marks, pitch


@dataclass
class _Open:
    """The bar being written: its voices (the last is written to), signs and carried accidentals."""

    voices: list[list[Event]] = field(default_factory=lambda: [[]])
    chords: list[ChordMark] = field(default_factory=list)
    carried: dict[str, int] = field(default_factory=dict)
    meter: Meter | None = None
    letter: str = ""
    remark: str = ""
    key: str = ""
    opens_repeat: bool = False
    endings: tuple[int, ...] = ()

    @property
    def at(self) -> Fraction:
        return self.voices[-1][-1].end if self.voices[-1] else Fraction(0)

    @property
    def is_empty(self) -> bool:
        return not any(self.voices)


class Voice:
    """One voice as it is read: state that lasts from bar to bar, and the bars so far."""

    def __init__(self, key: Key, meter: Meter, unit: Fraction):
        self.key, self.meter, self.unit = key, meter, unit
        self.bars: list[Bar] = []
        self.open = _Open()
        self.tied: list[Named] = []
        self.last_names: list[Named] = []
        self.grace: tuple[Note, ...] = ()
        self.broken: Fraction | None = None
        self.tuplet: tuple[int, int] | None = None
        self.in_tuplet = 0
        self.symbol, self.accent, self.finger = "", False, None
        self.line_starts: list[int] = []
        self.words: list[tuple[int, str]] = []
        self.struck = 0
        self.unknown: Counter[str] = Counter()


def voice_id(text: str) -> str:
    return (text.split() or [""])[0]


def read_line(line: str, current: str, voice_named: Callable[[str], Voice]) -> str:
    """Read one line of music; returns the voice that the next line goes on with."""
    voice = voice_named(current)
    voice.line_starts.append(voice.struck)
    for token in _TOKEN.finditer(_STRAY_SIGN.sub(r"\2\1", line)):
        kind, text = _outer_kind(token), token[0]
        if kind == "field":
            if text[1] == "V":
                current = voice_id(text[3:-1])
                voice = voice_named(current)
                voice.line_starts.append(voice.struck)
            else:
                obey(voice, text[1], text[3:-1])
        else:
            _READ[kind](voice, token)
        if voice.struck > MOST_NOTES or len(voice.bars) > MOST_BARS:
            raise refused("This tune is too long for one piece.", "Bring it in parts.")
    _end_line(voice)
    return current


def _end_line(voice: Voice) -> None:
    """A bar that is full where the line ends is over, though many files leave the barline out there.

    Signs carry on, as no barline is written.
    """
    if not voice.open.is_empty and voice.open.at == voice.meter.length and len(voice.open.voices) == 1:
        carried = voice.open.carried
        _close(voice)
        voice.open.carried = carried


def _outer_kind(token: re.Match) -> str:
    return next(name for name in _READ if token[name] is not None)


def obey(voice: Voice, letter: str, text: str) -> None:
    """A field in the body of the tune: key, meter, unit length or part."""
    if letter == "K":
        voice.key = read_key(text, voice.key)
        if voice.open.is_empty:
            voice.open.key = voice.key.name
    elif letter == "M":
        try:
            voice.meter = read_meter(text) or voice.meter
        except ValueError:
            voice.unknown[f"M:{text}"] += 1
    elif letter == "L":
        voice.unit = read_unit(text) or voice.unit
    elif letter == "P" and len(text.strip()) <= 20:
        voice.open.letter = text.strip()


def _read_text(voice: Voice, token: re.Match) -> None:
    text = token["text"][1:-1].strip()
    if _SYMBOL.match(text.strip("()")):
        voice.symbol = text.strip("()").replace("♯", "#").replace("♭", "b")
    elif text in ("1", "2", "3", "4"):
        voice.finger = int(text)
    else:
        _read_road(voice, text.lstrip("^_<>@"))


def _read_road(voice: Voice, text: str) -> None:
    """D.C., segno and their like: a remark on the bar, as it stands."""
    if _ROADS.fullmatch(text.strip()):
        voice.open.remark = " ".join(filter(None, [voice.open.remark, text.strip()]))


def _read_mark(voice: Voice, token: re.Match) -> None:
    text = token["mark"].replace("+", "!")
    if text in ("!>!", "!accent!", "!emphasis!"):
        voice.accent = True
    elif text in ("!1!", "!2!", "!3!", "!4!"):
        voice.finger = int(text[1])
    else:
        _read_road(voice, text.strip("!"))


def _read_short(voice: Voice, token: re.Match) -> None:
    voice.accent = voice.accent or token["short"] == "L"


def _read_grace(voice: Voice, token: re.Match) -> None:
    notes = [Note(_pitch(voice, m[1], m[2], m[3])) for m in _INNER.finditer(token["grace"])]
    voice.grace += tuple(notes[: 16 - len(voice.grace)])


def _read_note(voice: Voice, token: re.Match) -> None:
    sign, letter, octave = _INNER.match(token["note"]).group(1, 2, 3)
    note = _note(voice, sign, letter, octave)
    _add(voice, (note,), _length(token["note_length"]) * voice.unit, [(letter, octave, note.pitch)])


def _read_chord(voice: Voice, token: re.Match) -> None:
    """Notes in brackets; the first says how long the chord lasts (section 4.17)."""
    inner = list(_INNER.finditer(token["chord"]))
    if not inner:
        return
    outer = _length(token["chord_length"]) * voice.unit
    lasts = _length(inner[0][4]) * outer
    notes, names = [], []
    for m in inner[:12]:
        own = _length(m[4]) * outer
        note = _note(voice, m[1], m[2], m[3])
        notes.append(note if own == lasts else replace(note, length=own))
        names.append((m[2], m[3], note.pitch))
    _add(voice, stacked(notes), lasts, names)
    voice.tied = [name for name, m in zip(names, inner, strict=False) if m[5]]


def _read_rest(voice: Voice, token: re.Match) -> None:
    _add(voice, (), _length(token["rest_length"]) * voice.unit, [])


def _read_bars_rest(voice: Voice, token: re.Match) -> None:
    if not voice.open.is_empty:
        # Inside a bar it can only be meant as z: many files have it so.
        _add(voice, (), Fraction(int(token["bars"] or 1)) * voice.unit, [])
        return
    count = max(1, min(int(token["bars"] or 1), 200))
    for left in range(count, 0, -1):
        _add(voice, (), voice.meter.length, [])
        if left > 1:
            _close(voice)


def _read_broken(voice: Voice, token: re.Match) -> None:
    """``a>b``: the first lengthened, the second shortened; ``>>`` twice dotted (section 4.4)."""
    signs = token["broken"]
    part = Fraction(1, 2 ** len(signs))
    first, second = (2 - part, part) if signs[0] == ">" else (part, 2 - part)
    row = voice.open.voices[-1]
    if row:
        last = row[-1]
        notes = tuple(n if n.length is None else replace(n, length=n.length * first) for n in last.notes)
        row[-1] = replace(last, duration=last.duration * first, notes=notes)
        voice.broken = second


def _read_tuplet(voice: Voice, token: re.Match) -> None:
    p = int(token["p"])
    compound = voice.meter.compound
    q = int(token["q"]) if token["q"] else _TUPLET_TIME.get(p, 3 if compound else 2)
    r = int(token["r"]) if token["r"] else p
    if 2 <= p <= 32 and 1 <= q <= 32:
        voice.tuplet, voice.in_tuplet = (p, q), min(r, 64)


def _read_tie(voice: Voice, token: re.Match) -> None:
    row = voice.open.voices[-1]
    if row and row[-1].notes:
        voice.tied = list(voice.last_names)


def _read_overlay(voice: Voice, token: re.Match) -> None:
    voice.open.voices.append([])
    voice.tied = []


def _read_ending(voice: Voice, token: re.Match) -> None:
    _begin_ending(voice, token["ending"][1:].strip().strip('"'))


def _read_bar(voice: Voice, token: re.Match) -> None:
    signs = token["bar"].lstrip(".")
    number = token["number"]
    if number:
        signs = signs[: -len(number)]
    signs = signs.replace("[|]", "").replace("[", "").replace("]", "") or "|"
    left, right = (signs, signs) if "|" not in signs else (signs.split("|")[0], signs.rsplit("|", 1)[1])
    closes, opens = ":" in left, ":" in right
    ends_bracket = token["bar"] != "|"
    times = max(2, left.count(":") + 1) if "|" in signs else 2
    if not voice.open.is_empty:
        _close(voice, times if closes else 0)
    elif closes and voice.bars and not voice.bars[-1].repeats:
        voice.bars[-1] = _repeated(voice.bars[-1], times)
    if ends_bracket:
        voice.open.endings = ()
    voice.open.opens_repeat = voice.open.opens_repeat or opens
    voice.open.carried.clear()
    if number:
        _begin_ending(voice, number)


def _read_space(voice: Voice, token: re.Match) -> None:
    pass


def _read_other(voice: Voice, token: re.Match) -> None:
    voice.unknown[token["other"]] += 1


_READ = {
    "text": _read_text,
    "field": None,
    "ending": _read_ending,
    "bar": _read_bar,
    "grace": _read_grace,
    "mark": _read_mark,
    "chord": _read_chord,
    "note": _read_note,
    "rest": _read_rest,
    "bars_rest": _read_bars_rest,
    "broken": _read_broken,
    "tuplet": _read_tuplet,
    "tie": _read_tie,
    "overlay": _read_overlay,
    "short": _read_short,
    "space": _read_space,
    "other": _read_other,
}


def _begin_ending(voice: Voice, text: str) -> None:
    endings = tuple(_passes(text))
    if not voice.open.is_empty:
        _close(voice)
    voice.open.endings = endings


def _passes(text: str) -> Iterator[int]:
    """The passes of an ending: ``1``, ``1,3`` or ``1-3``."""
    for part in text.split(","):
        first, _, last = part.strip().partition("-")
        if first.isdecimal():
            yield from range(
                int(first), min(int(last) if last.isdecimal() else int(first), int(first) + 8) + 1
            )


def _length(text: str | None) -> Fraction:
    """A note length written after a note: ``2``, ``3/2``, ``/``, ``//`` (section 4.3)."""
    if not text:
        return Fraction(1)
    whole, *parts = text.split("/")
    length = Fraction(int(whole) if whole else 1)
    for part in parts:
        length /= int(part) if part and int(part) else 2
    return length or Fraction(1)


def _pitch(voice: Voice, sign: str | None, letter: str, octave: str) -> int:
    name = letter.upper()
    if sign:
        voice.open.carried[name] = ALTERATION[sign]
    alter = voice.open.carried.get(name, voice.key.altered.get(name, 0))
    height = 12 * (octave.count("'") - octave.count(",")) + (12 if letter.islower() else 0)
    return 60 + _SEMITONE[name] + alter + height + voice.key.shift


def _note(voice: Voice, sign: str | None, letter: str, octave: str) -> Note:
    """The note of that name; held where a tie leads to it, even across the barline."""
    leads = [named for named in voice.tied if named[:2] == (letter, octave)]
    pitch = leads[0][2] if leads and not sign else _pitch(voice, sign, letter, octave)
    tie = (letter, octave, pitch)
    if tie in leads:
        voice.tied.remove(tie)
    return Note(max(0, min(127, pitch)), tied=tie in leads)


def _add(voice: Voice, notes: tuple[Note, ...], duration: Fraction, names: list[Named]) -> None:
    """The next event of the voice: notes or, where there are none, a rest."""
    if voice.open.meter is None:
        voice.open.meter = voice.meter
    scale, tuplet = Fraction(1), None
    if voice.broken is not None:
        scale, voice.broken = voice.broken, None
    if voice.in_tuplet:
        tuplet = voice.tuplet
        scale *= Fraction(tuplet[1], tuplet[0])
        voice.in_tuplet -= 1
    at = voice.open.at
    if voice.symbol:
        voice.open.chords.append(ChordMark(at, voice.symbol))
    if voice.finger and len(notes) == 1:
        notes = (replace(notes[0], finger=voice.finger),)
    notes = tuple(n if n.length is None else replace(n, length=n.length * scale) for n in notes)
    grace = voice.grace if notes else ()
    event = Event(at, duration * scale, notes, accent=voice.accent, grace=grace, tuplet=tuplet)
    voice.open.voices[-1].append(event)
    voice.symbol, voice.accent, voice.finger, voice.grace = "", False, None, ()
    voice.tied, voice.last_names = [], names
    voice.struck += bool(notes)


def _repeated(bar: Bar, times: int) -> Bar:
    return replace(bar, repeats=max(times, *bar.endings) if bar.endings else times)


def _close(voice: Voice, times: int = 0) -> None:
    """Write the open bar; the next one begins inside the same ending."""
    was = voice.open
    bar = Bar(
        number=len(voice.bars) + 1,
        meter=was.meter or voice.meter,
        events=one_line(was.voices),
        chords=tuple(was.chords),
        letter=was.letter,
        opens_repeat=was.opens_repeat,
        endings=was.endings,
        remark=was.remark,
        key=was.key if voice.bars else "",
    )
    voice.bars.append(_repeated(bar, times) if times else bar)
    voice.open = _Open(endings=was.endings)


def finish(voice: Voice) -> bool:
    """Close the last bar; whether any note was found."""
    if not voice.open.is_empty:
        _close(voice)
    return any(event.notes for bar in voice.bars for event in bar.events)

"""ABC into a score, by the ABC notation standard 2.1 (December 2011).

Our own reader and not music21's, which takes ``Z2`` for a note, loses ``[K:]`` and
``[M:]`` inside a line, ties between chords, endings longer than a bar and the words,
and cuts a bar that is too long in two without a word. Accidentals carry to the
barline at every octave (section 11.3, the default).
"""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Problem, Score, UnreadableScore
from pieces.reading.abc_tunes import (
    ALTERATION,
    Key,
    Tune,
    default_unit,
    names_key,
    read_key,
    read_meter,
    read_tempo,
    read_unit,
    tunes_of,
)
from pieces.reading.abc_words import sing
from pieces.reading.barring import numbered, one_line, stacked, sum_problems
from pieces.reading.refusals import MOST_BARS, MOST_NOTES, refuse

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


class _Voice:
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


def parts_of_abc(text: str) -> list[tuple[Tune, str | None, str]]:
    """Everything in the file that can be taken: (tune, voice or None, what to call it)."""
    found = []
    for tune in tunes_of(text):
        voices = _voice_names(tune)
        title = tune.title or "Tune"
        if len(voices) < 2:
            found.append((tune, None, title))
        else:
            found += [(tune, voice, f"{title}: {name}") for voice, name in voices.items()]
    return found


def read_tune(tune: Tune, chosen: str | None = None) -> tuple[Score, list[Problem]]:
    """The score of one tune (of one of its voices), and what is doubtful in it.

    >>> score, _ = read_tune(tunes_of("X:1\\nT:Scale\\nM:4/4\\nL:1/4\\nK:G\\nE F ^c c|")[0])
    >>> [note.pitch for event in score.bars[0].events for note in event.notes]
    [64, 66, 73, 73]

    Raises ``UnreadableScore`` where there are no notes.
    """
    meter, problems = _meter_of(tune)
    unit = read_unit(tune.last("L") or "") or default_unit(meter)
    key = read_key(tune.last("K") or "")
    problems += _key_problems(tune)
    voices: dict[str, _Voice] = {}
    current = chosen if chosen is not None else ""
    shifts = _voice_shifts(tune)

    def voice_named(name: str) -> _Voice:
        if name not in voices:
            own = replace(key, shift=key.shift + shifts.get(name, 0))
            voices[name] = _Voice(own, meter or Meter(4, 4), unit)
        return voices[name]

    for _, line in tune.lines:
        letter = line[0] if re.match(r"[A-Za-z]:", line) and not line.startswith(("|", "::")) else ""
        if letter == "V":
            current = _voice_id(line[2:])
        elif letter == "w":
            voice = voice_named(current)
            if voice.line_starts:
                voice.words.append((len(voice.line_starts) - 1, line[2:]))
        elif letter:
            _obey(voice_named(current), letter, line[2:])
        else:
            current = _read_line(line, current, voice_named)
    voice = voices.get(chosen) if chosen is not None else next(iter(voices.values()), None)
    if voice is None or not _finish(voice):
        raise UnreadableScore(
            [refuse("No notes stand in this ABC text.", "A tune has a K: line and notes after it.")]
        )
    bars = sing(numbered(voice.bars), voice.line_starts, voice.words)
    if meter is None:
        bars, told = _free_meter(bars)
        problems.append(told)
    score = Score(
        title=tune.title,
        meter=bars[0].meter,
        bars=bars,
        key=key.name,
        tempo=next((t for t in (_tempo(f, bars[0].meter) for f in tune.header) if t), None),
        credit=tune.last("C") or "",
    )
    return score, problems + _unknown_problems(voice) + sum_problems(bars)


def _tempo(header: tuple[str, str], meter: Meter) -> int | None:
    return read_tempo(header[1], meter) if header[0] == "Q" else None


def _meter_of(tune: Tune) -> tuple[Meter | None, list[Problem]]:
    written = tune.last("M")
    try:
        return (read_meter(written) if written else None), []
    except ValueError:
        message = f"M:{written} is no meter."
        return None, [Problem(message, "Write it as M:4/4, M:3/4 or M:6/8.", fatal=False)]


def _key_problems(tune: Tune) -> list[Problem]:
    written = tune.last("K")
    if written is None or names_key(written):
        return []
    message = f"K:{written[:20]} names no key, so no sharps or flats are taken."
    return [Problem(message, "Write it as K:G, K:Am or K:Ddor.", fatal=False)]


def _voice_names(tune: Tune) -> dict[str, str]:
    """Each voice of the tune in order, with the name the file gives it."""
    names: dict[str, str] = {}
    said = [text for letter, text in tune.header if letter == "V"]
    for _, line in tune.lines:
        said += [line[2:]] if line.startswith("V:") else re.findall(r"\[V:([^\]]*)\]", line)
    for text in said:
        match = re.search(r'(?:\bname|\bnm)="?([^"]*)"?', text)
        name = names.setdefault(_voice_id(text), f"voice {_voice_id(text)}")
        if match and name.startswith("voice "):
            names[_voice_id(text)] = match[1].strip() or name
    return names


def _voice_shifts(tune: Tune) -> dict[str, int]:
    return {
        _voice_id(text): read_key(text.split(" ", 1)[-1], Key()).shift
        for name, text in tune.header
        if name == "V"
    }


def _voice_id(text: str) -> str:
    return (text.split() or [""])[0]


def _read_line(line: str, current: str, voice_named) -> str:
    """Read one line of music; returns the voice that the next line goes on with."""
    voice = voice_named(current)
    voice.line_starts.append(voice.struck)
    for token in _TOKEN.finditer(_STRAY_SIGN.sub(r"\2\1", line)):
        kind, text = _outer_kind(token), token[0]
        if kind == "field":
            if text[1] == "V":
                current = _voice_id(text[3:-1])
                voice = voice_named(current)
                voice.line_starts.append(voice.struck)
            else:
                _obey(voice, text[1], text[3:-1])
        else:
            _READ[kind](voice, token)
        if voice.struck > MOST_NOTES or len(voice.bars) > MOST_BARS:
            raise UnreadableScore([refuse("This tune is too long for one piece.", "Bring it in parts.")])
    _end_line(voice)
    return current


def _end_line(voice: _Voice) -> None:
    """A bar that is full where the line ends is over, though many files leave the barline out there.

    Signs carry on, as no barline is written.
    """
    if not voice.open.is_empty and voice.open.at == voice.meter.length and len(voice.open.voices) == 1:
        carried = voice.open.carried
        _close(voice)
        voice.open.carried = carried


def _outer_kind(token: re.Match) -> str:
    return next(name for name in _READ if token[name] is not None)


def _obey(voice: _Voice, letter: str, text: str) -> None:
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


def _read_text(voice: _Voice, token: re.Match) -> None:
    text = token["text"][1:-1].strip()
    if _SYMBOL.match(text.strip("()")):
        voice.symbol = text.strip("()").replace("♯", "#").replace("♭", "b")
    elif text in ("1", "2", "3", "4"):
        voice.finger = int(text)
    else:
        _read_road(voice, text.lstrip("^_<>@"))


def _read_road(voice: _Voice, text: str) -> None:
    """D.C., segno and their like: a remark on the bar, as it stands."""
    if _ROADS.fullmatch(text.strip()):
        voice.open.remark = " ".join(filter(None, [voice.open.remark, text.strip()]))


def _read_mark(voice: _Voice, token: re.Match) -> None:
    text = token["mark"].replace("+", "!")
    if text in ("!>!", "!accent!", "!emphasis!"):
        voice.accent = True
    elif text in ("!1!", "!2!", "!3!", "!4!"):
        voice.finger = int(text[1])
    else:
        _read_road(voice, text.strip("!"))


def _read_short(voice: _Voice, token: re.Match) -> None:
    voice.accent = voice.accent or token["short"] == "L"


def _read_grace(voice: _Voice, token: re.Match) -> None:
    notes = [Note(_pitch(voice, m[1], m[2], m[3])) for m in _INNER.finditer(token["grace"])]
    voice.grace += tuple(notes[: 16 - len(voice.grace)])


def _read_note(voice: _Voice, token: re.Match) -> None:
    sign, letter, octave = _INNER.match(token["note"]).group(1, 2, 3)
    note = _note(voice, sign, letter, octave)
    _add(voice, (note,), _length(token["note_length"]) * voice.unit, [(letter, octave, note.pitch)])


def _read_chord(voice: _Voice, token: re.Match) -> None:
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


def _read_rest(voice: _Voice, token: re.Match) -> None:
    _add(voice, (), _length(token["rest_length"]) * voice.unit, [])


def _read_bars_rest(voice: _Voice, token: re.Match) -> None:
    if not voice.open.is_empty:
        # Inside a bar it can only be meant as z: many files have it so.
        _add(voice, (), Fraction(int(token["bars"] or 1)) * voice.unit, [])
        return
    count = max(1, min(int(token["bars"] or 1), 200))
    for left in range(count, 0, -1):
        _add(voice, (), voice.meter.length, [])
        if left > 1:
            _close(voice)


def _read_broken(voice: _Voice, token: re.Match) -> None:
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


def _read_tuplet(voice: _Voice, token: re.Match) -> None:
    p = int(token["p"])
    compound = voice.meter.compound
    q = int(token["q"]) if token["q"] else _TUPLET_TIME.get(p, 3 if compound else 2)
    r = int(token["r"]) if token["r"] else p
    if 2 <= p <= 32 and 1 <= q <= 32:
        voice.tuplet, voice.in_tuplet = (p, q), min(r, 64)


def _read_tie(voice: _Voice, token: re.Match) -> None:
    row = voice.open.voices[-1]
    if row and row[-1].notes:
        voice.tied = list(voice.last_names)


def _read_overlay(voice: _Voice, token: re.Match) -> None:
    voice.open.voices.append([])
    voice.tied = []


def _read_ending(voice: _Voice, token: re.Match) -> None:
    _begin_ending(voice, token["ending"][1:].strip().strip('"'))


def _read_bar(voice: _Voice, token: re.Match) -> None:
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


def _read_space(voice: _Voice, token: re.Match) -> None:
    pass


def _read_other(voice: _Voice, token: re.Match) -> None:
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


def _begin_ending(voice: _Voice, text: str) -> None:
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


def _pitch(voice: _Voice, sign: str | None, letter: str, octave: str) -> int:
    name = letter.upper()
    if sign:
        voice.open.carried[name] = ALTERATION[sign]
    alter = voice.open.carried.get(name, voice.key.altered.get(name, 0))
    height = 12 * (octave.count("'") - octave.count(",")) + (12 if letter.islower() else 0)
    return 60 + _SEMITONE[name] + alter + height + voice.key.shift


def _note(voice: _Voice, sign: str | None, letter: str, octave: str) -> Note:
    """The note of that name; held where a tie leads to it, even across the barline."""
    leads = [named for named in voice.tied if named[:2] == (letter, octave)]
    pitch = leads[0][2] if leads and not sign else _pitch(voice, sign, letter, octave)
    tie = (letter, octave, pitch)
    if tie in leads:
        voice.tied.remove(tie)
    return Note(max(0, min(127, pitch)), tied=tie in leads)


def _add(voice: _Voice, notes: tuple[Note, ...], duration: Fraction, names: list[Named]) -> None:
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


def _close(voice: _Voice, times: int = 0) -> None:
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


def _finish(voice: _Voice) -> bool:
    """Close the last bar; whether any note was found."""
    if not voice.open.is_empty:
        _close(voice)
    return any(event.notes for bar in voice.bars for event in bar.events)


def _free_meter(bars: tuple[Bar, ...]) -> tuple[tuple[Bar, ...], Problem]:
    """A file without meter takes the one its bars have most often."""
    lengths = Counter(bar.length for bar in bars)
    common = lengths.most_common(1)[0][0]
    unit = max(4, common.denominator)
    fits = common.numerator * unit // common.denominator <= 32 and unit <= 32
    meter = Meter(int(common * unit), unit) if fits and common * unit >= 1 else Meter(4, 4)
    told = Problem(
        f"The file gives no meter. Most of its bars last {meter}, so that is taken.",
        "Add a line such as M:3/4 if that is wrong.",
        fatal=False,
    )
    return numbered(tuple(replace(bar, meter=meter) for bar in bars)), told


def _unknown_problems(voice: _Voice) -> list[Problem]:
    if not voice.unknown:
        return []
    marks = " ".join(mark for mark, _ in voice.unknown.most_common(8))
    return [
        Problem(f"Passed over, as it is no ABC: {marks}", "Compare the notes with the paper.", fatal=False)
    ]

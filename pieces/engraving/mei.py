"""A score in the Music Encoding Initiative's format, for staff notation.

Source: the MEI guidelines, version 5. Octaves are those that sound: a guitar's clef
carries the small 8 that sets it an octave lower.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple
from xml.etree import ElementTree as ET

from pieces.engraving.rhythm import Value, beam_groups, tuplet_groups, written
from pieces.music.keys import fifths, spell
from pieces.music.score import Bar, Event, Meter, Note, Score
from pieces.music.tuning import Tuning

NAMESPACE = "http://www.music-encoding.org/ns/mei"
_ID = "{http://www.w3.org/XML/1998/namespace}id"
_SHARPS = "FCGDAEB"
_ACCIDENTALS = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "x"}
# The lowest open string decides: from G3 the treble clef, from E2 that of the guitar.
_TREBLE_FROM, _GUITAR_FROM = 55, 40


def mei(
    score: Score,
    *,
    prefix: str = "s",
    chords: bool = True,
    lyrics: bool = True,
    per_system: int | None = None,
    opens: bool = True,
    ends: bool = True,
) -> str:
    """``score`` as MEI with exact rhythms.

    A measure has the id of its bar (``sb3``) and every note, chord or rest that of its
    event (``sb3e2``); where a length needs tied values, the later ones end in ``p2``,
    ``p3`` ... ``per_system`` breaks the line after that many bars. For a line from the
    middle of a piece, ``opens`` and ``ends`` are False: no meter before it, no final bar
    line after it.
    """
    root = ET.Element("mei", {"xmlns": NAMESPACE, "meiversion": "5.0"})
    titles = _sub(_sub(_sub(root, "meiHead"), "fileDesc"), "titleStmt")
    _sub(titles, "title").text = score.title
    _sub(root.find("meiHead/fileDesc"), "pubStmt")
    body = _sub(_sub(_sub(_sub(root, "music"), "body"), "mdiv"), "score")
    meter = score.bars[0].meter if score.bars else score.meter
    key = (score.bars[0].key if score.bars else "") or score.key
    staff_group = _sub(_sub(body, "scoreDef", _signature(key, meter, shown=opens)), "staffGrp")
    _sub(staff_group, "staffDef", {"n": "1", "lines": "5", **_clef(score.tuning)})
    _write_bars(_sub(body, "section"), score, prefix, chords, lyrics, per_system, ends)
    return ET.tostring(root, encoding="unicode")


class _Setting(NamedTuple):
    """What the notes of a bar are written in."""

    tuning: Tuning
    key: str
    prefix: str
    lyrics: bool


class _Ties(NamedTuple):
    """Pitches that sound on into an event, and out of it."""

    into: frozenset[int]
    out: frozenset[int]


def _write_bars(
    section, score: Score, prefix: str, chords: bool, lyrics: bool, per_system: int | None, ends: bool
) -> None:
    key, meter, ties = score.key, score.bars[0].meter if score.bars else score.meter, _ties(score.bars)
    place, ending, in_line = section, None, 0
    for i, bar in enumerate(score.bars):
        if in_line == per_system:
            _sub(section, "sb")
            in_line = 0
        in_line += not bar.is_pickup
        changed = _changes(key, meter, bar) if i else {}
        if changed:
            _sub(section, "scoreDef", changed)
        key, meter = bar.key or key, bar.meter
        if bar.endings != (ending or ()):
            ending = bar.endings
            numbers = ", ".join(map(str, bar.endings))
            place = _sub(section, "ending", {"n": f"{numbers}."}) if bar.endings else section
        measure = _sub(
            place, "measure", _measure_attributes(bar, prefix, last=ends and i == len(score.bars) - 1)
        )
        layer = _sub(_sub(measure, "staff", {"n": "1"}), "layer", {"n": "1"})
        _write_events(layer, bar, ties[i], _Setting(score.tuning, key, prefix, lyrics))
        if chords:
            for mark in bar.chords:
                stamp = {"staff": "1", "place": "above", "tstamp": _stamp(mark.onset, bar.meter)}
                _sub(measure, "harm", stamp).text = mark.symbol


def _sub(parent, tag: str, attributes: dict[str, str] | None = None):
    return ET.SubElement(parent, tag, attributes or {})


def _signature(key: str, meter: Meter, *, shown: bool = True) -> dict[str, str]:
    signs = fifths(key)
    keysig = f"{abs(signs)}{'s' if signs > 0 else 'f'}" if signs else "0"
    signature = {"keysig": keysig, "meter.count": str(meter.beats), "meter.unit": str(meter.unit)}
    return signature if shown else {**signature, "meter.visible": "false"}


def _changes(key: str, meter: Meter, bar: Bar) -> dict[str, str]:
    """What of the signature is new in ``bar``."""
    now = _signature(bar.key or key, bar.meter)
    was = _signature(key, meter)
    changed = {name for name in now if now[name] != was[name]}
    if bar.meter != meter:
        changed |= {"meter.count", "meter.unit"}
    return {name: value for name, value in now.items() if name in changed}


def _clef(tuning: Tuning) -> dict[str, str]:
    lowest = min(tuning.open_pitches)
    octave = {"clef.dis": "8", "clef.dis.place": "below"}
    if lowest < _GUITAR_FROM:
        return {"clef.shape": "F", "clef.line": "4", **octave}
    return {"clef.shape": "G", "clef.line": "2", **({} if lowest >= _TREBLE_FROM else octave)}


def _measure_attributes(bar: Bar, prefix: str, *, last: bool) -> dict[str, str]:
    attributes = {"n": str(bar.number), _ID: f"{prefix}b{bar.number}"}
    if bar.length != bar.meter.length:
        attributes["metcon"] = "false"
    if bar.opens_repeat:
        attributes["left"] = "rptstart"
    if bar.repeats > 1:
        attributes["right"] = "rptend"
    elif last:
        attributes["right"] = "end"
    return attributes


def _stamp(onset: Fraction, meter: Meter) -> str:
    """A moment of a bar in beats from 1, as MEI counts them."""
    return f"{float(onset * meter.unit + 1):g}"


def _ties(bars: Sequence[Bar]) -> list[list[_Ties]]:
    """For each event of each bar, which pitches are tied to it and on from it."""

    flat = [event for bar in bars for event in bar.events]
    sounding = [_pitches(event) for event in flat]
    held = [frozenset(note.pitch for note in event.notes if note.tied and not note.muted) for event in flat]
    into = [frozenset(), *(h & before for h, before in zip(held[1:], sounding, strict=False))]
    pairs = iter(_Ties(a, b) for a, b in zip(into, [*into[1:], frozenset()], strict=False))
    return [[next(pairs) for _ in bar.events] for bar in bars]


def _pitches(event: Event) -> frozenset[int]:
    """What sounds in ``event``, muted strokes left out."""
    return frozenset(note.pitch for note in event.notes if note.pitch is not None and not note.muted)


def _write_events(layer, bar: Bar, ties: list[_Ties], setting: _Setting) -> None:
    accidentals: dict[tuple[str, int], int] = {}
    opened = _groups(bar)
    stack = [(layer, len(bar.events))]
    for i, event in enumerate(bar.events):
        while stack[-1][1] <= i:
            stack.pop()
        for tag, attributes, end in opened.get(i, ()):
            stack.append((_sub(stack[-1][0], tag, attributes), end))
        parent = stack[-1][0]
        ident = f"{setting.prefix}b{bar.number}e{i + 1}"
        for note in event.grace:
            grace = _note(parent, note, accidentals, setting, {"grace": "acc", "dur": "8"})
            grace.set("stem.dir", "up")
        if event.is_rest and event.duration == bar.length == bar.meter.length:
            _sub(parent, "mRest", {_ID: ident})
            continue
        values = written(event.duration, event.tuplet)
        for part, value in enumerate(values):
            last = part == len(values) - 1
            tied = _Ties(
                ties[i].into if part == 0 else _pitches(event),
                ties[i].out if last else _pitches(event),
            )
            name = ident if part == 0 else f"{ident}p{part + 1}"
            element = _value(parent, event, value, tied, accidentals, setting, name)
            if part == 0 and event.lyric and setting.lyrics and not event.is_rest:
                _sing(element, event.lyric)


def _groups(bar: Bar) -> dict[int, list[tuple[str, dict[str, str], int]]]:
    """Tuplets and beams by the event they open at; a beam that would cross a tuplet is left out."""
    tuplets = []
    for first, last, number in tuplet_groups(bar.events):
        normal = bar.events[first].tuplet[1]
        tuplets.append((first, last + 1, "tuplet", {"num": str(number), "numbase": str(normal)}))
    beams = []
    for group in beam_groups(bar):
        first, end = group[0], group[-1] + 1
        if all(_nested((first, end), (start, stop)) for start, stop, *_ in tuplets):
            beams.append((first, end, "beam", {}))
    opened: dict[int, list] = {}
    for first, end, tag, attributes in sorted(
        [*tuplets, *beams], key=lambda g: (g[0], -g[1], g[2] == "beam")
    ):
        opened.setdefault(first, []).append((tag, attributes, end))
    return opened


def _nested(one: tuple[int, int], two: tuple[int, int]) -> bool:
    apart = one[1] <= two[0] or two[1] <= one[0]
    inside = (one[0] >= two[0] and one[1] <= two[1]) or (two[0] >= one[0] and two[1] <= one[1])
    return apart or inside


def _value(parent, event: Event, value: Value, ties: _Ties, accidentals, setting: _Setting, ident: str):
    """One written value: a rest, a note, or a chord."""
    attributes = {_ID: ident, **_duration(value)}
    if event.is_rest:
        return _sub(parent, "rest", attributes)
    if event.accent:
        attributes["artic"] = "acc"
    if len(event.notes) == 1:
        element = _note(parent, event.notes[0], accidentals, setting, attributes, ties)
    else:
        element = _sub(parent, "chord", attributes)
        for note in event.notes:
            _note(element, note, accidentals, setting, {}, ties)
    return element


def _duration(value: Value) -> dict[str, str]:
    name = "breve" if value.base == 2 else str(int(1 / value.base))
    return {"dur": name, **({"dots": str(value.dots)} if value.dots else {})}


def _note(
    parent, note: Note, accidentals, setting: _Setting, attributes: dict[str, str], ties: _Ties | None = None
):
    """A note with its accidental where the signature and the bar so far do not give it."""
    pitch = note.pitch
    if note.muted or pitch is None:
        pitch = setting.tuning.open_pitch(note.string) if note.string else max(setting.tuning.open_pitches)
        letter, _, octave = spell(pitch, setting.key)
        cross = {"head.shape": "x", "pname": letter.lower(), "oct": str(octave)}
        return _sub(parent, "note", {**attributes, **cross})
    letter, alter, octave = spell(pitch, setting.key)
    place = {"pname": letter.lower(), "oct": str(octave)}
    into, out = (pitch in ties.into, pitch in ties.out) if ties else (False, False)
    if into or out:
        place["tie"] = "m" if into and out else "t" if into else "i"
    expected = accidentals.get((letter, octave), _signed(letter, setting.key))
    if alter == expected or into:
        if alter:
            place["accid.ges"] = _ACCIDENTALS[alter]
    else:
        place["accid"] = _ACCIDENTALS[alter]
        accidentals[letter, octave] = alter
    return _sub(parent, "note", {**attributes, **place})


def _signed(letter: str, key: str) -> int:
    """What the signature of ``key`` does to ``letter``: 1, 0 or -1.

    >>> _signed("F", "G"), _signed("B", "F"), _signed("C", "G")
    (1, -1, 0)
    """
    signs = fifths(key)
    if signs > 0:
        return int(letter in _SHARPS[:signs])
    return -int(letter in _SHARPS[::-1][:-signs])


def _sing(element, lyric: str) -> None:
    syllable = _sub(_sub(element, "verse", {"n": "1"}), "syl", {"con": "d"} if lyric.endswith("-") else {})
    syllable.text = lyric.rstrip("-")

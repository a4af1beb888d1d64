"""Chord symbols: read them, sound them, spell them, and name what sounds.

Pitch classes count semitones above C (0 to 11); pitches are MIDI numbers.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from pieces.music.qualities import ALIASES, MAJOR_SCALE, QUALITIES, Quality, semitones
from pieces.music.tuning import NOTE_NAMES

LETTERS = "CDEFGAB"
DEGREE_NAMES = {
    1: "root",
    2: "second",
    3: "third",
    4: "fourth",
    5: "fifth",
    6: "sixth",
    7: "seventh",
    9: "ninth",
    11: "eleventh",
    13: "thirteenth",
}
_NOTE = re.compile(r"([A-G])(##|bb|x|#|b)?")
_ALTERATION = {"": 0, "#": 1, "b": -1, "##": 2, "x": 2, "bb": -2}
_SIGNS = str.maketrans({"♭": "b", "♯": "#", "Δ": "maj7", "△": "maj7", "–": "-", "−": "-", "Ø": "ø", "º": "°"})
# Each way of writing part of a suffix, and the one way this table's suffixes are written.
_REWRITE = tuple(
    (re.compile(pattern), plain)
    for pattern, plain in (
        (r"[(),\s]", ""),
        (r"maj7(?=7|9|11|13)", "maj"),
        (r"(?i:major|maj|ma(?![a-z]))", "maj"),
        (r"(?i:minor|min|mi(?![a-z]))", "m"),
        (r"(?i:dim)|°|(?<![a-z])o", "dim"),
        (r"(?i:aug)", "aug"),
        (r"(?i:dom)", "dom"),
        (r"(?i:sus)", "sus"),
        (r"(?i:add)", "add"),
        (r"(?<=\d)-(?=\d)", "b"),
        (r"(?<=\d)\+(?=\d)", "#"),
        (r"-", "m"),
        (r"\+", "aug"),
        (r"^(m?)ø", r"ø"),
    )
)


class UnknownChord(ValueError):
    """A chord symbol that names no chord; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Chord:
    """What a symbol asks to sound.

    ``root`` and ``bass`` are pitch classes; ``bass`` is None unless a slash names
    it. ``quality`` is the suffix as this house writes it ("" major, "m", "maj7").
    ``tones`` are the pitch classes of the quality, root first; a slash bass that is
    foreign to the quality is not among them.
    """

    symbol: str
    root: int
    quality: str
    tones: tuple[int, ...]
    bass: int | None = None

    @property
    def sounding(self) -> tuple[int, ...]:
        """``tones``, with a foreign slash bass last."""
        foreign = self.bass is not None and self.bass not in self.tones
        return (*self.tones, self.bass) if foreign else self.tones

    @property
    def required(self) -> frozenset[int]:
        """Pitch classes that no shape may leave out."""
        spare = {(self.root + semitones(d)) % 12 for d in QUALITIES[self.quality].spare}
        kept = {tone for tone in self.tones if tone not in spare}
        return frozenset(kept if self.bass is None else kept | {self.bass})


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to name what sounds.

    ``missing`` are tones of the chord that do not sound, ``foreign`` those that
    sound and do not belong, as pitch classes. ``text`` says so in words. The lower
    ``cost`` the better; 0 is a plain major chord in root position.
    """

    symbol: str
    missing: tuple[int, ...]
    foreign: tuple[int, ...]
    text: str
    cost: float


@lru_cache(maxsize=4096)
def parse_chord(symbol: str) -> Chord:
    """Read a chord symbol. Raises ``UnknownChord`` on anything that names no chord.

    >>> parse_chord("F#m7b5")
    Chord(symbol='F#m7b5', root=6, quality='m7b5', tones=(6, 9, 0, 4), bass=None)
    >>> parse_chord("C/G").bass, parse_chord("C6/9").quality
    (7, '6/9')
    """
    text = symbol.strip().translate(_SIGNS)
    note = _NOTE.match(text)
    if not note:
        raise UnknownChord(f"{symbol!r} is no chord symbol; it starts with its root, as in C, F#m or Bb7.")
    body, slash, below = text[note.end() :].rpartition("/")
    bass = _NOTE.fullmatch(below.strip()) if slash else None
    suffix = body if bass else text[note.end() :]
    quality = _quality(suffix)
    if quality is None:
        raise UnknownChord(
            f"{symbol!r} is no chord Fourbar knows; {suffix.strip()!r} does not name a kind of chord. "
            "Write for instance m, 7, maj7, m7, dim, aug, sus4, 6 or add9 after the root."
        )
    root = _pitch_class(note)
    return Chord(
        symbol=symbol.strip(),
        root=root,
        quality=quality.suffix,
        tones=tuple((root + interval) % 12 for interval in quality.intervals),
        bass=_pitch_class(bass) if bass else None,
    )


def chord_tones(symbol: str) -> tuple[int, ...]:
    """Pitch classes a chord symbol asks to sound, root first, a foreign slash bass last.

    >>> chord_tones("Am7"), chord_tones("C/D")
    ((9, 0, 4, 7), (0, 4, 7, 2))
    """
    return parse_chord(symbol).sounding


def spell(symbol: str) -> dict[int, str]:
    """The letter name of each pitch class of a chord, spelled from its root.

    >>> spell("Fm")
    {5: 'F', 8: 'Ab', 0: 'C'}
    """
    chord = parse_chord(symbol)
    root = root_name(symbol)
    names = {(chord.root + semitones(d)) % 12: _spell(root, d) for d in QUALITIES[chord.quality].degrees}
    if chord.bass is not None and chord.bass not in names:
        names[chord.bass] = symbol.rpartition("/")[2].strip()
    return names


def degrees_of(symbol: str) -> dict[int, str]:
    """The degree of each pitch class of a chord's quality, root first.

    >>> degrees_of("Am7")
    {9: '1', 0: 'b3', 4: '5', 7: 'b7'}
    """
    chord = parse_chord(symbol)
    return {(chord.root + semitones(d)) % 12: d for d in QUALITIES[chord.quality].degrees}


def root_name(symbol: str) -> str:
    """The root as written, with # and b.

    >>> root_name("B♭m7")
    'Bb'
    """
    return _NOTE.match(symbol.strip().translate(_SIGNS)).group().replace("x", "##")


def _pitch_class(note: re.Match) -> int:
    return (MAJOR_SCALE[LETTERS.index(note[1])] + _ALTERATION[note[2] or ""]) % 12


@lru_cache(maxsize=1024)
def _quality(suffix: str) -> Quality | None:
    if suffix.strip() in ALIASES:
        return ALIASES[suffix.strip()]
    for pattern, plain in _REWRITE:
        suffix = pattern.sub(plain, suffix)
    return ALIASES.get(suffix)


def _spell(root: str, degree: str) -> str:
    place = (LETTERS.index(root[0]) + int(degree.lstrip("#b")) - 1) % 7
    wanted = (_pitch_class(_NOTE.fullmatch(root)) + semitones(degree)) % 12
    off = (wanted - MAJOR_SCALE[place] + 6) % 12 - 6
    return LETTERS[place] + ("#" * off if off > 0 else "b" * -off)


# What a reading costs (common practice, no source). The unit is a tone more than a triad has.
FOREIGN_TONE = 4.0
MISSING_INDISPENSABLE = 4.0
MISSING_ROOT = 2.5
MISSING_SPARE = 1.2
INVERTED = 0.9
MORE_THAN_A_TRIAD = 1.0
# How much each line further down the table of qualities counts as rarer.
RARER = 0.06
# Names of notes that few players read at a glance; never a root or a bass of our own choosing.
UNUSUAL_NAMES = frozenset({"B#", "E#", "Cb", "Fb"})
# Readings this much worse than the best are not worth offering.
WORTH_OFFERING = 4.0
MOST_READINGS = 24


def name_chord(pitches: Iterable[int], *, inversions: bool = True, limit: int = 6) -> list[Reading]:
    """The chords that MIDI ``pitches`` may be called, best first; none for fewer than two notes.

    With ``inversions`` a chord tone other than the root at the bottom is written
    after a slash; without, which string sounds lowest is taken not to matter, as on
    re-entrant strings.

    >>> [reading.symbol for reading in name_chord((57, 60, 64, 67), limit=2)]
    ['Am7', 'C6/A']
    >>> name_chord((64, 67, 72))[0].text
    'C major, first inversion'
    >>> name_chord((60, 64, 70))[0].text
    'C seventh, without G, the fifth'
    """
    sounding = sorted(pitches)
    tones = frozenset(pitch % 12 for pitch in sounding)
    if len(tones) < 2:
        return []
    return list(_readings(tones, sounding[0] % 12, inversions)[:limit])


@lru_cache(maxsize=4096)
def _readings(tones: frozenset[int], bass: int, inversions: bool) -> tuple[Reading, ...]:
    sounding = sum(1 << tone for tone in tones)
    costed = sorted(
        (
            (_reading_cost(name, sounding, inverted=inversions and bass != name.root), place, name)
            for place, name in enumerate(_names())
        )
    )
    best = costed[0][0]
    return tuple(
        _reading(name.root, name.quality, tones, bass if inversions else name.root, cost)
        for cost, _, name in costed[:MOST_READINGS]
        if cost <= best + WORTH_OFFERING
    )


class _Name(NamedTuple):
    """A root and a quality with their tones as bits: all, the root, those to spare, the indispensable."""

    root: int
    quality: Quality
    wanted: int
    root_bit: int
    spare: int
    indispensable: int
    own_cost: float


@lru_cache(maxsize=1)
def _names() -> tuple[_Name, ...]:
    names = []
    for root in range(12):
        for rank, quality in enumerate(QUALITIES.values()):
            bits = {degree: 1 << (root + semitones(degree)) % 12 for degree in quality.degrees}
            wanted, spare = sum(bits.values()), sum(bits[d] for d in quality.spare if d != "1")
            own_cost = RARER * rank + MORE_THAN_A_TRIAD * max(0, len(bits) - 3)
            indispensable = wanted & ~spare & ~bits["1"]
            names.append(_Name(root, quality, wanted, bits["1"], spare, indispensable, own_cost))
    return tuple(names)


def _reading_cost(name: _Name, sounding: int, inverted: bool) -> float:
    missing = name.wanted & ~sounding
    cost = (
        name.own_cost
        + FOREIGN_TONE * (sounding & ~name.wanted).bit_count()
        + MISSING_SPARE * (missing & name.spare).bit_count()
        + MISSING_INDISPENSABLE * (missing & name.indispensable).bit_count()
        + MISSING_ROOT * bool(missing & name.root_bit)
        + INVERTED * inverted
    )
    return round(cost, 2)


def _reading(root: int, quality: Quality, tones: frozenset[int], bass: int, cost: float) -> Reading:
    name = _best_root_name(root, quality)
    wanted = {(root + semitones(degree)) % 12: degree for degree in quality.degrees}
    missing = tuple(tone for tone in wanted if tone not in tones)
    foreign = tuple(sorted(tones - wanted.keys()))
    parts = [f"{name} {quality.said}"]
    symbol = name + quality.suffix
    if bass != root:
        symbol += f"/{_bass_name(name, bass, wanted.get(bass))}"
        parts.append(_inversion(wanted.get(bass), NOTE_NAMES[bass]))
    if missing:
        parts.append("without " + _and([_with_degree(name, wanted[tone]) for tone in missing]))
    strangers = [NOTE_NAMES[tone] for tone in foreign if tone != bass]
    if strangers:
        parts.append(f"with {_and(strangers)}, foreign to it")
    return Reading(symbol, missing, foreign, ", ".join(parts), cost)


def _best_root_name(root: int, quality: Quality) -> str:
    """The spelling of a root that gives the chord the fewest accidentals, flats where even."""
    spellings = [
        letter + sign
        for letter in LETTERS
        for sign in ("", "b", "#")
        if (MAJOR_SCALE[LETTERS.index(letter)] + _ALTERATION[sign]) % 12 == root
        and letter + sign not in UNUSUAL_NAMES
    ]
    return min(
        spellings,
        key=lambda name: sum(len(_spell(name, degree)) - 1 for degree in quality.degrees),
    )


def _bass_name(root: str, bass: int, degree: str | None) -> str:
    name = _spell(root, degree) if degree else NOTE_NAMES[bass]
    return NOTE_NAMES[bass] if name in UNUSUAL_NAMES or len(name) > 2 else name


def _inversion(degree: str | None, bass: str) -> str:
    ordinals = {"3": "first inversion", "5": "second inversion", "7": "third inversion"}
    return ordinals.get((degree or "").lstrip("#b"), f"{bass} in the bass")


def _with_degree(root: str, degree: str) -> str:
    return f"{_spell(root, degree)}, the {degree_name(degree)}"


def degree_name(degree: str) -> str:
    """A degree as it is said.

    >>> degree_name("b3"), degree_name("#11"), degree_name("5")
    ('third', 'sharp eleventh', 'fifth')
    """
    number = int(degree.lstrip("#b"))
    sign = {"#": "sharp ", "b": "flat "}.get(degree[0], "") if number > 7 else ""
    return sign + DEGREE_NAMES[number]


def _and(parts: list[str]) -> str:
    return " and ".join(parts)

"""Chord symbols: read them, sound them, spell them, and name what sounds.

Pitch classes count semitones above C (0 to 11); pitches are MIDI numbers.
"""

import re
from dataclasses import dataclass
from functools import lru_cache

from pieces.music.qualities import ALIASES, MAJOR_SCALE, QUALITIES, Quality, semitones

LETTERS = "CDEFGAB"
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

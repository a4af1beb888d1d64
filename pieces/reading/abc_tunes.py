"""The outer shape of an ABC file: its tunes, their header fields and lines of music.

Source: the ABC notation standard 2.1 (December 2011), sections 2 and 3.
"""

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction

from pieces.music.keys import key_of
from pieces.music.score import Meter

_FIELD = re.compile(r"([A-Za-z+]):\s?(.*)\Z")
_COMMENT = re.compile(r"(?<!\\)%.*")
_KEY = re.compile(r"\s*([A-G])([#b♯♭]?)\s*([A-Za-z]*)")
_ACCIDENTAL = re.compile(r"(?<![A-Za-z=])(\^\^|__|[\^_=])([A-Ga-g])(?![A-Za-z])")
ALTERATION = {"^": 1, "_": -1, "^^": 2, "__": -2, "=": 0}
# Fifths from the major key of the same tonic; whether the third is minor (section 3.1.14).
_MODES = {
    "": (0, False), "maj": (0, False), "ion": (0, False), "mix": (-1, False), "lyd": (1, False),
    "m": (-3, True), "min": (-3, True), "aeo": (-3, True), "dor": (-2, True), "phr": (-4, True),
    "loc": (-5, True),
}  # fmt: skip
_NOT_MODES = ("clef", "treb", "bass", "alto", "teno", "perc", "exp")
_SHARPS, _FLATS = "FCGDAEB", "BEADGCF"


@dataclass(frozen=True, slots=True)
class Key:
    """A K: field: its name as a score writes it, what it alters, and how far it sounds away."""

    name: str = ""
    altered: dict[str, int] = field(default_factory=dict)
    shift: int = 0


@dataclass(frozen=True, slots=True)
class Tune:
    """One tune of a file. ``lines`` are (number in the file, text), comments gone.

    ``header`` keeps every field before the first line of music in order, as (letter,
    text); ``M`` and ``L`` of the file's own header come first.
    """

    title: str
    header: tuple[tuple[str, str], ...]
    lines: tuple[tuple[int, str], ...]

    def last(self, letter: str) -> str | None:
        return next((text for name, text in reversed(self.header) if name == letter), None)


def tunes_of(text: str) -> list[Tune]:
    """Every tune in an ABC text; a text without ``X:`` is one tune.

    >>> [t.title for t in tunes_of("X:1\\nT:One\\nK:C\\nCDE|\\n\\nX:2\\nT:Two\\nK:G\\nGAB|")]
    ['One', 'Two']
    """
    lines = [(number, _bare(line)) for number, line in enumerate(text.splitlines(), 1)]
    lines = [(number, line) for number, line in lines if line is not None]
    starts = [i for i, (_, line) in enumerate(lines) if line.startswith("X:")]
    if not starts:
        tune = _tune(lines, ())
        return [tune] if tune.lines else []
    shared = tuple(
        match.groups()
        for _, line in lines[: starts[0]]
        if (match := _FIELD.match(line)) and match[1] in "MLQ"
    )
    blocks = [lines[a:b] for a, b in zip(starts, [*starts[1:], len(lines)], strict=True)]
    return [tune for tune in (_tune(block, shared) for block in blocks) if tune.lines]


def _bare(line: str) -> str | None:
    """The line without comment; None where nothing of it is music or a field."""
    if line.startswith("%"):
        return None
    line = _COMMENT.sub("", line).rstrip()
    return re.sub(r"\[r:[^\]]*\]", "", line)


def _tune(lines: list[tuple[int, str]], shared: tuple[tuple[str, str], ...]) -> Tune:
    header, at = list(shared), 0
    ends = any(line.startswith("K:") for _, line in lines)
    while at < len(lines):
        match = _FIELD.match(lines[at][1])
        if match is None and lines[at][1].strip() and not ends:
            break
        at += 1
        if match:
            header.append((match[1], match[2].strip()))
            if match[1] == "K":
                break
    body = []
    for number, line in lines[at:]:
        if not line.strip():
            if body:
                break
            continue
        body.append((number, line))
    if any(name == "V" for name, _ in header) or any("V:" in line for _, line in body):
        body = [(number, line) for number, line in lines[at:] if line.strip()]
    title = next((text for name, text in header if name == "T" and text), "")
    return Tune(title, tuple(header), tuple(body))


def read_meter(text: str) -> Meter | None:
    """The meter of an ``M:`` field; None for free meter. Raises ValueError for what is none.

    >>> read_meter("C|"), read_meter("(2+2+3)/8"), read_meter("none")
    (Meter(beats=2, unit=2), Meter(beats=7, unit=8), None)
    """
    plain = text.strip().replace("(", "").replace(")", "").split(" ")[0]
    if plain.lower() in ("", "none", "free"):
        return None
    if plain in ("C", "c"):
        return Meter(4, 4)
    if plain in ("C|", "c|"):
        return Meter(2, 2)
    beats, slash, unit = plain.partition("/")
    if slash and re.fullmatch(r"\d{1,2}(\+\d{1,2}){1,8}", beats):
        beats = str(sum(int(part) for part in beats.split("+")))
    return Meter.parse(beats + slash + unit)


def read_unit(text: str) -> Fraction | None:
    """The unit note length of an ``L:`` field, None where it names none."""
    match = re.match(r"\s*(\d{1,3})(?:/(\d{1,3}))?", text)
    if not match or not int(match[1]) or (match[2] is not None and not int(match[2])):
        return None
    return Fraction(int(match[1]), int(match[2] or 1))


def default_unit(meter: Meter | None) -> Fraction:
    """The unit note length where no ``L:`` stands: by the meter (section 3.1.7)."""
    return Fraction(1, 16) if meter is not None and meter.length < Fraction(3, 4) else Fraction(1, 8)


def read_tempo(text: str, meter: Meter) -> int | None:
    """Beats of ``meter`` a minute from a ``Q:`` field, None where it gives no number.

    >>> read_tempo("1/4=120", Meter(4, 4)), read_tempo('"Slow" 3/8=50', Meter(6, 8))
    (120, 50)
    """
    match = re.search(r"((?:\d{1,2}/\d{1,2}\s*)+)=\s*(\d{1,3})", text)
    if match:
        unit = sum((Fraction(part) for part in match[1].split() if not part.endswith("/0")), Fraction(0))
        tempo = round(int(match[2]) * unit / meter.beat)
    else:
        plain = re.fullmatch(r"\s*(?:C\d?\s*=\s*)?(\d{1,3})\s*", text)
        tempo = int(plain[1]) if plain else 0
    return tempo if 10 <= tempo <= 400 else None


def names_key(text: str) -> bool:
    """Whether a ``K:`` field says its key in a way the standard knows, or says that there is none."""
    match = _KEY.match(text)
    if match and (_mode(match[3]) is not None or match[3][:4].lower() in _NOT_MODES):
        return True
    return not text.strip() or bool(
        re.match(r"\s*(HP\b|Hp\b|none\b|[\^_=]|\w+=|treble|bass|alto|tenor)", text)
    )


def read_key(text: str, before: Key = Key()) -> Key:
    """A ``K:`` field. A field that names no tonic only adds to ``before`` (a clef, an octave).

    >>> read_key("Ador").altered, read_key("Am").name, read_key("D exp ^f").altered
    ({'F': 1}, 'Am', {'F': 1})
    """
    key = before
    if re.match(r"\s*(HP|Hp)\b", text):
        key = Key("D", {"F": 1, "C": 1})  # bagpipe music sounds so, whether or not the signs are drawn
    elif re.match(r"\s*none\b", text) or not text.strip():
        key = Key()
    elif (match := _KEY.match(text)) and _mode(match[3]) is not None:
        key = _named_key(match)
    elif match and match[3][:4].lower() in _NOT_MODES:
        key = _named_key(re.match(r"(\S)(\S?)()", match[1] + (match[2] or " ")))
    own = {note.upper(): ALTERATION[sign] for sign, note in _ACCIDENTAL.findall(text)}
    altered = own if re.search(r"\bexp\b", text) else {**key.altered, **own}
    return replace(key, altered=altered, shift=_shift(text, key.shift))


def _mode(word: str) -> tuple[int, bool] | None:
    word = word.lower()
    if word in ("", "m"):
        return _MODES[word]
    return _MODES.get(word[:3])


def _named_key(match: re.Match) -> Key:
    tonic, sign = match[1], match[2].replace("♯", "#").replace("♭", "b").strip()
    away, minor = _mode(match[3]) or (0, False)
    place = "FCGDAEB".index(tonic) - 1 + {"#": 7, "b": -7, "": 0}[sign]
    signature = max(-7, min(7, place + away))
    order = _SHARPS if signature > 0 else _FLATS
    altered = dict.fromkeys(order[: abs(signature)], 1 if signature > 0 else -1)
    return Key(key_of(place - 3, True) if minor else key_of(place), altered)


def _shift(text: str, before: int) -> int:
    """Semitones by which the notes sound away from their letters: clef octave, octave=, transpose=."""
    shift, said = 0, False
    for pattern, size in ((r"octave=(-?\d)\b", 12), (r"transpose=(-?\d{1,2})\b", 1)):
        if match := re.search(pattern, text):
            shift, said = shift + int(match[1]) * size, True
    if match := re.search(r"(?:treble|bass|alto|tenor)\d?([+-])8", text):
        shift, said = shift + (12 if match[1] == "+" else -12), True
    return shift if said else before

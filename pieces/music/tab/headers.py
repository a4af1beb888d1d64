"""The lines that name things: title, tuning, capo, meter, key, tempo, credit, notes."""

import re
from dataclasses import dataclass, field

from pieces.music.score import Meter, Problem
from pieces.music.tab.cells import parse_pitch, pitch_name
from pieces.music.tab.lines import Header, Page, StringLine
from pieces.music.tuning import NOTE_NAMES, TUNINGS, Tuning

# Other words teachers write for the same line.
_NAMES = {
    "title": "title",
    "tuning": "tuning",
    "capo": "capo",
    "meter": "meter",
    "metre": "meter",
    "time": "meter",
    "time signature": "meter",
    "key": "key",
    "tempo": "tempo",
    "speed": "tempo",
    "credit": "credit",
    "by": "credit",
    "composer": "credit",
    "note": "note",
    "first bar": "first bar",
}
_BAR = re.compile(r"bar ([0-9]{1,4})$")
_LETTERS = {name: pc for pc, name in enumerate(NOTE_NAMES)} | {
    "Db": 1,
    "D#": 3,
    "Fb": 4,
    "E#": 5,
    "Gb": 6,
    "G#": 8,
    "A#": 10,
    "Cb": 11,
    "B#": 0,
}
MOST_CAPO = 24
MOST_TUNING = 200


@dataclass
class Head:
    """What the named lines say. ``meter`` is None where none is given.

    ``bar_remarks`` are by bar number, ``meters`` by the number of systems above the line.
    """

    title: str = ""
    tuning: Tuning = TUNINGS["ukulele high G"]
    meter: Meter | None = None
    key: str = ""
    tempo: int | None = None
    credit: str = ""
    remarks: list[str] = field(default_factory=list)
    bar_remarks: dict[int, tuple[str, Header]] = field(default_factory=dict)
    first_bar: int | None = None
    meters: dict[int, Meter] = field(default_factory=dict)


def read_headers(page: Page, report: list[Problem]) -> Head:
    """Read every named line of ``page``; what is wrong is added to ``report``."""
    head, given = Head(), {}
    for header in page.headers:
        bar = _BAR.match(header.name)
        name = _NAMES.get(header.name, "")
        if bar:
            head.bar_remarks[int(bar[1])] = (header.value, header)
        elif name == "note":
            head.remarks.append(header.value)
        elif not name:
            head.remarks.append(" ".join(header.line.text.split()))
            report.append(
                _problem(
                    header,
                    f"{header.name}: is no line Fourbar knows, so it is kept as a note.",
                    "Known are title, tuning, capo, meter, key, tempo, credit, note and bar 3.",
                    fatal=False,
                )
            )
        elif name == "meter" and header.before:
            meter = _meter(header, report)
            if meter:
                head.meters[header.before] = meter
        elif name in given:
            message = f"{header.name}: is given twice."
            report.append(
                _problem(header, message, f"Line {given[name]} is kept; take one out.", fatal=False)
            )
        else:
            given[name] = header.line.number
            _READERS[name](head, header, report)
    return head


def _problem(header: Header, message: str, remedy: str, *, fatal: bool = True) -> Problem:
    column = len(header.line.text) - len(header.line.text.lstrip())
    return Problem(message, remedy, header.line.number, header.line.column(column), fatal=fatal)


def _meter(header: Header, report: list[Problem]) -> Meter | None:
    try:
        return Meter.parse(header.value)
    except ValueError:
        message = f"{header.value[:20]!r} is no meter."
        report.append(_problem(header, message, "Write it as 4/4, 3/4 or 6/8."))
        return None


def _read_meter(head: Head, header: Header, report: list[Problem]) -> None:
    head.meter = _meter(header, report)


def _read_title(head: Head, header: Header, report: list[Problem]) -> None:
    head.title = header.value


def _read_credit(head: Head, header: Header, report: list[Problem]) -> None:
    head.credit = header.value


def _read_key(head: Head, header: Header, report: list[Problem]) -> None:
    head.key = plain_key(header.value)


def plain_key(text: str) -> str:
    """A key as a tonic with m for minor, where it is said in words.

    >>> plain_key("F# minor"), plain_key("G major"), plain_key("Dm")
    ('F#m', 'G', 'Dm')
    """
    match = re.match(r"([A-G][#b♯♭]?)\s+(major|minor)$", text, re.IGNORECASE)
    return match[1] + ("m" if match[2].lower() == "minor" else "") if match else text


def _read_tempo(head: Head, header: Header, report: list[Problem]) -> None:
    number = re.search(r"(?<![0-9])[0-9]{1,4}(?![0-9])", header.value.rpartition("=")[2])
    if number and int(number[0]):
        head.tempo = int(number[0])
    else:
        remedy = "Write beats a minute, as 76."
        report.append(_problem(header, f"{header.value[:20]!r} is no tempo.", remedy, fatal=False))


def _read_capo(head: Head, header: Header, report: list[Problem]) -> None:
    if re.fullmatch(r"[0-9]{1,2}", header.value) and int(header.value) <= MOST_CAPO:
        head.tuning = head.tuning.with_capo(int(header.value))
    else:
        report.append(
            _problem(
                header, f"{header.value[:20]!r} is no capo fret.", f"Write a fret from 0 to {MOST_CAPO}."
            )
        )


def _read_first_bar(head: Head, header: Header, report: list[Problem]) -> None:
    if re.fullmatch(r"[0-9]{1,4}", header.value):
        head.first_bar = int(header.value)
    else:
        report.append(
            _problem(header, f"{header.value[:20]!r} is no bar number.", "Write 0 for a pickup, or 1.")
        )


def _read_tuning(head: Head, header: Header, report: list[Problem]) -> None:
    try:
        head.tuning = parse_tuning(header.value).with_capo(head.tuning.capo)
    except ValueError:
        remedy = f"Name one ({', '.join(TUNINGS)}) or list its strings, as G4 C4 E4 A4."
        report.append(_problem(header, f"There is no tuning {header.value[:40]!r} here.", remedy))


_READERS = {
    "title": _read_title,
    "credit": _read_credit,
    "meter": _read_meter,
    "key": _read_key,
    "tempo": _read_tempo,
    "capo": _read_capo,
    "first bar": _read_first_bar,
    "tuning": _read_tuning,
}


def parse_tuning(text: str) -> Tuning:
    """A tuning by name, by pitches from the highest string number, or by name with pitches.

    >>> parse_tuning("my own (D2 A2 D3)").open_pitches
    (38, 45, 50)

    Letters without octaves are set as near as they can be to a usual tuning:

    >>> parse_tuning("D A D G B E").open_pitches
    (38, 45, 50, 55, 59, 64)

    Raises ValueError where it is neither.
    """
    text = " ".join(text.split())
    if len(text) > MOST_TUNING:
        raise ValueError("No tuning is so long.")
    for name, tuning in TUNINGS.items():
        if text.lower() in (name.lower(), name.split(" high")[0].lower()):
            return tuning
    named = re.fullmatch(r"(.*?)\s?\(([^()]*)\)", text)
    words = (named[2] if named else text).replace(",", " ").split()
    if not named and len(words) == 1:
        words = (
            re.findall(r"[A-Ga-g][#b]?", words[0]) if re.fullmatch(r"(?:[A-Ga-g][#b]?)+", words[0]) else words
        )
    if len(words) > 12 or not words:
        raise ValueError(f"{text!r} is no tuning.")
    pitches = _nearest_usual(words) or tuple(parse_pitch(word) for word in words)
    if named:
        return Tuning(named[1], pitches)
    return _unnamed(pitches)


def _unnamed(pitches: tuple[int, ...]) -> Tuning:
    """The usual tuning of these pitches, or one that has their names for its own."""
    usual = next((tuning for tuning in TUNINGS.values() if tuning.open_pitches == pitches), None)
    return usual or Tuning(" ".join(pitch_name(pitch) for pitch in pitches), pitches)


def _letter(word: str) -> int | None:
    return _LETTERS.get((word[:1].upper() + word[1:]).replace("♯", "#").replace("♭", "b"))


def _nearest_usual(words: list[str]) -> tuple[int, ...] | None:
    """Pitches for letters, each within a tritone of a string of the usual tuning nearest to them.

    None where they are not letters alone, or no usual tuning has so many strings.
    """
    letters = [_letter(word) for word in words]
    tunings = [t for t in TUNINGS.values() if len(t.open_pitches) == len(letters)]
    if None in letters or not tunings:
        return None

    def near(tuning: Tuning) -> tuple[int, tuple[int, ...]]:
        steps = [(pc - open_ + 6) % 12 - 6 for pc, open_ in zip(letters, tuning.open_pitches, strict=True)]
        pitches = tuple(o + s for o, s in zip(tuning.open_pitches, steps, strict=True))
        return sum(map(abs, steps)), pitches

    return min((near(tuning) for tuning in tunings), key=lambda found: found[0])[1]


def tuning_text(tuning: Tuning) -> str:
    """How a tuning is written so that it reads back; the capo has its own line.

    >>> tuning_text(TUNINGS["guitar"]), tuning_text(Tuning("drone", (50, 57)))
    ('guitar', 'drone (D3 A3)')
    """
    if TUNINGS.get(tuning.name) == tuning.with_capo(0):
        return tuning.name
    pitches = " ".join(pitch_name(pitch) for pitch in tuning.open_pitches)
    if tuning.name == pitches and parse_tuning(pitches) == tuning.with_capo(0):
        return pitches
    return f"{tuning.name} ({pitches})"


def label_class(label: str) -> int | None:
    """Pitch class of a string's label, None for a number or nothing."""
    return _letter(label)


def tuning_by_labels(strings: list[StringLine]) -> tuple[Tuning, bool] | None:
    """The tuning whose string names stand beside the lines, and whether they are upside down.

    Names that are no usual tuning's are set as near to one as they can be. None where
    not every line is named by a letter.
    """
    labels = tuple(label_class(string.label) for string in strings)
    for upside_down in (False, True):
        for tuning in TUNINGS.values():
            names = tuple(pitch % 12 for pitch in tuning.open_pitches)
            if labels == (names if upside_down else names[::-1]):
                return tuning, upside_down
    pitches = _nearest_usual([string.label for string in reversed(strings)])
    return (_unnamed(pitches), False) if pitches else None

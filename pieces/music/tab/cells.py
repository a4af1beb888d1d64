"""The marks on a string line: what a fret figure with its signs says, and how it is written.

===========  ====================================
``3``        fret 3
``x``        muted stroke
``(3)``      tied: held from before, not struck
``<12>``     natural harmonic touched at fret 12
``h3 p3``    hammered on, pulled off to fret 3
``/3 \\3``    slid to fret 3
``g3``       grace note
``3~1/2``    rings for a half note
``r``        rest
===========  ====================================

These are the letters and signs teachers write beside figures on paper (common
practice, no source).
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from pieces.music.score import Note
from pieces.music.tuning import NOTE_NAMES, Tuning

MOST_FRETS = 30
JOINS = {"h": "hammer", "p": "pull", "/": "slide", "\\": "slide"}

# Semitones above the open string of partials 2 to 6, by the frets nearest their nodes:
# 12 log2(n) rounded (string physics; the frets from equal temperament).
_PARTIALS = {12: 12, 7: 19, 19: 19, 5: 24, 24: 24, 4: 28, 9: 28, 16: 28, 3: 31}

_CELL = re.compile(
    r"""(?P<before>[gGhHpP/\\]{0,4})(?P<tie>\(?)(?P<touch><?)
        (?:(?P<muted>[xX×])(?P<under>[0-9]*)|(?P<fret>[0-9]+))
        (?:=(?P<sounds>[A-Ga-g][#b]?-?[0-9]))?
        (?P<touched>>?)(?P<tied>\)?)(?:~(?P<ring>[0-9]{1,4}/[0-9]{1,4})?)?""",
    re.VERBOSE,
)
_REST = re.compile(r"[rR]")
_UNKNOWN = re.compile(r"[^-\s0-9xX×gGhHpPrR/\\()<>]+|.")
_PITCH = re.compile(r"([A-Ga-g])([#b♯♭]?)(-?[0-9])$")
_STEPS = dict(zip("CDEFGAB", (0, 2, 4, 5, 7, 9, 11), strict=True))


@dataclass(frozen=True, slots=True)
class Cell:
    """One figure on a string line. ``start`` and ``end`` are the columns of its fret.

    ``ring`` is how long it sounds, 0 for "let it ring on", None where nothing is said.
    """

    start: int
    end: int
    fret: int | None = None
    rest: bool = False
    grace: bool = False
    join: str = ""
    tied: bool = False
    muted: bool = False
    harmonic: bool = False
    sounds: int | None = None
    ring: Fraction | None = None

    def note(self, tuning: Tuning, string: int, *, finger=None, pick="", length=None) -> Note:
        """The note this figure stands for on ``string``."""
        pitch = None
        if not self.muted:
            pitch = self.sounds
            if pitch is None:
                sounding = harmonic_pitch if self.harmonic else Tuning.pitch
                pitch = sounding(tuning, string, self.fret)
        return Note(
            pitch,
            string,
            self.fret,
            finger,
            pick,
            self.tied,
            self.muted,
            self.harmonic,
            self.join,
            length,
        )


def harmonic_pitch(tuning: Tuning, string: int, fret: int) -> int:
    """MIDI number of the natural harmonic touched at ``fret``.

    >>> harmonic_pitch(Tuning("one string", (60,)), 1, 7)
    79
    """
    return tuning.open_pitch(string) + _PARTIALS.get(fret, fret)


def parse_pitch(text: str) -> int:
    """MIDI number of a pitch name, C4 = 60. Raises ValueError on anything else.

    >>> parse_pitch("A4"), parse_pitch("Eb3")
    (69, 51)
    """
    match = _PITCH.match(text.strip())
    if not match:
        raise ValueError(f"{text!r} is no pitch; write it as G4 or Eb3.")
    sign = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}[match[2]]
    return 12 * (int(match[3]) + 1) + _STEPS[match[1].upper()] + sign


def pitch_name(pitch: int) -> str:
    """Name of a MIDI number, C4 = 60.

    >>> pitch_name(69), pitch_name(51)
    ('A4', 'Eb3')
    """
    return f"{NOTE_NAMES[pitch % 12]}{pitch // 12 - 1}"


class Wrong(ValueError):
    """A mark that cannot be read: where it stands, what is wrong, what would be right."""

    def __init__(self, column: int, message: str, remedy: str):
        self.column, self.message, self.remedy = column, message, remedy
        super().__init__(message)


def cells_in(text: str, start: int, end: int) -> Iterator[Cell | Wrong]:
    """Every figure between the columns ``start`` and ``end`` of a string line, with what is wrong.

    A join that stands apart from its figure (``3-h-5``) belongs to the next one.
    """
    column, pending, pending_at = start, "", 0
    while column < end:
        match = _CELL.match(text, column, end)
        if match:
            cell = _cell(match, pending)
            pending = ""
            yield cell
            column = match.end()
            continue
        character = text[column]
        if _REST.match(character):
            yield Cell(column, column + 1, rest=True)
        elif character.lower() in JOINS:
            pending, pending_at = character.lower(), column
        elif character in "()<>":
            yield _unmatched(character, column)
        elif character not in "- ":
            unknown = _UNKNOWN.match(text, column, end).group()
            yield Wrong(
                column,
                f"{unknown[:20]} is no mark for a string line.",
                "Write a fret, x (muted), r (rest), or a dash where nothing is played.",
            )
            column += len(unknown) - 1
        column += 1
    if pending:
        yield Wrong(
            pending_at, f"No fret follows the {pending}.", f"Write the fret straight after it, as {pending}5."
        )


def _unmatched(character: str, column: int) -> Wrong:
    if character in "(<":
        sign = "(3)" if character == "(" else "<12>"
        return Wrong(column, f"No fret stands after {character}.", f"Write the fret inside: {sign}.")
    return Wrong(
        column, f"{character} closes nothing.", "Take it out, or write the sign before the fret too."
    )


def _cell(match: re.Match, pending: str) -> Cell | Wrong:
    before = match["before"].lower()
    grace, joins = "g" in before, before.replace("g", "") or pending
    if len(joins) > 1 or before.count("g") > 1:
        return Wrong(
            match.start(), f"{match['before']} gives two ways to reach one fret.", "Keep one of them."
        )
    if bool(match["tie"]) != bool(match["tied"]):
        return Wrong(match.start(), "A bracket is open on one side only.", "Write a held note as (3).")
    if bool(match["touch"]) != bool(match["touched"]):
        return Wrong(match.start(), "A harmonic is open on one side only.", "Write it as <12>.")
    figure = match["fret"] or match["under"]
    if len(figure) > 2 or int(figure or 0) > MOST_FRETS:
        return Wrong(
            match.start("fret") if match["fret"] else match.start("under"),
            f"There is no fret {figure[:8]}.",
            "Put a dash between two frets that follow each other.",
        )
    if match["sounds"] and not match["touch"]:
        return Wrong(
            match.start("sounds"), "Only a harmonic names the pitch it sounds.", "Write the fret alone."
        )
    ring = None
    if "~" in match.group():
        ring = Fraction(0)
        if match["ring"]:
            above, below = map(int, match["ring"].split("/"))
            if not above or not below:
                return Wrong(
                    match.start("ring"), f"{match['ring']} is no length.", "Write it as ~1/2 or ~3/8."
                )
            ring = Fraction(above, below)
    inner = "muted" if match["muted"] else "fret"
    return Cell(
        match.start(inner),
        match.end("under") if match["muted"] else match.end("fret"),
        int(figure) if figure else None,
        grace=grace,
        join=JOINS[joins] if joins else "",
        tied=bool(match["tie"]),
        muted=bool(match["muted"]),
        harmonic=bool(match["touch"]),
        sounds=parse_pitch(match["sounds"]) if match["sounds"] else None,
        ring=ring,
    )


def cell_text(note: Note, tuning: Tuning, *, grace: bool = False, fret_before: int | None = None):
    """How ``note`` is written: (signs before its column, its fret with the signs after).

    ``fret_before`` is the fret last played on its string, which tells a slide up from
    one down. Raises ValueError on a note that is not what its string and fret sound.

    >>> cell_text(Note(71, 1, 2, tied=True), Tuning("one string", (69,)))
    ('(', '2)')
    """
    before = "g" if grace else ""
    if note.join:
        before += {"hammer": "h", "pull": "p"}.get(note.join) or _slide(note, fret_before)
    before += "(" * note.tied + "<" * note.harmonic
    body = "x" * note.muted + ("" if note.fret is None else str(note.fret)) + _named_pitch(note, tuning)
    body += ">" * note.harmonic + ")" * note.tied
    if note.length is not None:
        body += f"~{note.length.numerator}/{note.length.denominator}"
    return before, body


def _slide(note: Note, fret_before: int | None) -> str:
    return "\\" if fret_before is not None and note.fret is not None and note.fret < fret_before else "/"


def _named_pitch(note: Note, tuning: Tuning) -> str:
    """``=C6`` for a harmonic that sounds another pitch than its node, else nothing."""
    if note.string not in tuning.strings or ((note.fret is None) != note.muted and not note.muted):
        raise ValueError(f"A note of {note.pitch} is not set on a string and fret.")
    if note.fret is not None and not 0 <= note.fret <= MOST_FRETS:
        raise ValueError(f"There is no fret {note.fret}.")
    if note.muted:
        if note.pitch is not None:
            raise ValueError("A muted stroke has no pitch.")
        return ""
    sounding = harmonic_pitch if note.harmonic else Tuning.pitch
    if note.pitch == sounding(tuning, note.string, note.fret):
        return ""
    if note.harmonic and note.pitch is not None:
        return f"={pitch_name(note.pitch)}"
    raise ValueError(f"String {note.string} fret {note.fret} does not sound {note.pitch}.")

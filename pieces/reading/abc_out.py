"""A score as ABC 2.1: melody, chords and words; strings and fingers have no place there."""

from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from pieces.music.keys import fifths, spell
from pieces.music.score import Bar, Event, Score

_UNIT = Fraction(1, 8)
_SIGN = {0: "=", 1: "^", 2: "^^", -1: "_", -2: "__"}
_SHARPS = "FCGDAEB"


def write_abc(score: Score) -> str:
    """``score`` as one ABC tune, one line of music for each four bars.

    >>> from pieces.music.score import Meter
    >>> print(write_abc(Score(title="One", key="G", bars=(Bar.of("2/4", "1/4 1/4"),), meter=Meter(2, 4))))
    %abc-2.1
    X:1
    T:One
    M:2/4
    L:1/8
    K:G
    A2 A2 |]
    <BLANKLINE>
    """
    head = ["%abc-2.1", "X:1", f"T:{_plain(score.title) or 'Untitled'}"]
    if score.credit:
        head.append(f"C:{_plain(score.credit)}")
    head += [f"M:{score.meter}", f"L:{_UNIT}"]
    if score.tempo:
        head.append(f"Q:{score.meter.beat}={score.tempo}")
    head.append(f"K:{score.key or 'C'}")
    return "\n".join([*head, *_body(score)]) + "\n"


def _plain(text: str) -> str:
    return " ".join(text.replace("%", "").split())


def _body(score: Score) -> list[str]:
    """Lines of music, each followed by its words where there are any."""
    lines, line, words = [], [], []
    key, meter, start = score.key, score.meter, Fraction(0)
    held, names = _held(score), _Names()
    for at, bar in enumerate(score.bars):
        before = score.bars[at - 1] if at else None
        following = score.bars[at + 1] if at + 1 < len(score.bars) else None
        fields = f"[K:{bar.key}]" if bar.key else ""
        fields += f"[M:{bar.meter}]" if bar.meter != meter else ""
        key, meter = bar.key or key, bar.meter
        names.new_bar(key)
        slices = _slices(bar, start, held)
        line.append(
            _opening(bar, before) + fields + _music(slices, bar, names) + " " + _closing(bar, following)
        )
        words += [piece.lyric for piece in slices if piece.notes]
        start += bar.length
        full = len(line) == 4 + (score.bars[0].is_pickup and not lines)
        if following is None or bar.line_break or full:
            lines.append(" ".join(line).strip())
            if any(words):
                lines.append("w: " + _sung(words))
            line, words = [], []
    return lines


def _opening(bar: Bar, before: Bar | None) -> str:
    text = "|:" if bar.opens_repeat else ""
    if bar.endings and (before is None or before.endings != bar.endings or before.repeats):
        text += "[" + ",".join(str(number) for number in bar.endings) + " "
    return text + (f"[P:{_plain(bar.letter)}]" if bar.letter else "")


def _closing(bar: Bar, following: Bar | None) -> str:
    if bar.repeats:
        return ":" * (1 if bar.endings else max(1, bar.repeats - 1)) + "|"
    if following is None:
        return "|]"
    if bar.endings and not following.endings:
        return "||"
    return "" if following.opens_repeat else "|"


def _sung(words: list[str]) -> str:
    """Syllables for a ``w:`` line; ``*`` where a note has none."""
    text = ""
    for word in words:
        plain = word.removesuffix("-").replace(" ", "~").replace("-", "\\-")
        text += (plain + ("-" if word.endswith("-") else " ")) if word else "* "
    return text.strip()


def _held(score: Score) -> set[tuple[Fraction, int | None]]:
    """(time, pitch) of every note that a tie holds on."""
    held, start = set(), Fraction(0)
    for bar in score.bars:
        for event in bar.events:
            held |= {(start + event.onset, note.pitch) for note in event.notes if note.tied}
        start += bar.length
    return held


class _Slice(NamedTuple):
    """What is written as one note, chord or rest of ABC.

    ``notes`` are (pitch, length, whether tied on), one of the full duration first.
    """

    onset: Fraction
    duration: Fraction
    notes: tuple[tuple[int, Fraction, bool], ...]
    event: Event
    symbol: str
    lyric: str
    is_first: bool  # of its event


def _slices(bar: Bar, start: Fraction, held: set) -> list[_Slice]:
    """The bar cut at every onset and chord name; what sounds on is tied from cut to cut."""
    symbols = {mark.onset: mark.symbol for mark in bar.chords}
    ringing: dict[tuple, Fraction] = {}  # (pitch, string) to the moment it ends
    slices = []
    for event in bar.events:
        ringing = {spot: end for spot, end in ringing.items() if end > event.onset}
        for note in event.notes:
            if note.pitch is not None:
                ringing[note.pitch, note.string] = min(
                    event.onset + (note.length or event.duration), bar.length
                )
        cuts = [event.onset, *(at for at in sorted(symbols) if event.onset < at < event.end)]
        cuts += [end for end in {*ringing.values()} if _only_short(ringing, event) and end not in cuts]
        cuts = sorted({*cuts, event.end})
        for at, end in pairwise(cuts):
            notes = tuple(
                (pitch, min(until, end) - at, until > end or (until == end and (start + end, pitch) in held))
                for (pitch, _), until in sorted(ringing.items(), key=lambda i: (-min(i[1], end), i[0][0]))
                if until > at
            )
            first = at == event.onset
            lyric = event.lyric if first else ""
            slices.append(_Slice(at, end - at, notes, event, symbols.get(at, ""), lyric, first))
    return slices


def _only_short(ringing: dict[tuple, Fraction], event: Event) -> bool:
    """Whether everything that sounds in the event is over before it ends."""
    return bool(ringing) and max(ringing.values()) < event.end


def _music(slices: list[_Slice], bar: Bar, names: "_Names") -> str:
    text, in_tuplet = "", 0
    for at, piece in enumerate(slices):
        if at and (piece.onset % bar.meter.beat == 0 or piece.duration >= Fraction(1, 4)):
            text += " "
        tuplet = piece.event.tuplet
        if tuplet and not in_tuplet:
            in_tuplet = _run(slices[at:], tuplet)
            text += f"({tuplet[0]}:{tuplet[1]}:{in_tuplet}"
        scale = Fraction(*tuplet) if tuplet and in_tuplet else Fraction(1)
        text += _one(piece, scale, names)
        in_tuplet = max(0, in_tuplet - 1)
    return text


def _run(slices: list[_Slice], tuplet: tuple[int, int]) -> int:
    """How many slices from the first belong to the same tuplet: up to where it is whole again."""
    total, count = Fraction(0), 0
    for piece in slices:
        if piece.event.tuplet != tuplet or count == 48:
            break
        total, count = total + piece.duration, count + 1
        if total.denominator & (total.denominator - 1) == 0:
            break
    return count


def _one(piece: _Slice, scale: Fraction, names: "_Names") -> str:
    event = piece.event
    text = f'"{piece.symbol}"' if piece.symbol else ""
    grace = [note.pitch for note in event.grace if note.pitch is not None] if piece.is_first else []
    if grace:
        text += "{" + "".join(names.of(pitch) for pitch in grace) + "}"
    if not piece.notes:
        names.tie([])
        return text + "z" + _length(piece.duration * scale)
    if piece.is_first and event.accent:
        text += "!>!"
    if piece.is_first and len(event.notes) == 1 and event.notes[0].finger in (1, 2, 3, 4):
        text += f"!{event.notes[0].finger}!"
    written = [
        names.of(pitch) + _length(lasts * scale) + ("-" if tied else "") for pitch, lasts, tied in piece.notes
    ]
    names.tie([pitch for pitch, _, tied in piece.notes if tied])
    return text + (written[0] if len(written) == 1 else "[" + "".join(written) + "]")


class _Names:
    """How pitches are named as a line goes on, each sign left out only where it goes without saying.

    Readers differ on whether a sign holds for its own octave or for all of them, and
    a tie leads a bare letter to the pitch that is tied: a sign is left out only where
    every reader would come to the same pitch.
    """

    def __init__(self):
        self.key, self.signature = "", {}
        self.carried: dict = {}
        self.tied: set[tuple[str, int, int]] = set()

    def new_bar(self, key: str) -> None:
        count = fifths(key)
        letters = _SHARPS[:count] if count > 0 else _SHARPS[::-1][:-count]
        self.key, self.signature = key, dict.fromkeys(letters, 1 if count > 0 else -1)
        self.carried = {}

    def of(self, pitch: int) -> str:
        letter, alter, octave = spell(pitch, self.key)
        plain = self.signature.get(letter, 0)
        said = {self.carried.get(letter, plain), self.carried.get((letter, octave), plain)}
        said |= {a for name, a, height in self.tied if (name, height) == (letter, octave)}
        sign = "" if said == {alter} else _SIGN[alter]
        if sign:
            self.carried[letter] = self.carried[letter, octave] = alter
        if octave >= 5:
            return sign + letter.lower() + "'" * (octave - 5)
        return sign + letter + "," * (4 - octave)

    def tie(self, pitches: list[int]) -> None:
        self.tied = {spell(pitch, self.key) for pitch in pitches}


def _length(duration: Fraction) -> str:
    units = duration / _UNIT
    if units.denominator == 1:
        return "" if units == 1 else str(units)
    return f"{'' if units.numerator == 1 else units.numerator}/{units.denominator}"

"""Which shape the left hand holds at each moment of a piece, and which finger takes each note.

A chord mark begins a hold that lasts until the next mark. Where the piece writes
out strings and frets for the chord, the shape must agree with them; where it does
not, the shape is free and is chosen with its neighbours, somewhere between the
textbook's and the least movement.
Between them, melody notes take the finger that the hand has at that fret.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from pieces.music.changes import finger_progression
from pieces.music.chords import UnknownChord
from pieces.music.score import Bar, ChordMark, Note, Score
from pieces.music.shapes import Shape, find_shapes, shape_of
from pieces.music.tuning import Tuning

CANDIDATES = 24
MANY_STRINGS = 3
FEWEST_NEEDED = 2  # a single string is a tune, which asks for no shape


@dataclass(frozen=True, slots=True)
class Hold:
    """A shape held from a moment on. ``shape`` is None where the symbol names no playable chord.

    ``needed`` are the strings that sound as the shape has them while it is held; None
    where that takes every finger of it, or leaves it bare.
    """

    bar: int
    onset: Fraction
    symbol: str
    shape: Shape | None
    needed: frozenset[int] | None = None


@dataclass(frozen=True, slots=True)
class FingerChoice:
    """The finger proposed for a melody note between shapes, and why."""

    bar: int
    event: int
    string: int
    finger: int
    text: str


def find_holds(
    score: Score,
    *,
    chosen: Mapping[str, Shape] | None = None,
    fingered: Collection[str] = (),
    movement: float = 0.5,
) -> list[Hold]:
    """The shapes of ``score`` in written order, one a chord mark.

    ``chosen`` are the teacher's own shapes by symbol; they win wherever the written
    notes allow them, and those of the symbols in ``fingered`` keep their fingers too.
    ``movement`` is as in ``finger_progression``.
    """
    chosen = chosen or {}
    marks = _marks(score)
    wanted = [_wanted(score, place, marks, chosen) for place in range(len(marks))]
    playable = [shape for shape in wanted if shape is not None]
    own = {id(chosen[symbol]) for symbol in fingered if symbol in chosen}
    settled = [at for at, shape in enumerate(playable) if id(shape) in own]
    path = iter(finger_progression(playable, score.tuning, movement=movement, settled=settled))
    holds = []
    for place, ((bar, mark), want) in enumerate(zip(marks, wanted, strict=True)):
        shape = None if want is None else next(path)
        needed = _needed(score, marks, place, shape) if shape else None
        holds.append(Hold(bar.number, mark.onset, mark.symbol, shape, needed))
    return holds


def bars_open_to(score: Score, shape: Shape, symbol: str) -> list[int]:
    """The bars with a chord mark of ``symbol`` whose written notes agree with ``shape``.

    >>> from pieces.music.score import ChordMark
    >>> bar = replace(Bar.of("2/4", "1/2"), chords=(ChordMark(Fraction(0), "C"),))
    >>> bars_open_to(Score(bars=(bar,)), Shape("C", (0, 0, 0, 3), (0, 0, 0, 3), 0.0), "C")
    [1]
    """
    marks = _marks(score)
    return [
        bar.number
        for place, (bar, mark) in enumerate(marks)
        if mark.symbol == symbol and _agrees(shape, _written_frets(score.tuning, marks, place), score.tuning)
    ]


def strings_needed(holds: Iterable[Hold], shape: Shape) -> frozenset[int] | None:
    """The strings for which ``holds`` need ``shape``; None where any of them needs every finger."""
    needed: frozenset[int] = frozenset()
    for hold in holds:
        if hold.shape == shape:
            if hold.needed is None:
                return None
            needed |= hold.needed
    return needed if needed and _leaves_out(shape, needed) else None


def shape_at(holds: list[Hold], bar: int, onset: Fraction) -> Shape | None:
    """The shape in force at a moment: that of the last hold begun by then."""
    current = None
    for hold in holds:
        if (hold.bar, hold.onset) > (bar, onset):
            break
        current = hold.shape
    return current


def finger_bars(score: Score, holds: list[Hold]) -> tuple[tuple[Bar, ...], list[FingerChoice]]:
    """Give every stopped note its left-hand finger; fingers already written stay.

    Returns the bars and, for the notes that no shape decides, the choices with
    their reasons.
    """
    bars, choices = [], []
    for bar in score.bars:
        events = []
        for index, event in enumerate(bar.events):
            shape = shape_at(holds, bar.number, event.onset)
            notes = []
            for note in event.notes:
                finger, text = _finger_for(note, shape, score.tuning)
                notes.append(replace(note, finger=finger) if finger else note)
                if text:
                    choices.append(FingerChoice(bar.number, index, note.string, finger, text))
            events.append(replace(event, notes=tuple(notes)))
        bars.append(replace(bar, events=tuple(events)))
    return tuple(bars), choices


def _wanted(score, place, marks, chosen) -> Shape | str | None:
    """A shape that must be played, a symbol that leaves it free, or None."""
    _bar, mark = marks[place]
    written = _written_frets(score.tuning, marks, place)
    teachers = chosen.get(mark.symbol)
    if teachers and _agrees(teachers, written, score.tuning):
        return teachers
    try:
        candidates = find_shapes(mark.symbol, score.tuning, limit=CANDIDATES)
    except UnknownChord:
        candidates = []
    if not written:
        return mark.symbol if candidates else None
    fitting = [shape for shape in candidates if _agrees(shape, written, score.tuning)]
    if fitting:
        return fitting[0]
    if len(written) >= MANY_STRINGS:
        frets = tuple(written.get(string) for string in score.tuning.strings)
        try:
            return shape_of(mark.symbol, frets, score.tuning)
        except ValueError:
            return None
    return mark.symbol if candidates else None


def _marks(score: Score) -> list[tuple[Bar, ChordMark]]:
    return [(bar, mark) for bar in score.bars for mark in bar.chords]


def _written_frets(tuning: Tuning, marks, place: int) -> dict[int, int]:
    """Frets by string that the first chord played in the hold is written with."""
    bar, mark = marks[place]
    following = marks[place + 1] if place + 1 < len(marks) else None
    end = following[1].onset if following and following[0].number == bar.number else bar.length
    for event in bar.events:
        struck = [note for note in event.struck if note.string is not None and not note.muted]
        if mark.onset <= event.onset < end and len(struck) > 1:
            return {note.string: note.fret for note in struck}
    return {}


def _agrees(shape: Shape, written: Mapping[int, int], tuning: Tuning) -> bool:
    by_string = dict(zip(tuning.strings, shape.frets, strict=True))
    return all(by_string.get(string) == fret for string, fret in written.items())


def _needed(score: Score, marks, place: int, shape: Shape) -> frozenset[int] | None:
    """The strings that sound as ``shape`` has them until the next mark, if they leave a finger free."""
    bar, mark = marks[place]
    start = (bar.number, mark.onset)
    end = (marks[place + 1][0].number, marks[place + 1][1].onset) if place + 1 < len(marks) else None
    by_string = dict(zip(score.tuning.strings, shape.frets, strict=True))
    needed = frozenset(
        note.string
        for other in score.bars
        for event in other.events
        if start <= (other.number, event.onset) and (end is None or (other.number, event.onset) < end)
        for note in event.notes
        if note.fret is not None and by_string.get(note.string) == note.fret
    )
    return needed if len(needed) >= FEWEST_NEEDED and _leaves_out(shape, needed) else None


def _leaves_out(shape: Shape, strings: Collection[int]) -> bool:
    """Whether a finger of ``shape`` has nothing to do where only ``strings`` sound."""
    fingers = list(zip(reversed(shape.fingers), range(1, len(shape.fingers) + 1), strict=True))
    return {f for f, _ in fingers if f} != {f for f, string in fingers if f and string in strings}


def _finger_for(note: Note, shape: Shape | None, tuning: Tuning) -> tuple[int | None, str]:
    """The finger for a note, with a reason where it was not the shape that decided."""
    if note.finger or not note.fret or note.string is None or note.harmonic:
        return None, ""
    if shape is None:
        return _one_finger_a_fret(note.fret, base=1), ""
    place = tuning.strings.index(note.string)
    if shape.frets[place] == note.fret:
        return shape.fingers[place], ""
    busy = _busy_fingers(shape, tuning, note)
    natural = _one_finger_a_fret(note.fret, base=min(_position(shape), note.fret))
    free = [finger for finger in (1, 2, 3, 4) if finger not in busy and _in_order(finger, note, busy)]
    finger = min(free, key=lambda f: (abs(f - natural), f), default=natural)
    return finger, _reason(note, shape, busy, natural, finger)


def _position(shape: Shape) -> int:
    """The fret under the first finger, from where the shape's fingers stand."""
    places = [f - g + 1 for f, g in zip(shape.frets, shape.fingers, strict=True) if f and g]
    return max(1, min(places, default=1))


def _busy_fingers(shape: Shape, tuning: Tuning, note: Note) -> dict[int, tuple[int, int]]:
    """Fingers of the shape that hold on, each with its (fret, string): all but one on the note's string."""
    held = {}
    for string, fret, finger in zip(tuning.strings, shape.frets, shape.fingers, strict=True):
        if finger and fret and string != note.string:
            held[finger] = (fret, string)
    return held


def _in_order(finger: int, note: Note, busy: Mapping[int, tuple[int, int]]) -> bool:
    """Whether fingers would still lie along the neck, and within a fret toward the floor, in order."""
    here = (note.fret, -note.string)
    return all((finger > other) == (here > (fret, -string)) for other, (fret, string) in busy.items())


def _one_finger_a_fret(fret: int, *, base: int) -> int:
    return max(1, min(4, fret - base + 1))


def _reason(note: Note, shape: Shape, busy: Mapping[int, tuple[int, int]], natural: int, finger: int) -> str:
    if not busy:
        return ""
    holding = ", ".join(str(other) for other in sorted(busy))
    held = f"Finger {holding} holds" if len(busy) == 1 else f"Fingers {holding} hold"
    if finger == natural:
        return f"{held} {shape.symbol}, so one finger a fret gives {finger} for fret {note.fret}."
    return f"{held} {shape.symbol}, so fret {note.fret} goes to the nearest free finger, {finger}."

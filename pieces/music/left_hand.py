"""What makes a bar hard for the left hand: the shape, the change to it, the reach.

Each load can only shrink when the tempo falls, a note is left out, the shape is
reduced to what sounds or its barre goes; ``difficulty`` adds them up. The weights
are set from teaching practice (common practice, no source).
"""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from pieces.music.changes import change
from pieces.music.loads import Load
from pieces.music.score import Bar, Event, Note
from pieces.music.shapes import Shape, reduce_shape
from pieces.music.words import counted, listed, sentence

FINGER = 0.25  # for each finger of a shape
STRETCH = 0.8  # for each fret beyond one finger a fret
BARRE = 1.6  # a finger laid across two strings
BARRE_STRING = 0.3  # and for each string more
HIGH_FRET = 0.1  # for each fret above NEAR
NEAR = 5

PLACED = 1.0  # a finger that comes down anew, with UNHURRIED seconds to do it
GUIDED = 0.5  # a finger that slides along its string
SHIFTED = 0.3  # for each fret that the whole hand moves
UNHURRIED = 0.6
MOST_HURRIED = 2.5

REACH = 0.5  # for each fret beyond the four under the hand
UNDER_THE_HAND = 3
OUTSIDE = 0.3  # a note that lies outside the shape that is held
ORNAMENT = 0.3  # a note reached by hammer, pull or slide, a grace note or a harmonic


class _Held(NamedTuple):
    """A chord in force: its shape, the fingers in use, and what is struck under it."""

    shape: Shape
    used: Shape
    moments: tuple[Event, ...]
    came_from: Shape | None
    last_before: Fraction | None


def left_hand_loads(
    bar: Bar,
    moments: Sequence[Event],
    whole_note: float,
    shapes: Mapping[str, Shape],
    before: Bar | None,
    reduced: bool,
) -> Iterator[Load]:
    held = list(_chords_held(bar, moments, shapes, before, reduced))
    if held:
        hardest = max(held, key=lambda chord: _shape_points(chord.used))
        start, end = hardest.moments[0].onset, hardest.moments[-1].end
        yield Load("shape", _shape_points(hardest.used), _shape_reason(hardest.used), start, end)
    for chord in held:
        yield from _change_load(chord, whole_note)
    outside = [
        event
        for chord in held
        for event in chord.moments
        if any(_is_outside(note, chord.shape) for note in event.struck)
    ]
    if outside:
        text = f"{counted(len(outside), 'note lies', 'notes lie')} outside the shape that is held"
        yield Load("outside", OUTSIDE * len(outside), sentence(text), outside[0].onset, outside[-1].end)
    yield from _reach(moments)
    ornaments = [event for event in moments if _is_ornamented(event)]
    if ornaments:
        text = f"{counted(len(ornaments), 'note is', 'notes are')} ornamented: learn the plain notes first"
        start, end = ornaments[0].onset, ornaments[-1].end
        yield Load("ornament", ORNAMENT * len(ornaments), sentence(text), start, end)


def _chords_held(
    bar: Bar, moments: Sequence[Event], shapes: Mapping[str, Shape], before: Bar | None, reduced: bool
) -> Iterator[_Held]:
    """The chords under which something is struck, each with the shape the hand comes from.

    The hand is taken to pass through a chord that nothing sounds under, so that
    leaving its notes out never makes the next change harder.
    """
    marks = [(mark.onset, shapes[mark.symbol]) for mark in bar.chords if mark.symbol in shapes]
    earlier = [shapes[mark.symbol] for mark in before.chords if mark.symbol in shapes] if before else []
    came_from = earlier[-1] if earlier else None
    if came_from and (not marks or marks[0][0] > 0):
        marks.insert(0, (Fraction(0), came_from))
    last = max((e.onset - before.length for e in before.events if e.struck), default=None) if before else None
    for (onset, shape), (end, _) in pairwise([*marks, (bar.length, None)]):
        under = tuple(event for event in moments if onset <= event.onset < end)
        if under:
            used = reduce_shape(shape, _strings_needed(shape, under)) if reduced else shape
            yield _Held(shape, used, under, came_from, last)
            last = under[-1].onset
        came_from = shape


def _strings_needed(shape: Shape, events: Sequence[Event]) -> set[int]:
    """The strings that sound at the fret where ``shape`` stops them."""
    return {
        note.string
        for event in events
        for note in event.notes
        if note.string is not None and not _is_outside(note, shape)
    }


def _is_outside(note: Note, shape: Shape) -> bool:
    if note.string is None or note.muted or not 1 <= note.string <= len(shape.frets):
        return False
    return note.fret != shape.frets[-note.string]


def _stops(shape: Shape) -> dict[int, int]:
    """Fret by finger, for each finger that is down."""
    return {finger: fret for finger, fret in zip(shape.fingers, shape.frets, strict=True) if finger}


def _stretch(shape: Shape) -> int:
    """Frets beyond one finger a fret, summed over neighbouring fingers."""
    stops = sorted(_stops(shape).items())
    return sum(max(0, (b[1] - a[1]) - (b[0] - a[0])) for a, b in pairwise(stops))


def _shape_points(shape: Shape) -> float:
    stops = _stops(shape)
    barres = sum(BARRE + BARRE_STRING * (low - high - 1) for _, _, low, high in shape.barres)
    high = HIGH_FRET * max(0, max(stops.values(), default=0) - NEAR)
    return FINGER * len(stops) + STRETCH * _stretch(shape) + barres + high


def _shape_reason(shape: Shape) -> str:
    if shape.barres:
        finger, fret, low, high = max(shape.barres, key=lambda barre: barre[2] - barre[3])
        return (
            f"{shape.symbol} has a barre: finger {finger} lies over strings {low} to {high} at fret {fret}."
        )
    stops = _stops(shape)
    if _stretch(shape):
        frets = listed(dict.fromkeys(sorted(stops.values())))
        return f"{shape.symbol} is a stretch: frets {frets} at once."
    return f"{shape.symbol} takes {counted(len(stops), 'finger')}."


def _change_load(chord: _Held, whole_note: float) -> Iterator[Load]:
    if chord.came_from is None or chord.last_before is None:
        return
    moves = change(chord.came_from, chord.shape)
    needed = set(_stops(chord.used))
    slides = {guide.finger for guide in moves.guides} & needed
    placed = needed - slides - set(moves.kept)
    if not (placed or slides):
        return
    first = chord.moments[0].onset
    seconds = float(first - chord.last_before) * whole_note
    hurry = min(MOST_HURRIED, UNHURRIED / seconds)
    work = PLACED * len(placed) + GUIDED * len(slides) + SHIFTED * abs(moves.shift)
    yield Load(
        "change",
        work * hurry,
        _change_reason(chord, set(moves.kept) & needed, slides, placed, seconds),
        max(chord.last_before, Fraction(0)),
        chord.moments[0].end,
    )


def _change_reason(chord: _Held, kept: set[int], slides: set[int], placed: set[int], seconds: float) -> str:
    said = []
    if kept:
        said.append(f"{_fingers(kept)} stay{'s' * (len(kept) == 1)}")
    if slides:
        said.append(f"{_fingers(slides)} slide{'s' * (len(slides) == 1)}")
    if placed:
        said.append(f"{_fingers(placed)} must be placed")
    return sentence(f"{chord.came_from.symbol} to {chord.shape.symbol} in {seconds:.1f} s: {', '.join(said)}")


def _fingers(fingers: set[int]) -> str:
    return f"finger{'s' * (len(fingers) > 1)} {listed(sorted(fingers))}"


def _reach(moments: Sequence[Event]) -> Iterator[Load]:
    """How far apart along the neck the stopped notes lie, and how high."""
    stopped = [(note.fret, event) for event in moments for note in event.struck if note.fret]
    if not stopped:
        return
    low, high = min(fret for fret, _ in stopped), max(fret for fret, _ in stopped)
    points = REACH * max(0, high - low - UNDER_THE_HAND) + HIGH_FRET * max(0, high - NEAR)
    if high - low > UNDER_THE_HAND:
        text = f"The hand leaves its place: frets {low} to {high}."
    else:
        text = f"It lies high, up to fret {high}."
    ends = [event for fret, event in stopped if fret in (low, high)]
    yield Load("reach", points, text, ends[0].onset, ends[-1].end)


def _is_ornamented(event: Event) -> bool:
    return bool(event.grace) or any(note.join or note.harmonic for note in event.struck)

"""What the left hand does from one shape to the next, what it costs, and how to say it.

The cost is the sum of its parts, each with its reason, so that a teacher can see
where the work lies. The weights stand in one table and are from teaching practice
(common practice, no source).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from pieces.music.shapes import Shape

LIFT = 0.2  # a finger that only comes off
ADD = 0.8  # a finger that comes down anew
MOVE = 1.0  # a finger that leaves one string for another
ACROSS = 0.15  # that move, for each string it crosses
ALONG = 0.15  # and for each fret beyond what the whole hand shifts
TOGETHER = 0.5  # share of the cost for a finger that moves as the one before it does
GUIDE = 0.4  # a finger that slides along its string without leaving it
GUIDE_FRET = 0.1  # that slide, for each fret
FLATTEN = 0.4  # a finger that stays but lies down over more strings, or stands up again
TAKE_OVER = 0.5  # one finger replacing another on the very same spot
SHIFT = 0.5  # the whole hand moving along the neck
SHIFT_FRET = 0.25  # and for each fret
LITTLE_FINGER = 0.2  # more, where the little finger must find its place


class Guide(NamedTuple):
    """A finger that slides along one string."""

    finger: int
    string: int
    from_fret: int
    to_fret: int


class Spot(NamedTuple):
    """Where one finger stands: a fret, and the strings it stops, highest number first."""

    fret: int
    strings: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """What the left hand does between two shapes.

    ``kept`` are fingers that stay, ``lifted`` those that come off. ``shift`` is how
    many frets the hand moves up the neck (below 0: down). ``parts`` are the pieces
    of ``cost`` with their reasons. ``text`` says the change as a teacher would.
    """

    cost: float
    kept: tuple[int, ...]
    guides: tuple[Guide, ...]
    lifted: tuple[int, ...]
    added: tuple[int, ...]
    moved: tuple[int, ...]
    shift: int
    text: str
    parts: tuple[tuple[str, float], ...]


def change(a: Shape, b: Shape) -> Change:
    """Say what the left hand does from ``a`` to ``b``, and what it costs.

    The cost is 0 where nothing moves; a finger that stays never costs more than one
    that moves, and a longer shift never costs less than a shorter one.

    >>> am = Shape("Am", (2, 0, 0, 0), (2, 0, 0, 0), 0.0)
    >>> f = Shape("F", (2, 0, 1, 0), (2, 0, 1, 0), 0.0)
    >>> change(am, f).text
    'Finger 2 stays; add finger 1.'
    >>> change(am, f).kept, change(f, am).lifted
    ((2,), (1,))
    """
    return _change(a.frets, a.fingers, b.frets, b.fingers)


def change_cost(a: Shape, b: Shape) -> float:
    """The cost of ``change(a, b)`` alone."""
    return _change(a.frets, a.fingers, b.frets, b.fingers).cost


# --- What one change is made of ------------------------------------------------------------


@lru_cache(maxsize=1 << 16)
def _change(frets, fingers, next_frets, next_fingers) -> Change:
    before, after = _spots(frets, fingers), _spots(next_frets, next_fingers)
    both = before.keys() & after.keys()
    stays = {f for f in both if _stays(before[f], after[f])}
    slides = {f for f in both - stays if _slides(before[f], after[f])}
    moved = both - stays - slides
    lifted, added = before.keys() - both, after.keys() - both
    shift = position(before, after)
    guides = tuple(
        Guide(f, _common(before[f], after[f])[-1], before[f].fret, after[f].fret) for f in sorted(slides)
    )
    parts = (
        *_stay_parts(sorted(stays), before, after),
        *_guide_parts(guides),
        *_move_parts(sorted(moved), before, after, shift),
        *((f"finger {f} comes off", LIFT) for f in sorted(lifted)),
        *_add_parts(sorted(added), before, after),
        *_shift_part(shift),
    )
    return Change(
        cost=round(sum(cost for _, cost in parts), 3),
        kept=tuple(sorted(stays)),
        guides=guides,
        lifted=tuple(sorted(lifted)),
        added=tuple(sorted(added)),
        moved=tuple(sorted(moved)),
        shift=shift,
        text=_in_words(sorted(stays), guides, sorted(moved), sorted(lifted), sorted(added), before, after),
        parts=parts,
    )


@lru_cache(maxsize=1 << 14)
def _spots(frets, fingers) -> dict[int, Spot]:
    held: dict[int, tuple[int, list[int]]] = {}
    count = len(frets)
    for place, (fret, finger) in enumerate(zip(frets, fingers, strict=True)):
        if finger:
            held.setdefault(finger, (fret, []))[1].append(count - place)
    return {finger: Spot(fret, tuple(strings)) for finger, (fret, strings) in held.items()}


def position(before: dict[int, Spot], after: dict[int, Spot]) -> int:
    """Frets that the hand moves up the neck: what its fingers move, the least of them.

    Measured by where the index would stand. A hand that holds nothing has no place,
    so nothing shifts to or from it.
    """
    if not before or not after:
        return 0
    low = [spot.fret - finger for finger, spot in before.items()]
    high = [spot.fret - finger for finger, spot in after.items()]
    # A hand reaches over a range of places without moving; only what lies outside it is a shift.
    if min(high) > max(low):
        return min(high) - max(low)
    if max(high) < min(low):
        return max(high) - min(low)
    return 0


def _common(a: Spot, b: Spot) -> list[int]:
    return [string for string in a.strings if string in b.strings]


def _stays(a: Spot, b: Spot) -> bool:
    return a.fret == b.fret and bool(_common(a, b))


def _slides(a: Spot, b: Spot) -> bool:
    return a.fret != b.fret and bool(_common(a, b))


def _stay_parts(fingers, before, after):
    for finger in fingers:
        if len(before[finger].strings) != len(after[finger].strings):
            more = len(after[finger].strings) > len(before[finger].strings)
            yield f"finger {finger} {'lies down' if more else 'stands up'} where it is", FLATTEN


def _guide_parts(guides):
    for guide in guides:
        frets = abs(guide.to_fret - guide.from_fret)
        yield (
            f"finger {guide.finger} slides {_frets(frets)} on string {guide.string}",
            round(GUIDE + GUIDE_FRET * frets, 3),
        )


def _move_parts(fingers, before, after, shift):
    earlier = None
    for finger in fingers:
        a, b = before[finger], after[finger]
        across, along = b.strings[-1] - a.strings[-1], b.fret - a.fret
        cost = MOVE + ACROSS * abs(across) + ALONG * abs(along - shift)
        if finger == 4:
            cost += LITTLE_FINGER
        together = earlier == (across, along)
        yield (
            f"finger {finger} moves to {_strings(b.strings)}{' with the others' if together else ''}",
            round(cost * TOGETHER if together else cost, 3),
        )
        earlier = across, along


def _add_parts(fingers, before, after):
    taken = {(s, spot.fret): f for f, spot in before.items() for s in spot.strings}
    for finger in fingers:
        spot = after[finger]
        cost = ADD + (LITTLE_FINGER if finger == 4 else 0)
        other = next((taken[s, spot.fret] for s in spot.strings if (s, spot.fret) in taken), None)
        if other:
            yield f"finger {finger} takes over from finger {other}", cost + TAKE_OVER
        else:
            yield f"finger {finger} comes down", cost


def _shift_part(shift):
    if shift:
        way = "up" if shift > 0 else "down"
        yield f"the hand moves {way} {_frets(abs(shift))}", SHIFT + SHIFT_FRET * abs(shift)


# --- In words ------------------------------------------------------------------------------


def _in_words(stays, guides, moved, lifted, added, before, after) -> str:
    if before == after:
        return "Nothing moves." if before else "No finger is needed."
    if not after:
        return "Lift all fingers." if len(lifted) > 1 else f"Lift finger {lifted[0]}."
    sliding = {guide.finger for guide in guides}
    said = [
        *([f"{_fingers(stays)} stay{'s' if len(stays) == 1 else ''}"] if stays else []),
        *(_barre_words(finger, before, after) for finger in stays if before[finger] != after[finger]),
        *_guide_words(guides),
        *([f"lift {_fingers(lifted)}"] if lifted else []),
        *_move_words(moved, before, after),
        *([f"add {_fingers(added)}"] if added and (before or sliding) else []),
        *([_first_words(added, after)] if added and not before else []),
    ]
    text = "; ".join(said)
    return f"{text[0].upper()}{text[1:]}."


def _barre_words(finger, before, after) -> str:
    strings = after[finger].strings
    if len(strings) > len(before[finger].strings):
        return f"finger {finger} lies down over strings {strings[0]} to {strings[-1]}"
    return f"finger {finger} now stops only {_strings(strings)}"


def _guide_words(guides):
    if len(guides) > 1 and len({g.to_fret - g.from_fret for g in guides}) == 1:
        step = guides[0].to_fret - guides[0].from_fret
        way = "up" if step > 0 else "down"
        yield f"slide {_fingers([g.finger for g in guides])} {way} {_frets(abs(step))} together"
        return
    for guide in guides:
        yield f"slide finger {guide.finger} along string {guide.string} to fret {guide.to_fret}"


def _move_words(moved, before, after):
    steps = {(after[f].strings[-1] - before[f].strings[-1], after[f].fret - before[f].fret) for f in moved}
    if len(moved) > 1 and len(steps) == 1:
        ((across, along),) = steps
        where = f"{abs(across)} string{'s' if abs(across) > 1 else ''} {'down' if across < 0 else 'up'}"
        where += f" and to fret {after[moved[0]].fret}" if along else ""
        yield f"move {_fingers(moved)} together, {where}"
        return
    for finger in moved:
        spot = after[finger]
        fret = f", fret {spot.fret}" if spot.fret != before[finger].fret else ""
        yield f"move finger {finger} to {_strings(spot.strings)}{fret}"


def _first_words(added, after) -> str:
    return "put down " + _and(
        [f"finger {f} at fret {after[f].fret} of {_strings(after[f].strings)}" for f in added]
    )


def _fingers(fingers: Sequence[int]) -> str:
    return f"finger{'s' if len(fingers) > 1 else ''} {_and(fingers)}"


def _strings(strings: Sequence[int]) -> str:
    return f"string{'s' if len(strings) > 1 else ''} {_and(strings)}"


def _frets(count: int) -> str:
    return f"{count} fret{'s' if count > 1 else ''}"


def _and(words: Sequence[object]) -> str:
    *most, last = map(str, words)
    return f"{', '.join(most)} and {last}" if most else last

"""What the left hand does from one shape to the next, what it costs, and how to say it.

The cost is the sum of its parts, each with its reason, so that a teacher can see
where the work lies. The weights stand in one table and are from teaching practice
(common practice, no source).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

from pieces.music.shapes import Shape
from pieces.music.words import counted, listed

Frets = tuple[int | None, ...]

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
    return change_of(a.frets, a.fingers, b.frets, b.fingers)


def change_cost(a: Shape, b: Shape) -> float:
    """The cost of ``change(a, b)`` alone."""
    return cost_between(a.frets, a.fingers, b.frets, b.fingers)


@lru_cache(maxsize=1 << 18)
def cost_between(frets: Frets, fingers: Frets, next_frets: Frets, next_fingers: Frets) -> float:
    """``change_cost`` for bare rows of frets and fingers, highest string number first."""
    return round(sum(part[1] for part in _parts(_held(frets, fingers), _held(next_frets, next_fingers))), 3)


# --- What one change is made of ------------------------------------------------------------


class _Held(NamedTuple):
    """What a hand holds: each finger's spot, in order of fingers, and where the index would stand.

    ``lowest`` and ``highest`` are the ends of that range; a hand reaches over it without moving.
    """

    spots: dict[int, Spot]
    lowest: int
    highest: int


@lru_cache(maxsize=1 << 16)
def _held(frets: Frets, fingers: Frets) -> _Held:
    strings: dict[int, list[int]] = {}
    fret_of: dict[int, int] = {}
    count = len(frets)
    for place, (fret, finger) in enumerate(zip(frets, fingers, strict=True)):
        if finger:
            strings.setdefault(finger, []).append(count - place)
            fret_of[finger] = fret
    spots = {finger: Spot(fret_of[finger], tuple(strings[finger])) for finger in sorted(strings)}
    index = [spot.fret - finger for finger, spot in spots.items()]
    return _Held(spots, min(index, default=0), max(index, default=0))


def _shift(before: _Held, after: _Held) -> int:
    """Frets that the hand moves up the neck, the least that its fingers ask for.

    A hand that holds nothing has no place, so nothing shifts to or from it.
    """
    if not before.spots or not after.spots:
        return 0
    if after.lowest > before.highest:
        return after.lowest - before.highest
    return min(0, after.highest - before.lowest)


def _parts(before: _Held, after: _Held) -> Iterator[tuple[str, float, tuple]]:
    """The pieces of a change: (key of PART_WORDS, cost, what its words need)."""
    shift = _shift(before, after)
    step_before = None
    for finger, to in after.spots.items():
        spot = before.spots.get(finger)
        if spot is None:
            yield _added(finger, to, before.spots)
        elif not _share(spot, to):
            across, along = to.strings[-1] - spot.strings[-1], to.fret - spot.fret
            cost = MOVE + ACROSS * abs(across) + ALONG * abs(along - shift)
            cost += LITTLE_FINGER if finger == 4 else 0
            together = step_before == (across, along)
            step_before = across, along
            yield "moves", cost * TOGETHER if together else cost, (finger, to.strings, together)
        elif spot.fret != to.fret:
            frets = abs(to.fret - spot.fret)
            yield "slides", GUIDE + GUIDE_FRET * frets, (finger, frets, to.strings[-1])
        elif (len(spot.strings) > 1) != (len(to.strings) > 1):
            yield "lies down" if len(to.strings) > 1 else "stands up", FLATTEN, (finger,)
    for finger in before.spots:
        if finger not in after.spots:
            yield "lifts", LIFT, (finger,)
    if shift:
        yield "shifts", SHIFT + SHIFT_FRET * abs(shift), (shift,)


def _added(finger: int, to: Spot, before: dict[int, Spot]) -> tuple[str, float, tuple]:
    cost = ADD + (LITTLE_FINGER if finger == 4 else 0)
    for other, spot in before.items():
        if spot.fret == to.fret and _share(spot, to):
            return "takes over", cost + TAKE_OVER, (finger, other)
    return "adds", cost, (finger,)


def _share(a: Spot, b: Spot) -> bool:
    return any(string in b.strings for string in a.strings)


PART_WORDS = MappingProxyType(
    {
        "adds": lambda finger: f"finger {finger} comes down",
        "takes over": lambda finger, other: f"finger {finger} takes over from finger {other}",
        "moves": lambda finger, strings, together: (
            f"finger {finger} moves to {_strings(strings)}{' with the others' if together else ''}"
        ),
        "slides": lambda finger, frets, string: f"finger {finger} slides {_frets(frets)} on string {string}",
        "lies down": lambda finger: f"finger {finger} lies down where it is",
        "stands up": lambda finger: f"finger {finger} stands up where it is",
        "lifts": lambda finger: f"finger {finger} comes off",
        "shifts": lambda shift: f"the hand moves {'up' if shift > 0 else 'down'} {_frets(abs(shift))}",
    }
)


@lru_cache(maxsize=1 << 14)
def change_of(frets: Frets, fingers: Frets, next_frets: Frets, next_fingers: Frets) -> Change:
    """``change`` for bare rows of frets and fingers, from the highest string number to string 1."""
    held, next_held = _held(frets, fingers), _held(next_frets, next_fingers)
    before, after = held.spots, next_held.spots
    shared = {f for f in before if f in after and _share(before[f], after[f])}
    stays = tuple(f for f in before if f in shared and before[f].fret == after[f].fret)
    guides = tuple(
        Guide(f, _lowest_shared(before[f], after[f]), before[f].fret, after[f].fret)
        for f in before
        if f in shared and f not in stays
    )
    moved = tuple(f for f in before if f in after and f not in shared)
    lifted = tuple(f for f in before if f not in after)
    added = tuple(f for f in after if f not in before)
    return Change(
        cost=cost_between(frets, fingers, next_frets, next_fingers),
        kept=stays,
        guides=guides,
        lifted=lifted,
        added=added,
        moved=moved,
        shift=_shift(held, next_held),
        text=_in_words(stays, guides, moved, lifted, added, before, after),
        parts=tuple(
            (PART_WORDS[kind](*told), round(cost, 3)) for kind, cost, told in _parts(held, next_held)
        ),
    )


def _lowest_shared(a: Spot, b: Spot) -> int:
    return min(string for string in a.strings if string in b.strings)


# --- In words ------------------------------------------------------------------------------


def _in_words(stays, guides, moved, lifted, added, before, after) -> str:
    if before == after:
        return "Nothing moves." if before else "No finger is needed."
    if not after:
        return "Lift all fingers." if len(lifted) > 1 else f"Lift finger {lifted[0]}."
    sliding = {guide.finger for guide in guides}
    turning = [finger for finger in stays if _turns(before[finger], after[finger])]
    still = [finger for finger in stays if finger not in turning]
    said = [
        *([f"{_fingers(still)} stay{'s' if len(still) == 1 else ''}"] if still else []),
        *(_turn_words(finger, after[finger]) for finger in turning),
        *_guide_words(guides),
        *([f"lift {_fingers(lifted)}"] if lifted else []),
        *_move_words(moved, before, after),
        *([f"add {_fingers(added)}"] if added and (before or sliding) else []),
        *([_first_words(added, after)] if added and not before else []),
    ]
    text = "; ".join(said)
    return f"{text[0].upper()}{text[1:]}."


def _turns(a: Spot, b: Spot) -> bool:
    return (len(a.strings) > 1) != (len(b.strings) > 1)


def _turn_words(finger: int, to: Spot) -> str:
    if len(to.strings) > 1:
        return f"finger {finger} stays and lies down over strings {to.strings[0]} to {to.strings[-1]}"
    return f"finger {finger} stays and now stops only {_strings(to.strings)}"


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
        where = f"{counted(abs(across), 'string')} toward the {'floor' if across < 0 else 'ceiling'}"
        where += f" and to fret {after[moved[0]].fret}" if along else ""
        yield f"move {_fingers(moved)} together, {where}"
        return
    for finger in moved:
        spot = after[finger]
        fret = f", fret {spot.fret}" if spot.fret != before[finger].fret else ""
        yield f"move finger {finger} to {_strings(spot.strings)}{fret}"


def _first_words(added, after) -> str:
    return "put down " + listed(
        [f"finger {f} at fret {after[f].fret} of {_strings(after[f].strings)}" for f in added]
    )


def _fingers(fingers: Sequence[int]) -> str:
    return f"finger{'s' if len(fingers) > 1 else ''} {listed(fingers)}"


def _strings(strings: Sequence[int]) -> str:
    return f"string{'s' if len(strings) > 1 else ''} {listed(strings)}"


def _frets(count: int) -> str:
    return f"{count} fret{'s' if count > 1 else ''}"

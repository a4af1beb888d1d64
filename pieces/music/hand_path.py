"""The left hand through a tune: which grip at each moment, so that the whole is easiest.

A forward search keeps the cheapest ways into the likeliest grips at each moment
(a beam, so it is quick and near the best, not proven best). While a chord rings
under passing notes, its fingers stay where they are; a finger is taken away only
where no hand could hold both, and the string then stops sounding.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from pieces.music.grips import Grip, grips_under, hands_keeping, melody_cost, placements
from pieces.music.moves import cost_between
from pieces.music.tuning import Tuning

WIDTH = 14  # ways kept at each moment
LETTING_GO = 0.4  # a string beneath that must stop before its time
STRAIN = 0.1  # times the cost of the hand that holds on under a passing note
TOO_FAST = 6.0
FULLNESS = 0.4
LEISURE = 0.5  # seconds in which a change costs just its cost
# How long a hand needs for a change: a start, and more for what it costs (common practice, no source).
START_SECONDS = 0.05
SECONDS_A_COST = 0.05


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment of the tune. ``pitch`` is None in a rest.

    ``held``: the melody only sounds on. ``wanted`` is how many of ``tones`` should be
    struck beneath, 0 for a passing note; ``lacking`` is what each one short costs.
    ``seconds`` is the time since the moment before.
    """

    pitch: int | None
    held: bool
    tones: tuple[int, ...]
    wanted: int
    lacking: float
    seconds: float


def cheapest_grips(moments: Sequence[Moment], tuning: Tuning) -> list[Grip]:
    """A grip for each moment at the least total cost found.

    Raises ValueError where a pitch lies outside the instrument.
    """
    beam: list[tuple[float, Grip | None, tuple | None]] = [(0.0, None, None)]
    for moment in moments:
        ways: dict[tuple, tuple[float, Grip, tuple]] = {}
        for entry in beam:
            total, before, _ = entry
            for grip, own in _next_grips(before, moment, tuning):
                state = grip[:3]
                known = ways.get(state)
                if known and known[0] <= total + own:
                    continue
                cost = total + own + (_move_cost(before, grip, moment.seconds) if before else 0.0)
                if not known or cost < known[0]:
                    ways[state] = (cost, grip, entry)
        if not ways:
            raise ValueError(f"MIDI pitch {moment.pitch} cannot be played on {tuning.name}.")
        beam = sorted(ways.values(), key=lambda way: way[0])[:WIDTH]
    entry, path = beam[0], []
    while entry[2] is not None:
        path.append(entry[1])
        entry = entry[2]
    return path[::-1]


def is_too_fast(before: Grip, after: Grip, seconds: float) -> bool:
    """Whether the hand has less time for this change than it needs."""
    cost = cost_between(before.frets, before.fingers, after.frets, after.fingers)
    return cost > 0 and START_SECONDS + SECONDS_A_COST * cost > seconds


def _move_cost(before: Grip, after: Grip, seconds: float) -> float:
    cost = cost_between(before.frets, before.fingers, after.frets, after.fingers)
    if not cost:
        return 0.0
    hurry = min(2.5, max(0.6, LEISURE / seconds)) if seconds else 2.5
    return cost * hurry + (TOO_FAST if START_SECONDS + SECONDS_A_COST * cost > seconds else 0.0)


def _next_grips(before: Grip | None, moment: Moment, tuning: Tuning) -> Iterator[tuple[Grip, float]]:
    silent = before is None or before.melody < 0
    if moment.pitch is None:
        none = (None,) * len(tuning.open_pitches)
        yield Grip(none, none, -1, 0.0), 0.0
    elif moment.wanted:
        yield from _struck(None if silent or not moment.held else before, moment, tuning)
    elif moment.held and not silent:
        yield _ringing_on(before, moment, tuning), 0.0
    elif silent:
        yield from ((grip, grip.cost) for grip in placements(moment.pitch, tuning))
    else:
        yield from _passing(before, moment, tuning)


def _struck(held: Grip | None, moment: Moment, tuning: Tuning) -> Iterator[tuple[Grip, float]]:
    """A new handful; under a held melody note its finger may not move."""
    for grip, own in _handfuls(moment.pitch, moment.tones, moment.wanted, moment.lacking, tuning):
        if not held or _same_melody(held, grip):
            yield grip, own


@lru_cache(maxsize=1 << 12)
def _handfuls(
    pitch: int, tones: tuple[int, ...], wanted: int, lacking: float, tuning: Tuning
) -> tuple[tuple[Grip, float], ...]:
    most = min(wanted, len(tuning.open_pitches) - 1)
    grips = (*grips_under(pitch, tones, tuning, most), *placements(pitch, tuning))
    return tuple((grip, grip.cost + _lack(lacking, grip.beneath, most)) for grip in grips)


def _lack(lacking: float, beneath: int, most: int) -> float:
    """The first two tones beneath make the harmony; those above them only fill it."""
    return sum(lacking * (1 if count <= 2 else FULLNESS) for count in range(beneath + 1, most + 1))


def _same_melody(a: Grip, b: Grip) -> bool:
    at = a.melody
    return b.melody == at and a.frets[at] == b.frets[at] and a.fingers[at] == b.fingers[at]


def _ringing_on(before: Grip, moment: Moment, tuning: Tuning) -> Grip:
    kept = {*_still(before, moment, tuning, before.melody), before.melody}
    return _only(before, kept)


def _passing(before: Grip, moment: Moment, tuning: Tuning) -> Iterator[tuple[Grip, float]]:
    """The melody moves on alone while what was struck rings on, or lets go where it must."""
    for alone in placements(moment.pitch, tuning):
        yield alone, alone.cost + LETTING_GO * before.beneath
    for at, fret in {(g.melody, g.frets[g.melody]) for g in placements(moment.pitch, tuning)}:
        still = _still(before, moment, tuning, at)
        ringing = tuple(place for place in still if not before.frets[place])
        for kept in {still, ringing} - {()}:
            frets = tuple(
                fret if place == at else stop if place in kept else None
                for place, stop in enumerate(before.frets)
            )
            for fingers, cost in hands_keeping(frets, before.fingers, kept)[:3]:
                grip = Grip(frets, fingers, at, 0.0)
                own = melody_cost(at, fret, fingers[at], tuning) + STRAIN * cost
                yield grip, own + LETTING_GO * (before.beneath - len(kept))


def _still(before: Grip, moment: Moment, tuning: Tuning, at: int) -> tuple[int, ...]:
    """Places of ``before`` that may ring on under this note: lower than it, and of its chord."""
    return tuple(
        place
        for place, (string, fret) in enumerate(zip(tuning.strings, before.frets, strict=True))
        if fret is not None
        and place not in (at, before.melody)
        and tuning.pitch(string, fret) < moment.pitch
        and tuning.pitch(string, fret) % 12 in moment.tones
    )


def _only(grip: Grip, places: set[int]) -> Grip:
    def kept(row):
        return tuple(mark if place in places else None for place, mark in enumerate(row))

    return Grip(kept(grip.frets), kept(grip.fingers), grip.melody, 0.0)

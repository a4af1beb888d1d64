"""What one hand can hold beneath a melody note: chord tones only, and all lower than it.

A grip is a pattern of frets from the highest string number to string 1, as a shape
is, with the string that carries the tune. The search is exhaustive within the
reach of a hand; the weights of what makes a good grip stand in one table (common
practice, no source).
"""

from collections.abc import Iterator
from functools import lru_cache
from itertools import product
from typing import NamedTuple

from pieces.music.fingering import Frets, hands
from pieces.music.tuning import Tuning

HIGHEST_FRET = 12
REACH = 3  # frets from the lowest stopped to the highest
BY_THE_NUT = 4  # frets that have a finger of their own
FINGERED = 40  # patterns beneath one note that are worth fingering
KEPT = 10  # grips kept with the most tones beneath
KEPT_THINNER = 4  # and with each smaller number, as a way out
HANDS_A_GRIP = 2

HEIGHT = 0.15  # each fret up the neck
HIGH_UP = 0.25  # each fret above the seventh, where a beginner's hand is not at home
HAND = 0.35  # the cost of the fingers of a grip
OFF_PLACE = 0.25  # each fret by the nut that a single note's finger is off one finger a fret
LATER_FINGER = 0.04  # for each finger after the index on a single note, and more for the little one
LITTLE_FINGER = 0.15
NO_TELLING_TONE = 0.8  # two or more tones beneath, and the third (or fourth of sus) is nowhere
NO_ROOT = 0.4
NO_SEVENTH = 0.3
DOUBLED = 0.25  # a tone beneath that only repeats the melody's or another's
ROOT_LOWEST = -0.2
RUBS = 1.0  # a half step right under the melody
SILENT_BETWEEN = 0.2  # a string between that must not sound, harder to strum
DRONE_TUNE = 3.0  # the tune on a string tuned above its neighbour, as the fourth of a high G ukulele


class Grip(NamedTuple):
    """What the left hand holds at a moment, with the fingers it uses.

    ``melody`` is the place in ``frets`` that carries the tune. ``cost`` is of the grip
    alone, without what came before.
    """

    frets: Frets
    fingers: Frets
    melody: int
    cost: float

    @property
    def beneath(self) -> int:
        """Strings that sound besides the melody's."""
        return sum(fret is not None for fret in self.frets) - 1


@lru_cache(maxsize=1 << 14)
def placements(pitch: int, tuning: Tuning) -> tuple[Grip, ...]:
    """The melody note alone, at every string, fret and finger that plays it.

    >>> from pieces.music.tuning import TUNINGS
    >>> sorted({grip.frets.index(fret) for grip in placements(64, TUNINGS["ukulele high G"])
    ...         for fret in grip.frets if fret is not None})
    [1, 2]
    """
    found = []
    for at, fret in _melody_places(pitch, tuning):
        frets = _alone(at, fret, len(tuning.open_pitches))
        for hand in hands(frets):
            cost = melody_cost(at, fret, hand.fingers[at], tuning)
            found.append(Grip(frets, hand.fingers, at, round(cost, 3)))
    return tuple(found)


def melody_cost(at: int, fret: int, finger: int, tuning: Tuning) -> float:
    """What a single melody note costs at this place, with this finger."""
    cost = _height(fret) + _drone(at, tuning)
    if not fret:
        return cost
    by_nut = abs(fret - finger) if fret <= BY_THE_NUT else 0
    return cost + OFF_PLACE * by_nut + LATER_FINGER * (finger - 1) + LITTLE_FINGER * (finger == 4)


@lru_cache(maxsize=1 << 14)
def grips_under(pitch: int, tones: tuple[int, ...], tuning: Tuning, most: int) -> tuple[Grip, ...]:
    """Grips with 1 to ``most`` of the ``tones`` (pitch classes, root first) under ``pitch``.

    Best first for each number of tones beneath; every note beneath is lower than the
    melody and one of ``tones``, and every grip has a legal hand.

    >>> from pieces.music.tuning import TUNINGS
    >>> best = grips_under(72, (0, 4, 7), TUNINGS["ukulele high G"], 3)[0]
    >>> best.frets, best.fingers, best.melody
    ((0, 0, 0, 3), (0, 0, 0, 3), 3)
    """
    by_count: dict[int, list[tuple[float, Frets, int]]] = {}
    for at, fret in _melody_places(pitch, tuning):
        for frets in _patterns(pitch, at, fret, tones, tuning, most):
            count = sum(f is not None for f in frets) - 1
            by_count.setdefault(count, []).append((_sound_cost(frets, at, pitch, tones, tuning), frets, at))
    found: list[Grip] = []
    for count in sorted(by_count, reverse=True):
        likely = sorted(by_count[count], key=lambda pattern: pattern[0])[:FINGERED]
        fingered = [grip for likeness in likely for grip in _fingered(*likeness)]
        found += sorted(fingered, key=lambda grip: grip.cost)[: KEPT_THINNER if found else KEPT]
    return tuple(found)


@lru_cache(maxsize=1 << 14)
def most_beneath(pitch: int, tones: tuple[int, ...], tuning: Tuning) -> tuple[int, float]:
    """How many strings can sound ``tones`` below ``pitch`` at once, and how high the hand lies.

    Quick: it counts what lies within the reach of a hand and leaves the fingers out.

    >>> from pieces.music.tuning import TUNINGS
    >>> most_beneath(60, (0, 4, 7), TUNINGS["ukulele high G"])
    (0, 0.0)
    """
    best = (0, 0.0)
    opens = [tuning.open_pitch(string) for string in tuning.strings]
    for at, fret in _melody_places(pitch, tuning):
        for low in range(max(1, fret - REACH), fret + 1) if fret else (1, 2, 3, 4):
            count = 0
            for place, open_pitch in enumerate(opens):
                reach = (0, *range(low, low + REACH + 1))
                count += place != at and any(
                    open_pitch + f < pitch and (open_pitch + f) % 12 in tones for f in reach
                )
            best = max(best, (count, -_height(fret)))
    return best[0], abs(best[1])


def hands_keeping(frets: Frets, fingers: Frets, kept: tuple[int, ...]) -> list[tuple[Frets, float]]:
    """Hands for ``frets`` in which the strings at places ``kept`` keep the finger they have.

    >>> hands_keeping((0, 0, 0, 3), (None, None, 0, 2), (3,))[0][0]
    (0, 0, 0, 2)
    """
    return [
        (hand.fingers, hand.cost)
        for hand in hands(frets)
        if all(hand.fingers[place] == fingers[place] for place in kept)
    ]


# --- The search ----------------------------------------------------------------------------


def _melody_places(pitch: int, tuning: Tuning) -> Iterator[tuple[int, int]]:
    for at, string in enumerate(tuning.strings):
        fret = tuning.fret(string, pitch)
        if fret is not None and fret <= HIGHEST_FRET:
            yield at, fret


def _patterns(
    pitch: int, at: int, fret: int, tones: tuple[int, ...], tuning: Tuning, most: int
) -> Iterator[Frets]:
    """Every pattern within reach with 1 to ``most`` tones beneath the melody at (at, fret)."""
    near = range(max(1, fret - REACH), fret + REACH + 1) if fret else range(1, REACH + 3)
    options: list[list[int | None]] = []
    for place, string in enumerate(tuning.strings):
        if place == at:
            options.append([fret])
            continue
        open_pitch = tuning.open_pitch(string)
        fits = (f for f in (0, *near) if open_pitch + f < pitch and (open_pitch + f) % 12 in tones)
        options.append([None, *fits])
    for frets in product(*options):
        if not 1 < sum(f is not None for f in frets) <= most + 1:
            continue
        stopped = [f for f in frets if f]
        if not stopped or max(stopped) - min(stopped) <= REACH:
            yield frets


def _fingered(sound: float, frets: Frets, at: int) -> list[Grip]:
    return [
        Grip(frets, hand.fingers, at, round(sound + HAND * hand.cost, 3))
        for hand in hands(frets)[:HANDS_A_GRIP]
    ]


def _sound_cost(frets: Frets, at: int, pitch: int, tones: tuple[int, ...], tuning: Tuning) -> float:
    opens = [tuning.open_pitch(string) for string in tuning.strings]
    under = [o + f for p, (o, f) in enumerate(zip(opens, frets, strict=True)) if f is not None and p != at]
    classes = {pc % 12 for pc in (*under, pitch)}
    cost = _height(max(f for f in frets if f is not None)) + _drone(at, tuning)
    if len(under) > 1:
        cost += NO_TELLING_TONE * (tones[1] not in classes)
        cost += NO_ROOT * (tones[0] not in classes)
        cost += NO_SEVENTH * (len(tones) > 3 and tones[3] not in classes)
    elif tones[0] not in classes:
        cost += NO_ROOT
    cost += DOUBLED * (len(under) + 1 - len(classes))
    cost += ROOT_LOWEST * (min(under) % 12 == tones[0])
    cost += RUBS * any(pitch - p == 1 for p in under)
    sounding = [place for place, f in enumerate(frets) if f is not None]
    return cost + SILENT_BETWEEN * (sounding[-1] - sounding[0] + 1 - len(sounding))


def _alone(at: int, fret: int, strings: int) -> Frets:
    return tuple(fret if place == at else None for place in range(strings))


def _height(fret: int) -> float:
    return HEIGHT * fret + HIGH_UP * max(0, fret - 7)


def _drone(at: int, tuning: Tuning) -> float:
    opens = tuning.open_pitches
    return DRONE_TUNE if at + 1 < len(opens) and opens[at] > opens[at + 1] else 0.0

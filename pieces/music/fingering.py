"""Left-hand fingers for a pattern of frets: every legal hand, and what each costs.

A hand is legal where no finger stands on two frets, a higher finger never stands
on a lower fret, on one fret the lower finger has the higher string number, and a
finger laid across strings (a barre) stops no string that should sound open or
lower. Patterns, like shapes, run from the highest string number to string 1.
"""

from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import combinations, pairwise
from typing import NamedTuple

from pieces.music.shape_costs import weights

Frets = tuple[int | None, ...]
Fingers = tuple[int | None, ...]
Terms = tuple[tuple[str, float], ...]

# Frets between two fingers beyond one finger a fret that a hand can still open.
EXTRA_REACH = 1
# Frets between index and little finger that a hand can still open.
WHOLE_REACH = 4
# Up to this fret the nut is near enough to guide the hand; above, only distances count.
LAST_FRET_BY_THE_NUT = 4

BARRE = (None, "index barre", "middle barre", "ring barre", "little barre")
STRETCH = (None, "stretch index to middle", "stretch middle to ring", "stretch ring to little")


class Press(NamedTuple):
    """One finger down: ``places`` are the strings it stops, as indexes into the pattern."""

    finger: int
    fret: int
    places: tuple[int, ...]

    @property
    def is_barre(self) -> bool:
        return len(self.places) > 1


class Hand(NamedTuple):
    """A legal way to finger a pattern, its cost, and what the cost is made of.

    ``terms`` pairs the names of ``shape_costs.TABLE`` with amounts.
    """

    fingers: Fingers
    cost: float
    terms: Terms


def hands(frets: Frets) -> tuple[Hand, ...]:
    """Every legal hand for ``frets``, easiest first; empty where no hand can play it.

    >>> hands((0, 0, 0, 3))[0].fingers
    (0, 0, 0, 3)
    >>> hands((1, 5, 1, 9))
    ()
    """
    lift = max(0, min(filter(None, frets), default=0) - LAST_FRET_BY_THE_NUT)
    return _hands(tuple([fret - lift if fret else fret for fret in frets]) if lift else frets)


def hand_of(frets: Frets, fingers: Fingers) -> Hand:
    """The hand that ``fingers`` make on ``frets``, legal or not, with its cost."""
    lift = max(0, min(filter(None, frets), default=0) - LAST_FRET_BY_THE_NUT)
    return _hand(tuple(fret - lift if fret else fret for fret in frets), presses_of(frets, fingers, lift))


def presses_of(frets: Frets, fingers: Fingers, lift: int = 0) -> tuple[Press, ...]:
    """The fingers that are down, in order of finger.

    >>> presses_of((3, 2, 1, 1), (3, 2, 1, 1))[0]
    Press(finger=1, fret=1, places=(2, 3))
    """
    down: dict[tuple[int, int], list[int]] = {}
    for place, (fret, finger) in enumerate(zip(frets, fingers, strict=True)):
        if fret and finger:
            down.setdefault((finger, fret - lift), []).append(place)
    return tuple(Press(finger, fret, tuple(places)) for (finger, fret), places in sorted(down.items()))


@lru_cache(maxsize=1 << 16)
def _hands(frets: Frets) -> tuple[Hand, ...]:
    found = [_hand(frets, presses) for presses in _all_presses(frets)]
    return tuple(sorted(found, key=lambda hand: (hand.cost, [finger or 0 for finger in hand.fingers])))


def _hand(frets: Frets, presses: tuple[Press, ...]) -> Hand:
    table = weights(len(frets))
    terms = (
        *_stance_terms(tuple([(press.finger, press.fret) for press in presses])),
        *_across_terms(frets, presses),
    )
    by_place = {place: press.finger for press in presses for place in press.places}
    fingers = tuple([None if fret is None else by_place.get(place, 0) for place, fret in enumerate(frets)])
    return Hand(fingers, round(sum([table[name] * amount for name, amount in terms]), 2), terms)


def _all_presses(frets: Frets) -> Iterator[tuple[Press, ...]]:
    """Every legal row of presses, in order of fingers."""
    stopped = sorted({fret for fret in frets if fret})
    for groups in _groupings(frets, stopped):
        for fingers in _reachable(tuple([fret for fret, _ in groups])):
            yield tuple([Press(finger, *group) for finger, group in zip(fingers, groups, strict=True)])


def _groupings(frets: Frets, stopped: list[int]) -> Iterator[tuple[tuple[int, tuple[int, ...]], ...]]:
    """Every way to share out the stopped strings among at most four fingers, lowest fret first."""
    if not stopped:
        yield ()
        return
    fret, *higher = stopped
    places = tuple([place for place, stop in enumerate(frets) if stop == fret])
    for split in _splits(frets, fret, places):
        for rest in _groupings(frets, higher):
            if len(split) + len(rest) <= 4:
                yield (*((fret, group) for group in split), *rest)


def _splits(frets: Frets, fret: int, places: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], ...]]:
    """Every way to cut the strings stopped at one fret into fingers side by side."""
    if not places:
        yield ()
        return
    for size in range(1, len(places) + 1):
        group = places[:size]
        if size > 1 and not _can_lie(frets, fret, group):
            return
        for rest in _splits(frets, fret, places[size:]):
            yield (group, *rest)


def _can_lie(frets: Frets, fret: int, group: tuple[int, ...]) -> bool:
    return all(stop is None or stop >= fret for stop in frets[group[0] : group[-1] + 1])


@lru_cache(maxsize=4096)
def _reachable(frets: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
    """The rows of fingers that can stand on a rising row of frets."""
    return tuple(
        fingers
        for fingers in combinations((1, 2, 3, 4), len(frets))
        if all(
            frets[b] - frets[a] <= min(fingers[b] - fingers[a] + EXTRA_REACH, WHOLE_REACH)
            for a, b in combinations(range(len(frets)), 2)
        )
    )


def _counted(terms: Iterable[tuple[str, float]]) -> Terms:
    return tuple((name, int(amount)) for name, amount in terms if amount)


@lru_cache(maxsize=1 << 14)
def _stance_terms(stance: tuple[tuple[int, int], ...]) -> Terms:
    """What (finger, fret) pairs cost whatever strings they stand on, as (name, amount)."""
    if not stance:
        return ()
    first_finger, first_fret = stance[0]
    fingers = [finger for finger, _ in stance]
    off = [abs(fret - first_fret - finger + first_finger) for finger, fret in stance]
    terms = [
        ("each finger", len(stance)),
        ("little finger", 4 in fingers),
        ("index left idle", first_finger - 1),
        ("away from the nut's fingers", abs(first_fret - first_finger) * (first_fret < LAST_FRET_BY_THE_NUT)),
        ("not one finger a fret", any(off)),
        ("frets off one finger a fret", sum(off)),
    ]
    for (finger, fret), (next_finger, next_fret) in pairwise(stance):
        name = STRETCH[finger] if next_finger == finger + 1 else "stretch past an idle finger"
        terms += [
            (name, max(0, next_fret - fret - next_finger + finger)),
            ("two fingers on one fret", next_fret == fret),
        ]
    return _counted(terms)


def _across_terms(frets: Frets, presses: tuple[Press, ...]) -> Terms:
    """What a hand costs across the strings: barres, slants and reaches, as (name, amount)."""
    barres = [press for press in presses if len(press.places) > 1]
    terms: list[tuple[str, float]] = []
    for press in barres:
        terms += _barre_terms(frets, press, presses)
    if barres:
        terms += _barred_hand_terms(presses, barres)
    for low, high in pairwise(presses):
        terms += _pair_terms(low, high)
    return _counted(terms)


def _barre_terms(frets: Frets, press: Press, presses: tuple[Press, ...]) -> list[tuple[str, float]]:
    finger, _, places = press
    tip, palm = places[0], places[-1]
    silent = frets[tip : palm + 1].count(None)
    past_others = palm + 1 - tip - len(places) - silent
    short = palm != len(frets) - 1
    terms = [
        (BARRE[finger], 1),
        ("barre over a silent string", silent),
        ("barre with an open string beyond its tip", 0 in frets[:tip]),
        ("barre with an open string under the palm", 0 in frets[palm:]),
    ]
    if finger == 1:
        return [
            *terms,
            ("index barre past other fingers", past_others),
            ("index barre short of string 1", short),
        ]
    return [
        *terms,
        ("upper barre beyond two strings", len(places) - 2),
        ("upper barre past other fingers", past_others),
        ("upper barre inside the shape", tip > 0 and short),
        ("upper barre under a higher finger", presses[-1].finger > finger),
    ]


def _barred_hand_terms(presses: tuple[Press, ...], barres: list[Press]) -> list[tuple[str, float]]:
    upper = [press for press in presses if press.finger > 1]
    last = presses[-1]
    alone = len(presses) == 2 and presses[0].is_barre and not last.is_barre
    return [
        (
            "ring finger alone beyond an index barre",
            alone and last.finger == 3 and last.places[0] >= presses[0].places[-1],
        ),
        (
            "three strings on one of several upper fingers",
            len(upper) > 1 and any(len(press.places) > 2 for press in upper),
        ),
    ]


def _pair_terms(low: Press, high: Press) -> list[tuple[str, float]]:
    """Two fingers that follow one another on different frets: the floor is string 1's side."""
    if low.fret == high.fret:
        return []
    to_floor = max(0, high.places[0] - low.places[-1] - 1)
    to_ceiling = max(0, low.places[0] - high.places[-1])
    return [
        ("neighbours far across the strings", to_floor * (high.finger == low.finger + 1)),
        ("slant to the ceiling", to_ceiling),
        ("little finger slants to the ceiling", to_ceiling * (high.finger == 4)),
    ]

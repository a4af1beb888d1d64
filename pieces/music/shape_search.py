"""Every pattern of frets that sounds a chord within a hand's span, and what each costs.

The search is exhaustive: patterns grow from the highest string number to string 1
and are dropped as soon as no hand could span them or what is left cannot supply what
is missing. Pitch classes are kept as bits.
"""

from collections.abc import Callable
from dataclasses import dataclass
from heapq import heappush, heappushpop
from operator import attrgetter, itemgetter
from typing import NamedTuple

from pieces.music.chords import Chord
from pieces.music.fingering import Frets, Hand, hands
from pieces.music.qualities import QUALITIES, semitones
from pieces.music.shape_costs import weights
from pieces.music.tuning import Tuning

_pitch = attrgetter("pitch")
_first = itemgetter(0)

# Strings that must sound where nothing else is asked (common practice, no source).
FEWEST_STRINGS = 4
# Strings that must sound, if there are so many, where a melody note is asked for on top.
FEWEST_UNDER_MELODY = 2


class Stop(NamedTuple):
    """One way to use a string: its fret (None: silent), its pitch, its pitch class as a bit."""

    fret: int | None
    pitch: int
    tone: int


SILENT = Stop(None, 0, 0)
NO_FRET = 99
LEFT_OUT = {"1": "root left out", "3": "third left out", "5": "fifth left out"}
# From the fret above this one, open strings ring far below a hand.
HIGH_HAND = 4


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a search must find. Strings are given as places: 0 is the highest string number."""

    chord: Chord
    tuning: Tuning
    sounding: frozenset[int] | None
    melody: int | None
    max_fret: int
    max_span: int

    @property
    def fewest(self) -> int:
        count = len(self.tuning.open_pitches)
        if self.sounding is not None:
            return len(self.sounding)
        return min(count, FEWEST_STRINGS if self.melody is None else FEWEST_UNDER_MELODY)


class Found(NamedTuple):
    """A pattern of frets with its easiest hand and whole cost."""

    cost: float
    frets: Frets
    hand: Hand


def search(wanted: Wanted, limit: int | None = None) -> list[Found]:
    """Playable patterns, easiest first; only the ``limit`` easiest if it is given.

    A hand never costs less than nothing, so once the frets alone cost more than the
    last shape wanted, no pattern further on can be among them.
    """
    price_of = _pricer(wanted.chord, wanted.tuning)
    priced = sorted([(price_of(pattern), pattern) for pattern in _patterns(wanted)], key=_first)
    found: list[Found] = []
    worst_wanted: list[float] = []
    for price, pattern in priced:
        if limit is not None and len(worst_wanted) == limit and price > -worst_wanted[0]:
            break
        frets = tuple([stop.fret for stop in pattern])
        ways = hands(frets)
        if not ways:
            continue
        cost = round(price + ways[0].cost, 2)
        found.append(Found(cost, frets, ways[0]))
        if limit is not None:
            (heappushpop if len(worst_wanted) == limit else heappush)(worst_wanted, -cost)
    found.sort(key=lambda f: (f.cost, [-1 if fret is None else fret for fret in f.frets]))
    return found[:limit]


def price(chord: Chord | None, tuning: Tuning, frets: Frets) -> float:
    """What frets cost for ``chord``, whoever stops them; without a chord any tone will do."""
    pattern = tuple(
        SILENT
        if fret is None
        else Stop(fret, tuning.pitch(string, fret), 1 << tuning.pitch(string, fret) % 12)
        for string, fret in zip(tuning.strings, frets, strict=True)
    )
    return _pricer(chord, tuning)(pattern)


def _pricer(chord: Chord | None, tuning: Tuning) -> Callable[[tuple[Stop, ...]], float]:
    """A function that prices a pattern, fingers aside.

    Many patterns of a chord sound the same tones over the same bass, so that part
    of the price is kept.
    """
    table = weights(len(tuning.open_pitches))
    tone_prices: dict[tuple[int, int, int], float] = {}

    def total(terms: list[tuple[str, float]]) -> float:
        return sum([table[name] * amount for name, amount in terms])

    def price_of(pattern: tuple[Stop, ...]) -> float:
        sounding = [stop for stop in pattern if stop.fret is not None]
        if not sounding:
            return 0.0
        cost = total(_fret_terms([stop.fret for stop in pattern], [stop.pitch for stop in sounding]))
        if chord is None:
            return cost
        tones = 0
        for stop in sounding:
            tones |= stop.tone
        key = (tones, min(sounding, key=_pitch).tone, len(sounding))
        if key not in tone_prices:
            tone_prices[key] = total(_tone_terms(chord, *key))
        return cost + tone_prices[key]

    return price_of


def _patterns(wanted: Wanted) -> list[tuple[Stop, ...]]:
    """Patterns within the span that hold the required tones, and the melody on top.

    They grow string by string. A partial pattern is dropped once its frets lie too
    far apart, too many strings are silent, or the strings still to come cannot
    supply a tone it lacks.
    """
    stops = _stops_by_place(wanted)
    required = sum(1 << tone for tone in wanted.chord.required)
    may_lack = wanted.melody is not None or required.bit_count() > wanted.fewest
    silent_at_most = len(stops) - wanted.fewest
    # (pattern, tones, silent strings, lowest and highest stopped fret)
    partial = [((), 0, 0, NO_FRET, 0)]
    for place, supply in zip(stops, _supplies(stops), strict=True):
        grown = []
        for pattern, tones, silent, low, high in partial:
            for stop in place:
                fret, _, tone = stop
                if fret is None:
                    if silent < silent_at_most and not (required & ~tones & ~supply and not may_lack):
                        grown.append(((*pattern, stop), tones, silent + 1, low, high))
                    continue
                if fret:
                    lowest = fret if fret < low else low
                    highest = fret if fret > high else high
                    if highest - lowest >= wanted.max_span:
                        continue
                else:
                    lowest, highest = low, high
                held = tones | tone
                if not may_lack and required & ~held & ~supply:
                    continue
                grown.append(((*pattern, stop), held, silent, lowest, highest))
        partial = grown
    return [
        pattern
        for pattern, tones, silent, _, _ in partial
        if (wanted.melody is not None or _is_enough(required, tones, len(stops) - silent))
        and _ends_stand(wanted, pattern)
    ]


def _supplies(stops: list[list[Stop]]) -> list[int]:
    """For each string, the tones that the strings after it can supply."""
    supplies = [0]
    for place in reversed(stops[1:]):
        tones = supplies[-1]
        for stop in place:
            tones |= stop.tone
        supplies.append(tones)
    return supplies[::-1]


def _is_enough(required: int, tones: int, sounding: int) -> bool:
    """Whether all required tones sound, or as many as there are strings for."""
    missing = (required & ~tones).bit_count()
    return missing <= max(0, required.bit_count() - sounding)


def _ends_stand(wanted: Wanted, pattern: tuple[Stop, ...]) -> bool:
    """Whether the melody is on top and a slash bass at the bottom.

    On re-entrant strings it is enough that a slash bass sounds.
    """
    if wanted.melody is not None and all(stop.pitch != wanted.melody for stop in pattern):
        return False
    bass = wanted.chord.bass
    if bass is None or wanted.tuning.reentrant:
        return True
    return min(stop.pitch for stop in pattern if stop.fret is not None) % 12 == bass


def _stops_by_place(wanted: Wanted) -> list[list[Stop]]:
    """For each string the ways to use it, whatever the hand does elsewhere."""
    chord, tuning = wanted.chord, wanted.tuning
    tones = set(chord.sounding)
    found = []
    for place, string in enumerate(tuning.strings):
        stops = []
        if wanted.sounding is None or place not in wanted.sounding:
            stops.append(SILENT)
        if wanted.sounding is None or place in wanted.sounding:
            last = 0 if _is_drone(tuning, place) else wanted.max_fret
            for fret in range(last + 1):
                pitch = tuning.pitch(string, fret)
                if wanted.melody is not None and pitch > wanted.melody:
                    break
                if pitch % 12 in tones or pitch == wanted.melody:
                    stops.append(Stop(fret, pitch, 1 << pitch % 12))
        found.append(stops)
    return found


def _is_drone(tuning: Tuning, place: int) -> bool:
    """Whether the string is the short fifth string of a banjo: played open or not at all."""
    return place == 0 and len(tuning.open_pitches) == 5 and tuning.open_pitches[0] > tuning.open_pitches[1]


def _fret_terms(frets: list[int | None], pitches: list[int]) -> list[tuple[str, float]]:
    """What makes frets good or bad, fingers aside, as (name in the weights, amount)."""
    stopped = [fret for fret in frets if fret]
    opens = frets.count(0)
    terms = [("open string", opens), ("two strings in unison", len(pitches) - len(set(pitches)))]
    if stopped:
        low, high = min(stopped), max(stopped)
        terms += [("up the neck", low - 1), ("frets spanned", high - low)]
        if opens and low > HIGH_HAND:
            terms.append(("open string beside a high hand", opens * (low - HIGH_HAND)))
    if None in frets:
        terms += _silence_terms(frets)
    return terms


def _tone_terms(chord: Chord, tones: int, bass: int, strings: int) -> list[tuple[str, float]]:
    """What is left out, and what is lowest, where ``strings`` sound ``tones`` over ``bass`` (as bits)."""
    wanted = sum(1 << tone for tone in chord.sounding)
    wasted = min(strings, len(chord.tones)) - (tones & wanted).bit_count()
    terms = [("tone left out though there was room", max(0, wasted))]
    for degree in QUALITIES[chord.quality].degrees:
        tone = (chord.root + semitones(degree)) % 12
        if not tones >> tone & 1:
            terms.append((LEFT_OUT.get(degree.lstrip("#b"), "colour left out"), 1))
    if bass != 1 << (chord.root if chord.bass is None else chord.bass):
        is_fifth = bass == 1 << (chord.root + 7) % 12 and bass & wanted
        terms.append(("bass is the fifth" if is_fifth else "bass is not the root", 1))
    return terms


def _silence_terms(frets: list[int | None]) -> list[tuple[str, float]]:
    first = next(place for place, fret in enumerate(frets) if fret is not None)
    last = len(frets) - next(place for place, fret in enumerate(reversed(frets)) if fret is not None)
    return [
        ("silent bass string", first),
        ("silent string 1", len(frets) - last),
        ("silent string between", frets[first:last].count(None)),
    ]

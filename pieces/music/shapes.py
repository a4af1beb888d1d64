"""Shapes: where the left hand goes for a chord, which fingers, and why this way."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

from pieces.music.chords import UnknownChord, degree_name, degrees_of, parse_chord, root_name, spell
from pieces.music.fingering import hand_of, hands
from pieces.music.shape_costs import weights
from pieces.music.shape_reasons import FINGER_NAMES, finger_sentence, reasons_of
from pieces.music.shape_search import Wanted, price, search
from pieces.music.tuning import Tuning


@dataclass(frozen=True, slots=True)
class Shape:
    """Frets and left-hand fingers for one chord.

    ``frets`` and ``fingers`` run from the highest string number to string 1: fret 0
    is the open string, None a string that does not sound; finger 0 is an open
    string, None one that does not sound, 1 the index and 4 the little finger. The
    lower ``cost`` the easier; it may be below 0. ``reasons`` are sentences.
    """

    symbol: str
    frets: tuple[int | None, ...]
    fingers: tuple[int | None, ...]
    cost: float
    reasons: tuple[str, ...] = ()

    @property
    def written(self) -> str:
        """The shape as it is written: ``0003``, ``x32010``, ``10-12-12-11-10-10``.

        >>> Shape("C", (0, 0, 0, 3), (0, 0, 0, 3), 0.0).written
        '0003'
        """
        marks = ["x" if fret is None else str(fret) for fret in self.frets]
        return ("-" if any(len(mark) > 1 for mark in marks) else "").join(marks)

    @property
    def barres(self) -> list[tuple[int, int, int, int]]:
        """Fingers laid across several strings: (finger, fret, from_string, to_string).

        >>> Shape("Bb", (3, 2, 1, 1), (3, 2, 1, 1), 0.0).barres
        [(1, 1, 2, 1)]
        """
        held: dict[tuple[int, int], list[int]] = {}
        count = len(self.frets)
        for place, (finger, fret) in enumerate(zip(self.fingers, self.frets, strict=True)):
            if finger:
                held.setdefault((finger, fret), []).append(count - place)
        return [(*key, strings[0], strings[-1]) for key, strings in sorted(held.items()) if len(strings) > 1]


class Neighbour(NamedTuple):
    """An easier way out, for the teacher to choose or leave: ``text`` says what it changes."""

    shape: Shape
    text: str


def find_shapes(
    symbol: str,
    tuning: Tuning,
    *,
    strings: Iterable[int] | None = None,
    melody: int | None = None,
    max_fret: int = 15,
    max_span: int = 4,
    limit: int | None = None,
) -> list[Shape]:
    """Every shape for a chord, easiest first; the ``limit`` easiest if that is given.

    By default at least four strings sound, or all where there are fewer. ``strings``
    names the string numbers that sound instead, each of them and no other.
    ``melody`` is a MIDI number that must be the highest note; it may be foreign to
    the chord, two strings are then enough, and no tone beneath it is indispensable
    (what is left out costs). ``max_span`` is how many frets the hand covers: 4 is one
    finger a fret. A slash bass is the lowest note, except on re-entrant strings, where
    it need only sound. Where fewer strings sound than the chord has indispensable
    tones, each has one of its own. Raises ``UnknownChord`` and, for a string the tuning
    lacks, ValueError.

    >>> from pieces.music.tuning import TUNINGS
    >>> [shape.written for shape in find_shapes("F", TUNINGS["ukulele high G"], limit=2)]
    ['2010', '2013']
    """
    asked = None if strings is None else frozenset(strings)
    _check_strings(asked or (), tuning)
    return list(_find(symbol, tuning, asked, melody, max_fret, max_span, limit))


def shape_of(symbol: str, frets: Iterable[int | None], tuning: Tuning) -> Shape:
    """The shape on given frets with its easiest fingers.

    For shapes written in the tab, or a teacher's own: ``frets`` need not sound
    ``symbol`` (the reasons then say so), and ``symbol`` may be any text. Raises
    ValueError if there are not as many frets as strings or no hand can play them.

    >>> from pieces.music.tuning import TUNINGS
    >>> shape_of("G", (0, 2, 3, 2), TUNINGS["ukulele high G"]).fingers
    (0, 1, 3, 2)
    """
    frets = tuple(frets)
    if len(frets) != len(tuning.open_pitches):
        raise ValueError(
            f"{tuning.name} has {len(tuning.open_pitches)} strings; {len(frets)} frets were given."
        )
    ways = hands(frets)
    if not ways:
        raise ValueError(f"No hand can hold {Shape(symbol, frets, frets, 0).written} on {tuning.name}.")
    return _shape(symbol, tuning, frets, ways[0].fingers, _price(symbol, tuning, frets) + ways[0].cost)


def reduce_shape(shape: Shape, strings: Iterable[int]) -> Shape:
    """The shape with only these string numbers sounding; fingers for the others are not needed.

    The fingers that stay keep their places, so that the next change is as before.
    The cost is never above that of the whole shape.

    >>> from pieces.music.tuning import TUNINGS
    >>> g = shape_of("G", (0, 2, 3, 2), TUNINGS["ukulele high G"])
    >>> reduce_shape(g, (4, 3, 2)).fingers
    (0, 1, 3, None)
    """
    wanted = frozenset(strings)
    count = len(shape.frets)
    kept = [count - place in wanted for place in range(count)]
    frets = tuple(fret if keep else None for fret, keep in zip(shape.frets, kept, strict=True))
    fingers = tuple(finger if keep else None for finger, keep in zip(shape.fingers, kept, strict=True))
    saved = hand_of(shape.frets, shape.fingers).cost - hand_of(frets, fingers).cost
    return replace(
        shape,
        frets=frets,
        fingers=fingers,
        cost=round(shape.cost - max(0.0, saved), 2),
        reasons=_reduced_reasons(shape, fingers),
    )


def other_fingers(shape: Shape, limit: int | None = None) -> list[Shape]:
    """The same frets with other fingers, easiest first; each says what it changes.

    >>> from pieces.music.tuning import TUNINGS
    >>> c = shape_of("C", (0, 0, 0, 3), TUNINGS["ukulele high G"])
    >>> other_fingers(c, limit=1)[0].reasons
    ('Middle instead of ring on string 1.',)
    """
    frets_alone = shape.cost - hand_of(shape.frets, shape.fingers).cost
    others = [hand for hand in hands(shape.frets) if hand.fingers != shape.fingers]
    return [
        replace(
            shape,
            fingers=hand.fingers,
            cost=round(frets_alone + hand.cost, 2),
            reasons=(finger_sentence(shape.frets, shape.fingers, hand.fingers),),
        )
        for hand in others[:limit]
    ]


def with_fingers(shape: Shape, fingers: Iterable[int | None]) -> Shape:
    """The same frets with these fingers, also where we would not think of them.

    >>> from pieces.music.tuning import TUNINGS
    >>> c = shape_of("C", (0, 0, 0, 3), TUNINGS["ukulele high G"])
    >>> with_fingers(c, (0, 0, 0, 4)).reasons
    ('Little finger instead of ring on string 1.',)
    """
    fingers = tuple(fingers)
    known = (other for other in (shape, *other_fingers(shape)) if other.fingers == fingers)
    return next(known, replace(shape, fingers=fingers))


def easier_neighbours(symbol: str, tuning: Tuning, limit: int = 4) -> list[Neighbour]:
    """Easier shapes near a chord, easiest first: another quality, or fewer strings.

    They are choices for a teacher, never taken silently: each text says what is
    added or lost to the ear. Empty where nothing near is easier.

    >>> from pieces.music.tuning import TUNINGS
    >>> easier_neighbours("Am", TUNINGS["ukulele high G"])[0].text
    'Am on strings 3 to 1 (x000) instead of all. No finger at all: strum it open.'
    """
    best = find_shapes(symbol, tuning, limit=1)
    if not best:
        return []
    usual = best[0]
    found = [*_other_qualities(usual, tuning), *_fewer_strings(usual, tuning)]
    easier = [neighbour for neighbour in found if _is_easier(neighbour.shape, usual)]
    return sorted(easier, key=lambda neighbour: neighbour.shape.cost)[:limit]


# What may stand in for what, the nearest first (common practice, no source).
STANDS_IN = MappingProxyType(
    {
        "": ("6", "maj7", "add9", "sus2", "5"),
        "m": ("m7", "m6", "madd9", "5"),
        "7": ("9", "7sus4", ""),
        "maj7": ("6", "", "maj9"),
        "m7": ("m", "m9", "7sus4"),
        "6": ("", "6/9", "maj7"),
        "m6": ("m", "m7"),
        "9": ("7",),
        "m9": ("m7", "m"),
        "maj9": ("maj7", ""),
        "11": ("9sus4", "7sus4", "7"),
        "13": ("9", "7"),
        "6/9": ("6", "add9", ""),
        "add9": ("", "sus2"),
        "sus4": ("", "7sus4"),
        "sus2": ("", "add9"),
        "7b9": ("dim7", "7"),
        "7#9": ("7",),
        "m7b5": ("dim", "m7"),
        "dim7": ("dim",),
    }
)
# A form on fewer strings is worth offering from this many strings up to this many fingers.
FEWEST_STRINGS_OF_A_FORM = 3
MOST_FINGERS_OF_A_FORM = 2


def _other_qualities(usual: Shape, tuning: Tuning) -> Iterator[Neighbour]:
    chord = parse_chord(usual.symbol)
    if chord.bass is not None:
        return
    for quality in STANDS_IN.get(chord.quality, ()):
        symbol = root_name(usual.symbol) + quality
        for shape in find_shapes(symbol, tuning, limit=1):
            change = _change_of_tones(usual.symbol, symbol)
            yield Neighbour(shape, f"{_instead(shape, usual)}: {change}. {shape.reasons[0]}")


def _fewer_strings(usual: Shape, tuning: Tuning) -> Iterator[Neighbour]:
    """The easiest form on the strings next to the floor that needs two fingers at most."""
    count = len(tuning.open_pitches)
    for fewer in range(count - 1, FEWEST_STRINGS_OF_A_FORM - 1, -1):
        shapes = find_shapes(usual.symbol, tuning, strings=range(1, fewer + 1), limit=3)
        for shape in shapes:
            if len(_fingers_down(shape)) <= MOST_FINGERS_OF_A_FORM:
                text = f"{usual.symbol} on strings {fewer} to 1 ({shape.written}) instead of all. {shape.reasons[0]}"
                yield Neighbour(shape, text)
                return


def _is_easier(shape: Shape, usual: Shape) -> bool:
    """Whether a shape costs a finger's worth less and asks for no more fingers."""
    fewer = len(_fingers_down(shape)) <= len(_fingers_down(usual))
    return fewer and shape.cost <= usual.cost - weights(len(shape.frets))["each finger"]


def _fingers_down(shape: Shape) -> set[int]:
    return {finger for finger in shape.fingers if finger}


def _instead(shape: Shape, usual: Shape) -> str:
    return f"{shape.symbol} ({shape.written}) instead of {usual.symbol} ({usual.written})"


def _change_of_tones(old: str, new: str) -> str:
    """What another quality adds to the ear, and what it loses."""
    before, after = spell(old), spell(new)
    degrees = {tone: degree for symbol in (old, new) for tone, degree in degrees_of(symbol).items()}
    added = [f"{after[t]}, the {degree_name(degrees[t])}" for t in after if t not in before]
    lost = [f"{before[t]}, the {degree_name(degrees[t])}" for t in before if t not in after]
    parts = ["it adds " + " and ".join(added)] if added else []
    parts += ["it loses " + " and ".join(lost)] if lost else []
    return ", and ".join(parts)


@lru_cache(maxsize=4096)
def _find(symbol, tuning, strings, melody, max_fret, max_span, limit) -> tuple[Shape, ...]:
    count = len(tuning.open_pitches)
    wanted = Wanted(
        chord=parse_chord(symbol),
        tuning=tuning,
        sounding=None if strings is None else frozenset(count - string for string in strings),
        melody=melody,
        max_fret=max_fret,
        max_span=max_span,
    )
    return tuple(
        _shape(symbol, tuning, found.frets, found.hand.fingers, found.cost) for found in search(wanted, limit)
    )


def _shape(symbol: str, tuning: Tuning, frets, fingers, cost: float) -> Shape:
    return Shape(symbol, frets, fingers, round(cost, 2), reasons_of(symbol, frets, fingers, tuning))


def _price(symbol: str, tuning: Tuning, frets) -> float:
    """What the frets cost alone; a name that is no chord asks nothing of the tones."""
    try:
        chord = parse_chord(symbol)
    except UnknownChord:
        chord = None
    return price(chord, tuning, frets)


def _check_strings(strings: Iterable[int], tuning: Tuning) -> None:
    for string in strings:
        tuning.open_pitch(string)


def _reduced_reasons(shape: Shape, fingers) -> tuple[str, ...]:
    freed = sorted({f for f in shape.fingers if f} - {f for f in fingers if f})
    if not freed:
        return shape.reasons
    names = " and ".join(f"the {FINGER_NAMES[finger]}" for finger in freed)
    needed = "is not needed" if len(freed) == 1 else "are not needed"
    return (f"{names[0].upper()}{names[1:]} {needed} for these strings.", *shape.reasons[1:])

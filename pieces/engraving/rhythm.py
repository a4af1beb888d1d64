"""How lengths are written: stems, dots, beams and tuplets.

Common practice of music engraving, no source: a stem for a half note and below,
beams within the beat, a bracket over notes that do not divide by two.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from pieces.music.score import Bar, Event, Meter

_BASES = tuple(Fraction(2) / 2**k for k in range(8))
SHORTEST = _BASES[-1]


class Value(NamedTuple):
    """A written note value: ``base`` of a whole note, lengthened by ``dots``."""

    base: Fraction
    dots: int

    @property
    def length(self) -> Fraction:
        return self.base * (2 - Fraction(1, 2**self.dots))

    @property
    def beams(self) -> int:
        """Number of beams or flags: 1 for an eighth.

        >>> Value(Fraction(1, 16), 0).beams, Value(Fraction(1, 4), 1).beams
        (2, 0)
        """
        return max(0, self.base.denominator.bit_length() - 3)


_VALUES = tuple(sorted((Value(base, dots) for base in _BASES for dots in (0, 1)), key=lambda v: -v.length))
_BY_LENGTH = {value.length: value for value in (*_VALUES, *(Value(base, 2) for base in _BASES[1:5]))}


def written(duration: Fraction, tuplet: tuple[int, int] | None = None) -> tuple[Value, ...]:
    """The values that, tied together, are written for ``duration``.

    >>> [(str(v.base), v.dots) for v in written(Fraction(5, 8))]
    [('1/2', 0), ('1/8', 0)]
    >>> [(str(v.base), v.dots) for v in written(Fraction(1, 12), (3, 2))]
    [('1/8', 0)]

    A length that no value reaches is written as the nearest shorter one.
    """
    left = duration * Fraction(*tuplet) if tuplet else duration
    if left in _BY_LENGTH:
        return (_BY_LENGTH[left],)
    parts = []
    while left >= SHORTEST:
        parts.append(next(value for value in _VALUES if value.length <= left))
        left -= parts[-1].length
    return tuple(parts) or (Value(SHORTEST, 0),)


def beam_spans(meter: Meter) -> tuple[Fraction, ...]:
    """Where, from the start of a full bar, each stretch ends that one beam may join.

    >>> [str(end) for end in beam_spans(Meter(7, 8))]
    ['1/4', '1/2', '7/8']
    """
    unit = Fraction(1, meter.unit)
    if meter.unit < 8:
        step, count = unit, meter.beats
    elif meter.compound:
        step, count = 3 * unit, meter.beats // 3
    else:
        step, count = 2 * unit, max(1, meter.beats // 2)
    return (*(step * (i + 1) for i in range(count - 1)), meter.length)


def beam_groups(bar: Bar) -> list[tuple[int, ...]]:
    """Places in ``bar.events`` of the notes that share a beam, two or more each.

    >>> beam_groups(Bar.of("4/4", "1/4 1/8 1/8 1/16 1/16 1/8 1/4"))
    [(1, 2), (3, 4, 5)]
    """
    begins = bar.meter.length - bar.length if bar.is_pickup else Fraction(0)
    ends = beam_spans(bar.meter)
    groups: dict[tuple[int, int], list[int]] = {}
    run = 0
    for i, event in enumerate(bar.events):
        values = written(event.duration, event.tuplet)
        if event.is_rest or len(values) > 1 or not values[0].beams:
            run += 1
            continue
        place = begins + event.onset
        span = sum(end <= place for end in ends)
        groups.setdefault((run, span), []).append(i)
    return [tuple(group) for group in groups.values() if len(group) > 1]


class TupletGroup(NamedTuple):
    """Events from ``first`` to ``last`` that stand under one number."""

    first: int
    last: int
    number: int


def tuplet_groups(events: Sequence[Event]) -> list[TupletGroup]:
    """The runs of events that make whole tuplets.

    >>> triplet = [Event(Fraction(i, 12), Fraction(1, 12), tuplet=(3, 2)) for i in range(6)]
    >>> tuplet_groups(triplet)
    [TupletGroup(first=0, last=2, number=3), TupletGroup(first=3, last=5, number=3)]
    """
    groups: list[TupletGroup] = []
    start = None
    for i, event in enumerate(events):
        if start is not None and events[start].tuplet != event.tuplet:
            groups.append(TupletGroup(start, i - 1, events[start].tuplet[0]))
            start = None
        if event.tuplet is None:
            continue
        start = i if start is None else start
        if _is_whole_tuplet(events[start : i + 1]) or i == len(events) - 1:
            groups.append(TupletGroup(start, i, event.tuplet[0]))
            start = None
    return groups


def _is_whole_tuplet(events: Sequence[Event]) -> bool:
    _, normal = events[0].tuplet
    shortest = min(written(event.duration, event.tuplet)[0].base for event in events)
    return sum(event.duration for event in events) % (normal * shortest) == 0

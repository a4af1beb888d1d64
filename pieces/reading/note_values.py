"""Lengths as written notes: values, dots and tuplets, split where no one note is long enough."""

from fractions import Fraction
from typing import NamedTuple

NAMES = {
    Fraction(4): "long",
    Fraction(2): "breve",
    Fraction(1): "whole",
    Fraction(1, 2): "half",
    Fraction(1, 4): "quarter",
    Fraction(1, 8): "eighth",
    Fraction(1, 16): "16th",
    Fraction(1, 32): "32nd",
    Fraction(1, 64): "64th",
    Fraction(1, 128): "128th",
    Fraction(1, 256): "256th",
}
_DOTTED = {Fraction(1): 0, Fraction(3, 2): 1, Fraction(7, 4): 2}
# Notes of a tuplet in the time of how many, by the odd factor that a length leaves over.
_USUAL = {3: (3, 2), 5: (5, 4), 7: (7, 4), 9: (9, 8), 11: (11, 8), 13: (13, 8), 15: (15, 8)}


class Written(NamedTuple):
    """One written note: how long it lasts, its value's name, dots, and (actual, normal) or None."""

    duration: Fraction
    value: Fraction
    dots: int
    tuplet: tuple[int, int] | None

    @property
    def name(self) -> str:
        return NAMES[self.value]


def written(duration: Fraction, tuplet: tuple[int, int] | None = None) -> list[Written]:
    """The fewest written notes, longest first, that tied together last ``duration``.

    >>> [(w.name, w.dots) for w in written(Fraction(5, 8))]
    [('half', 0), ('eighth', 0)]
    >>> written(Fraction(1, 12))[0].tuplet
    (3, 2)

    A length that no note reaches (a seventeenth of a beat) comes back as the nearest
    note with the exact duration.
    """
    tuplet = _tuplet_for(duration, tuplet)
    scale = Fraction(*tuplet) if tuplet else Fraction(1)
    left, notes = duration * scale, []
    while left > 0 and len(notes) < 12:
        best = max((v for v in _values() if v[0] <= left), default=None)
        if best is None:
            break
        total, value, dots = best
        notes.append(Written(total / scale, value, dots, tuplet))
        left -= total
    if left > 0:
        if not notes:
            return [Written(duration, Fraction(1, 256), 0, tuplet)]
        notes[-1] = notes[-1]._replace(duration=notes[-1].duration + left / scale)
    return notes


def _values() -> list[tuple[Fraction, Fraction, int]]:
    return [(value * dotted, value, dots) for value in NAMES for dotted, dots in _DOTTED.items()]


def _tuplet_for(duration: Fraction, said: tuple[int, int] | None) -> tuple[int, int] | None:
    """The tuplet as said where it makes a plain value of the length, else the usual one, if any."""
    if said and _is_dyadic(duration * Fraction(*said)):
        return said
    odd = duration.denominator
    while odd % 2 == 0:
        odd //= 2
    return _USUAL.get(odd)


def _is_dyadic(value: Fraction) -> bool:
    return value.denominator & (value.denominator - 1) == 0

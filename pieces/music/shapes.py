"""Shapes: where the left hand goes for a chord, which fingers, and why this way."""

from dataclasses import dataclass


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

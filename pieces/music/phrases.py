"""Where the phrases of a melody begin.

A sum of plain weights: each note has cues for a phrase to begin there (``cues``);
each phrase has a weight by its number of notes, and by how its length stands to a
unit that the tune keeps to, which is one for the tune but not known beforehand.
Sums over every way to cut the tune, forward and backward, give how probable it is
that a phrase begins at a note (a semi-Markov random field; Sarawagi & Cohen,
NIPS 2004, the recursion from memory). Weights are log-odds rounded to a tenth.
They were tuned on folk songs of Europe and China and hold nothing of any song.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import exp, log, log2
from typing import NamedTuple

from pieces.music.cues import Line, cues
from pieces.music.score import Bar

Note = tuple[Fraction, Fraction, int]

BIAS = -3.4
CUES = {
    "boundary strength": 0.7,
    "rest": 2.4,
    "last note long": 0.4,
    "last note brief": -1.0,
    "last note shorter than the next": -0.6,
    "last note as long as the final": 0.5,
    "last note longest nearby": 0.5,
    "note before the last longer": 0.6,
    "ends on the final pitch": 0.3,
    "ends low": 0.7,
    "comes down to the last note": 0.3,
    "leap across": 1.5,
    "same pitch across": 0.9,
    "rhythm as at the start": 0.9,
    "melody as at the start": 1.5,
    "rhythm as at the end": 0.5,
    "begins near, not where the tune began in its bar": -0.8,
    "begins on the barline": -0.5,
    "about whole pairs of bars since the start": 0.7,
    "last note a quarter, half or whole bar": 0.6,
    "last note on the barline": -1.3,
    "last note on the barline and half the bar": 0.6,
    "melody as four bars before": 0.7,
}
# For log2 of a phrase's notes over 8, and for its square: every note more passes by a place to stop.
NOTES_OF_A_PHRASE = (1.1, -0.7)
MOST_NOTES = 32


class Lengths(NamedTuple):
    """What a phrase's length weighs, by how it stands to the tune's unit."""

    units: dict[int, float]  # the units a tune may keep to, and how usual each is
    exact: float
    near: float  # within a quarter of a bar, or an eighth of the unit where there are no bars
    double: float
    half: float
    half_as_much_again: float
    whole: float  # some other whole number of bars, or of pulses where there are no bars
    longer: float  # more than two units
    other: float


IN_BARS = Lengths({1: 0.3, 2: 0.9, 4: -0.1, 8: -1.1}, 1.7, 0.7, -2.2, -0.5, 0.2, 0.6, -3.1, -0.5)
IN_PULSES = Lengths(
    {4: 0.4, 6: 1.0, 8: 1.0, 12: -0.3, 16: -1.4, 24: -0.7}, 2.5, 1.2, -1.1, -0.2, 0.6, 0.1, -2.7, -0.7
)
# From this probability on a boundary is reported: it gives the best balance of missed and false ones.
PROBABLE = 0.4


def phrase_boundaries(
    notes: Sequence[Note], meter: tuple[int, int] | None = None, first_barline: Fraction | None = None
) -> list[int]:
    """Indexes of the notes that begin a phrase, the first note left out.

    ``notes`` are (onset, duration, MIDI pitch) of a melody in order of onset, times in
    whole notes; ``meter`` is (beats, unit) or None; ``first_barline`` the onset of the
    first barline at or before the first note's bar, negative where there is a pickup
    before it, or None for 0.

    >>> line = [(Fraction(i, 4), Fraction(1, 4), 60 + p) for i, p in enumerate((0, 2, 4, 5, 7, 5, 2))]
    >>> tune = [*line, (Fraction(7, 4), Fraction(1, 4), 60)]
    >>> again = [(onset + 2, duration, pitch) for onset, duration, pitch in tune]
    >>> phrase_boundaries(tune + again, (4, 4), Fraction(0))
    [8]
    """
    chances = phrase_probabilities(notes, meter, first_barline)
    return [at for at, chance in enumerate(chances) if at and chance >= PROBABLE]


def phrase_probabilities(
    notes: Sequence[Note], meter: tuple[int, int] | None = None, first_barline: Fraction | None = None
) -> list[float]:
    """For each note how probable it is (0-1) that a phrase begins there; 1 for the first."""
    if len(notes) < 2:
        return [1.0] * len(notes)
    line = Line(notes, meter, first_barline)
    begins = [0.0] + [BIAS + sum(CUES[name] * cue for name, cue in here.items()) for here in cues(line)]
    lengths = _length_weights(line)
    ways = [_Ways(begins, row, prior) for row, prior in zip(*lengths, strict=True)]
    total = _log_sum(way.total for way in ways)
    return [min(1.0, sum(exp(way.through(at) - total) for way in ways)) for at in range(len(notes))]


def melody_of(bars: Sequence[Bar]) -> tuple[list[Note], tuple[int, int] | None, Fraction]:
    """What ``phrase_boundaries`` takes, from bars: their highest line, meter and first barline.

    The line is the highest note struck at each moment. The meter is None where it changes.

    >>> from pieces.music.score import Bar
    >>> notes, meter, first_barline = melody_of([Bar.of("4/4", "1/4", 0), Bar.of("4/4", "1/2 1/2")])
    >>> [str(onset) for onset, _, _ in notes], str(first_barline)
    (['0', '1/4', '3/4'], '-3/4')
    """
    notes: list[Note] = []
    barline = Fraction(0)
    for bar in bars:
        for event in bar.events:
            onset = barline + event.onset
            if notes and event.is_held and notes[-1][0] + notes[-1][1] == onset:
                first, so_far, pitch = notes[-1]
                notes[-1] = (first, so_far + event.duration, pitch)
            elif struck := [note.pitch for note in event.struck if note.pitch is not None]:
                notes.append((onset, event.duration, max(struck)))
        barline += bar.length
    meters = {bar.meter for bar in bars}
    short = bool(bars) and bars[0].length < bars[0].meter.length
    first_barline = bars[0].length - bars[0].meter.length if short else Fraction(0)
    return notes, tuple(meters.pop()) if len(meters) == 1 else None, first_barline


class _Ways:
    """All ways to cut a tune that keeps to one unit."""

    def __init__(self, begins: list[float], lengths: list[list[float]], prior: float):
        """``lengths[stop][k]`` weighs the phrase of the ``k + 1`` notes before note ``stop``."""
        size = len(begins)
        self.reach, self.onward = [prior], [0.0] * (size + 1)
        for stop in range(1, size + 1):
            phrases = enumerate(lengths[stop], 1)
            self.reach.append(_log_sum([self.reach[stop - k] + begins[stop - k] + w for k, w in phrases]))
        for start in range(size - 1, -1, -1):
            ends = range(start + 1, min(size, start + MOST_NOTES) + 1)
            self.onward[start] = begins[start] + _log_sum(
                [lengths[stop][stop - start - 1] + self.onward[stop] for stop in ends]
            )

    @property
    def total(self) -> float:
        return self.reach[-1]

    def through(self, at: int) -> float:
        """Log-sum of the weights of all ways in which a phrase begins at note ``at``."""
        return self.reach[at] + self.onward[at]


def _length_weights(line: Line) -> tuple[list[list[list[float]]], list[float]]:
    """For each unit the weights of all phrases by where they stop, and the unit's own weight."""
    table, whole, stops = units_of(line)
    slack = [line.bar // 4 if line.bar else unit * whole // 8 for unit in table.units]
    linear, square = NOTES_OF_A_PHRASE
    by_count = [0.0] + [
        linear * log2(count / 8) + square * log2(count / 8) ** 2 for count in range(1, MOST_NOTES + 1)
    ]
    known: dict[int, list[float]] = {}
    rows: list[list[list[float]]] = [[[]] for _ in table.units]
    for stop in range(1, len(line) + 1):
        here: list[list[float]] = [[] for _ in table.units]
        for count in range(1, min(stop, MOST_NOTES) + 1):
            span = stops[stop] - line.onsets[stop - count]
            if span not in known:
                known[span] = [
                    getattr(table, length_of(span, unit * whole, near, whole))
                    for unit, near in zip(table.units, slack, strict=True)
                ]
            for row, weight in zip(here, known[span], strict=True):
                row.append(by_count[count] + weight)
        for row, weights in zip(rows, here, strict=True):
            row.append(weights)
    return rows, list(table.units.values())


def units_of(line: Line) -> tuple[Lengths, int, list[int]]:
    """The table of lengths that holds for a tune, its bar or pulse, and where a phrase before each note ends.

    The pulse of a tune without bars is its commonest time between notes. The last
    phrase is taken to end where another would begin, so that a pickup counts.
    """
    if not line.bar:
        return IN_PULSES, Counter(line.spans).most_common(1)[0][0] or 1, [*line.onsets, line.end]
    length = line.end - line.onsets[0]
    full = (length + line.bar // 4) // line.bar * line.bar
    end = line.onsets[0] + (full if full > line.onsets[-1] - line.onsets[0] else length)
    return IN_BARS, line.bar, [*line.onsets, end]


def length_of(span: int, unit: int, slack: int, whole: int) -> str:
    """How a phrase of length ``span`` stands to ``unit``: a field of ``Lengths``.

    >>> [length_of(span, 8, 1, 4) for span in (8, 9, 16, 4, 12, 20, 10)]
    ['exact', 'near', 'double', 'half', 'half_as_much_again', 'longer', 'other']
    """
    if span == unit:
        return "exact"
    if abs(span - unit) <= slack:
        return "near"
    if span == 2 * unit:
        return "double"
    if 2 * span == unit:
        return "half"
    if 2 * span == 3 * unit:
        return "half_as_much_again"
    if span > 2 * unit:
        return "longer"
    return "whole" if span % whole == 0 else "other"


def _log_sum(values: Iterable[float]) -> float:
    values = list(values)
    most = max(values)
    return most + log(sum([exp(value - most) for value in values]))

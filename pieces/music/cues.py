"""What speaks for a phrase to begin at a note of a melody.

Each cue is a number that a listener could name; ``phrases`` weighs them. Times are
whole numbers of a smallest step, which keeps them exact.
"""

from bisect import bisect_left
from collections.abc import Sequence
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from math import lcm, log2
from statistics import median

# How far a note looks round for one longer than itself, and how far a rhythm is compared.
BEFORE, AFTER = 7, 5
PATTERN = 8
NARROW = 12  # half steps; wider leaps count as this


class Line:
    """A melody in whole steps: ``onsets``, ``pitches``, and ``spans`` from each onset to the next.

    ``rests`` are the silences before the next note, ``bar`` the length of a bar or
    None, ``places`` the onsets counted from their barlines.
    """

    def __init__(self, notes: Sequence[tuple], meter: tuple[int, int] | None, first_barline):
        full = Fraction(*meter) if meter else None
        first_barline = Fraction(first_barline or 0)
        times = [time for onset, duration, _ in notes for time in (onset, duration)]
        steps = lcm(*(Fraction(time).denominator for time in [*times, first_barline, full or 1]))
        self.onsets = [int(onset * steps) for onset, _, _ in notes]
        self.pitches = [pitch for _, _, pitch in notes]
        durations = [int(duration * steps) for _, duration, _ in notes]
        self.end = self.onsets[-1] + durations[-1]
        self.spans = [b - a for a, b in zip(self.onsets, [*self.onsets[1:], self.end], strict=True)]
        self.rests = [max(0, span - held) for span, held in zip(self.spans, durations, strict=True)]
        self.leaps = [b - a for a, b in pairwise(self.pitches)]
        self.bar = int(full * steps) if full else None
        barline = int(first_barline * steps)
        self.places = [(onset - barline) % self.bar for onset in self.onsets] if self.bar else []

    def __len__(self) -> int:
        return len(self.onsets)

    @cached_property
    def usual_span(self) -> float:
        return median(self.spans) or 1


def boundary_strength(line: Line) -> list[float]:
    """Strength (0-1) of the boundary before each note but the first: the local boundary model.

    A change of interval, of time between onsets or of rest makes a boundary beside
    it, in proportion to the change; the three count 1 : 2 : 1. Source: Cambouropoulos,
    Proc. ICMC 2001, the formulas from memory.
    """
    total = [0.0] * (len(line) - 1)
    steps = [abs(leap) for leap in line.leaps]
    for profile, share in ((steps, 0.25), (line.spans[:-1], 0.5), (line.rests[:-1], 0.25)):
        changes = [abs(a - b) / (a + b) if a + b else 0.0 for a, b in pairwise(profile)]
        beside = zip(profile, [0.0, *changes], [*changes, 0.0], strict=True)
        strengths = [value * (left + right) for value, left, right in beside]
        most = max(strengths, default=0) or 1
        total = [sum_ + share * strength / most for sum_, strength in zip(total, strengths, strict=True)]
    most = max(total, default=0) or 1
    return [value / most for value in total]


def cues(line: Line) -> list[dict[str, float]]:
    """The cues for each note but the first, by the names that ``phrases`` weighs."""
    strengths = boundary_strength(line)
    found = []
    for at in range(1, len(line)):
        here = {"boundary strength": strengths[at - 1]}
        here |= _last_note(line, at) | _step_across(line, at) | _likeness(line, at)
        if line.bar:
            here |= _in_the_bar(line, at)
        found.append(here)
    return found


def _last_note(line: Line, at: int) -> dict[str, float]:
    """What the note before says."""
    span, pitch = line.spans[at - 1], line.pitches[at - 1]
    near = line.spans[max(0, at - BEFORE) : at - 1] + line.spans[at : at + AFTER]
    length = log2(max(span, 1) / line.usual_span)
    return {
        "rest": line.rests[at - 1] > 0,
        "last note long": max(0.0, length),
        "last note brief": length < 0,
        "last note shorter than the next": span < line.spans[at],
        "last note as long as the final": span >= line.spans[-1],
        "last note longest nearby": span >= max(near, default=0),
        "note before the last longer": at > 1 and line.spans[at - 2] > span,
        "ends on the final pitch": pitch == line.pitches[-1],
        "ends low": (sum(line.pitches) / len(line) - pitch) / 12,
        "comes down to the last note": at > 1 and line.leaps[at - 2] < 0,
    }


def _step_across(line: Line, at: int) -> dict[str, float]:
    leap = line.leaps[at - 1]
    return {"leap across": min(abs(leap), NARROW) / NARROW, "same pitch across": leap == 0}


def _likeness(line: Line, at: int) -> dict[str, float]:
    """How far the music from here on is that of the start, and up to here that of the end."""
    size = len(line)
    farthest = min(PATTERN, size - at - 1)
    rhythm = 0
    while rhythm < farthest and line.spans[at + rhythm] == line.spans[rhythm]:
        rhythm += 1
    melody = 0
    while melody < rhythm and line.leaps[at + melody] == line.leaps[melody]:
        melody += 1
    close = 0
    while close < min(6, at - 1) and line.spans[at - 2 - close] == line.spans[size - 2 - close]:
        close += 1
    return {
        "rhythm as at the start": rhythm / PATTERN,
        "melody as at the start": melody / PATTERN,
        "rhythm as at the end": close / 6,
    }


def _in_the_bar(line: Line, at: int) -> dict[str, float]:
    bar, span, place = line.bar, line.spans[at - 1], line.places[at]
    since = (line.onsets[at] - line.onsets[0]) % (2 * bar)
    off = (place - line.places[0]) % bar
    on_barline = line.places[at - 1] == 0
    return {
        "begins near, not where the tune began in its bar": 0 < 4 * min(off, bar - off) <= bar,
        "begins on the barline": place == 0,
        "about whole pairs of bars since the start": 4 * min(since, 2 * bar - since) <= bar,
        "last note a quarter, half or whole bar": (4 * span >= bar) + (2 * span >= bar) + (span >= bar),
        "last note on the barline": on_barline,
        "last note on the barline and half the bar": on_barline and 2 * span >= bar,
        "melody as four bars before": _melody_from(line, at, 4 * bar) / PATTERN,
    }


def _melody_from(line: Line, at: int, back: int) -> int:
    """How many notes from here on repeat, in rhythm and steps, those that began ``back`` earlier."""
    then = bisect_left(line.onsets, line.onsets[at] - back)
    if line.onsets[then] != line.onsets[at] - back:
        return 0
    same, farthest = 0, min(PATTERN, len(line) - at - 1, at - then)
    while (
        same < farthest
        and line.spans[at + same] == line.spans[then + same]
        and line.leaps[at + same] == line.leaps[then + same]
    ):
        same += 1
    return same

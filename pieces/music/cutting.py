"""The best way to cut a row of bars into sections, and how sure each cut is.

Every way to cut is weighed: what speaks for its edges, how usual its lengths are,
and how much of each section has been heard before. Dynamic programming finds the
heaviest, and the same sums over all ways say what share of them agrees. The
weights were set by ear and tuned on the parts of fiddle tunes with their repeat
signs hidden.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import cached_property
from math import exp, log

from pieces.music.alike import strikes, what_is_played
from pieces.music.phrases import melody_of, phrase_probabilities
from pieces.music.score import Bar

LONGEST = 20
# Below this chance no phrase is held to begin.
LIKELY_ENOUGH = 0.2

# Weights, as in a log-odds: what speaks for a cut at a barline ...
SIGN = 9.0  # a repeat sign, or the end of a bracketed ending
NEW_METER = 3.0
REST_OR_LONG = 0.7  # the bar before ends in a rest or a note as long as half the bar
WITHIN_A_PHRASE = -1.5  # no phrase begins about here
AS_THE_START = 1.2  # the bars from here on are those at the start of the piece
# ... for a section of so many units, the unit being one for the whole piece ...
UNITS = {8: 0.0, 4: -4.5}  # bars
LENGTHS = {
    Fraction(1): 0.0,
    Fraction(2): -1.0,
    Fraction(1, 2): -4.8,
    Fraction(3, 2): -3.0,
    Fraction(3, 4): -3.2,
    Fraction(5, 4): -3.5,
    Fraction(1, 4): -4.5,
}
OTHER_LENGTH = -4.8
ONE_BAR = -2.0
TOO_LONG = -0.6  # for every bar over LONGEST
# ... and for what a section holds.
UNDIVIDED = -6.0  # a piece of eight bars or more in one section
HEARD_BEFORE = 0.2  # for every bar of a section that repeats an earlier run of bars in step
IDENTICAL = 0.5  # for a section of three bars or more that is played just like an earlier run
# Two bars are alike from this share of equal notes on.
NEAR_BAR = 0.5


class Material:
    """What the bars of a piece say about where it is cut."""

    def __init__(self, bars: Sequence[Bar]):
        self.bars = bars
        first: dict = {}
        self.classes = [first.setdefault(what_is_played(bar), at) for at, bar in enumerate(bars)]
        self.notes = {at: frozenset((s.onset, s.place) for s in strikes(bars[at])) for at in first.values()}
        self._likeness: dict[tuple[int, int], float] = {}

    @cached_property
    def counted(self) -> list[int]:
        """How many bars have been counted before each bar; pickups and later endings count none."""
        total, before = 0, []
        for at, bar in enumerate(self.bars):
            before.append(total)
            total += self._counts(at, bar)
        return [*before, total]

    def _counts(self, at: int, bar: Bar) -> int:
        if bar.endings and 1 not in bar.endings:
            return 0
        if bar.length >= bar.meter.length:
            return 1
        before = self.bars[at - 1] if at else None
        joins = before is None or bar.length + before.length <= bar.meter.length
        following = self.bars[at + 1] if at + 1 < len(self.bars) else None
        leads = following is not None and bar.length * 2 <= bar.meter.length
        return 0 if (joins or bar.is_pickup or leads) else 1

    def is_pickup(self, at: int) -> bool:
        """Whether this bar only leads into the next."""
        bar = self.bars[at]
        return bar.is_pickup or (
            bar.length * 2 <= bar.meter.length and at + 1 < len(self.bars) and not self._counts(at, bar)
        )

    def may_begin(self, at: int) -> bool:
        """Whether a section can begin at this bar: not after a lone pickup, nor within endings."""
        return not (self.is_pickup(at - 1) or self.bars[at].endings)

    def likeness(self, a: int, b: int) -> float:
        """Share of notes two bars have in common: 1 for identical bars, 0 below NEAR_BAR."""
        a, b = sorted((self.classes[a], self.classes[b]))
        if a == b:
            return 1.0
        if (a, b) not in self._likeness:
            ours, theirs = self.notes[a], self.notes[b]
            share = len(ours & theirs) / max(1, len(ours | theirs))
            self._likeness[a, b] = share if share >= NEAR_BAR else 0.0
        return self._likeness[a, b]

    def run_likeness(self, a: int, b: int, length: int) -> float:
        """Likeness of the bars from ``a`` and from ``b`` on, summed in step over ``length`` bars."""
        return sum(self.likeness(a + step, b + step) for step in range(length))

    def count(self, span: tuple[int, int]) -> int:
        """How many bars a span counts, pickups and later endings aside."""
        return self.counted[span[1]] - self.counted[span[0]]

    def body(self, span: tuple[int, int]) -> tuple[int, int]:
        """The span without a pickup at its start."""
        start, stop = span
        return (start + 1, stop) if self.is_pickup(start) and stop - start > 1 else span

    def is_same(self, a: tuple[int, int], b: tuple[int, int]) -> bool:
        """Whether two spans are played exactly alike, a pickup before them aside."""
        (a, a_stop), (b, b_stop) = self.body(a), self.body(b)
        return self.classes[a:a_stop] == self.classes[b:b_stop]

    def share_alike(self, a: tuple[int, int], b: tuple[int, int]) -> float:
        """Likeness of two spans bar by bar from their starts, as a share of the longer."""
        (a, a_stop), (b, b_stop) = self.body(a), self.body(b)
        shorter, longer = sorted((a_stop - a, b_stop - b))
        return self.run_likeness(a, b, shorter) / longer

    def differing(self, near: tuple[int, int], span: tuple[int, int]) -> list[int]:
        """Numbers of the bars of ``span`` that are not those of ``near`` at the same place."""
        (a, a_stop), (b, b_stop) = self.body(near), self.body(span)
        return [
            self.bars[b + step].number
            for step in range(b_stop - b)
            if a + step >= a_stop or self.classes[a + step] != self.classes[b + step]
        ]

    def name(self, span: tuple[int, int]) -> str:
        """The bars of a span in words."""
        first, last = self.bars[span[0]].number, self.bars[span[1] - 1].number
        return f"bars {first} to {last}" if first != last else f"bar {first}"

    def is_signed(self, at: int) -> bool:
        """Whether a repeat or the end of an ending is written at the start of this bar."""
        bar, before = self.bars[at], self.bars[at - 1]
        inside = bool(bar.endings and before.endings)
        return not inside and bool(bar.opens_repeat or before.repeats or before.endings)

    def closes(self, at: int) -> bool:
        """Whether the bar before this ends in a rest or a long note, a pickup to here aside."""
        bar = self.bars[at - 1]
        half = bar.meter.length / 2
        played = strikes(bar)
        if not played:
            return True
        longest = max(s.end - s.onset for s in played)
        silence = max((e.duration for e in bar.events if e.is_rest), default=Fraction(0))
        return max(longest, silence) >= half or longest + silence >= half

    @cached_property
    def common_close(self) -> float:
        """How much of the piece closes so: where every bar ends long, a long end says little."""
        return sum(self.closes(at) for at in range(1, len(self.bars) + 1)) / len(self.bars)

    @cached_property
    def phrase_chances(self) -> list[float]:
        """For each bar the chance (0-1) that a phrase begins with it, or up to half a bar before."""
        notes, meter, first_barline = melody_of(self.bars)
        chances = phrase_probabilities(notes, meter, first_barline)
        onsets = [onset for onset, _, _ in notes]
        found, barline = [], Fraction(0)
        for bar in self.bars:
            early = bisect_right(onsets, barline - bar.meter.length / 2)
            found.append(max(chances[early : bisect_left(onsets, barline) + 1], default=1.0))
            barline += bar.length
        return found

    def edge(self, at: int) -> float:
        """What speaks for a section to begin at this bar."""
        bar, before = self.bars[at], self.bars[at - 1]
        weight = SIGN * self.is_signed(at) + NEW_METER * (bar.meter != before.meter)
        if self.closes(at):
            weight += REST_OR_LONG * (1 - self.common_close)
        if self.phrase_chances[at] < LIKELY_ENOUGH:
            weight += WITHIN_A_PHRASE
        start = 1 if self.is_pickup(0) and len(self.bars) > 1 else 0
        if at + 1 < len(self.bars) and at > start + 1:
            weight += AS_THE_START * self.run_likeness(start, at, 2) / 2
        return weight


class Cuts:
    """Every way to cut the first ``end`` bars, weighed: the best one, and how sure each section is."""

    def __init__(self, material: Material, end: int):
        runs = _weighed_runs(material, end)
        self.ways = [_Ways(runs, end, unit) for unit in UNITS] if end else []

    def best(self) -> list[int]:
        """Where the sections of the best cut begin."""
        return max((way.best() for way in self.ways), default=(0.0, []))[1]

    def sure(self, start: int, stop: int) -> float:
        """Share of all ways to cut, by weight, that hold exactly this section."""
        total = _log_sum(way.total for way in self.ways)
        return sum(exp(way.through(start, stop) - total) for way in self.ways)


Runs = dict[int, list[tuple[int, int, float]]]


def _weighed_runs(material: Material, end: int) -> Runs:
    """For each place a section can end, (start, bars counted, weight) of those that end there."""
    edges = [0.0] + [material.edge(at) for at in range(1, end)]
    heard = _Heard(material, end)
    runs: Runs = {}
    for stop in range(1, end + 1):
        if stop < end and not material.may_begin(stop):
            continue
        ending_here = []
        for start in (0, *runs):
            count = material.count((start, stop))
            if count <= 2 * LONGEST or start == 0:
                before = heard(start, stop)
                weight = edges[start] + HEARD_BEFORE * before
                weight += IDENTICAL if stop - start >= 3 and before > stop - start - 1e-6 else 0.0
                weight += UNDIVIDED if count >= 8 and stop - start == end else 0.0
                ending_here.append((start, count, weight))
        runs[stop] = ending_here
    return runs


class _Ways:
    """All ways to cut in sections of about ``unit`` bars."""

    def __init__(self, runs: Runs, end: int, unit: int):
        self.end, self.unit = end, unit
        self.runs = {
            stop: [(start, weight + _length_weight(count, unit)) for start, count, weight in before]
            for stop, before in runs.items()
        }

    def best(self) -> tuple[float, list[int]]:
        """The greatest weight, and where its sections begin."""
        best, came = {0: UNITS[self.unit]}, {}
        for stop, runs in self.runs.items():
            best[stop], came[stop] = max((best[start] + weight, start) for start, weight in runs)
        starts, at = [], self.end
        while at:
            at = came[at]
            starts.append(at)
        return best[self.end], starts[::-1]

    @cached_property
    def _reach(self) -> dict[int, float]:
        reach = {0: UNITS[self.unit]}
        for stop, runs in self.runs.items():
            reach[stop] = _log_sum(reach[start] + weight for start, weight in runs)
        return reach

    @cached_property
    def _onward(self) -> dict[int, float]:
        ways: dict[int, list[float]] = {self.end: [0.0]}
        for stop in sorted(self.runs, reverse=True):
            onward = _log_sum(ways[stop])
            ways[stop] = [onward]
            for start, weight in self.runs[stop]:
                ways.setdefault(start, []).append(weight + onward)
        return {at: _log_sum(values) for at, values in ways.items()}

    @property
    def total(self) -> float:
        """Log-sum of the weights of all ways."""
        return self._reach[self.end]

    def through(self, start: int, stop: int) -> float:
        """Log-sum of the weights of the ways that hold the section ``start`` to ``stop``."""
        weight = next((weight for at, weight in self.runs.get(stop, ()) if at == start), float("-inf"))
        return self._reach[start] + weight + self._onward[stop] if weight > float("-inf") else weight


def _length_weight(count: int, unit: int) -> float:
    weight = LENGTHS.get(Fraction(count, unit), OTHER_LENGTH) + TOO_LONG * max(0, count - LONGEST)
    return weight + ONE_BAR * (count <= 1)


def _log_sum(values: Iterable[float]) -> float:
    values = list(values)
    most = max(values)
    return most + log(sum(exp(value - most) for value in values))


class _Heard:
    """How many bars of a run repeat an earlier run in step, at best."""

    def __init__(self, material: Material, end: int):
        self.sums = {}
        for lag in range(1, end):
            total, sums = 0.0, [0.0] * (lag + 1)
            for at in range(lag, end):
                total += material.likeness(at, at - lag)
                sums.append(total)
            if total:
                self.sums[lag] = sums

    def __call__(self, start: int, stop: int) -> float:
        lags = range(stop - start, start + 1)
        return max(
            (self.sums[lag][stop] - self.sums[lag][start] for lag in lags if lag in self.sums), default=0.0
        )

"""A learner's pace: their minutes over the estimate, and what bars took over what was planned.

Pace is the geometric mean of real over planned minutes, shrunk toward 1 while there is
little evidence: n loops weigh n / (n + 8).
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from math import exp, log

from students.planning.history import History, TickRecord

# So many loops weigh as much as the belief that a learner takes as long as estimated.
TRUSTED = 8
# One loop says at most this much: a page left open is no slow learner.
MOST = 3.0
SLOWEST, FASTEST = 2.0, 0.5


@dataclass(frozen=True)
class Pace:
    """``pace`` is minutes over the estimate, from ``loops`` loops of which both are known."""

    pace: float
    loops: int
    real: float
    planned: float

    @property
    def text(self) -> str:
        if not self.loops:
            return "No time measured yet, so as estimated."
        seen = f"{self.loops} loop{'' if self.loops == 1 else 's'} seen"
        minutes = f"{self.real:.0f} minutes for {self.planned:.0f} estimated"
        return f"{self.pace:.1f} times the estimate ({minutes}; {seen})."


def pace_of(history: History) -> Pace:
    """The pace that a history shows; 1 where nothing was measured.

    >>> from datetime import date
    >>> slow = TickRecord("bar:1", "A", 1, 1, date(2026, 3, 17), 60, "clean", "bar", minutes=4, planned=2)
    >>> round(pace_of(History((slow,))).pace, 2), round(pace_of(History((slow,) * 24)).pace, 2)
    (1.08, 1.68)
    """
    return pace_from((tick.minutes, tick.planned) for tick in history.ticks if _is_measured(tick))


def pace_from(measured: Iterable[tuple[float, float]]) -> Pace:
    """The pace that pairs of minutes played and minutes planned show, all of them over 0.

    >>> round(pace_from([(4, 2)] * 24).pace, 2)
    1.68
    """
    pairs = list(measured)
    ratios = [min(MOST, max(1 / MOST, minutes / planned)) for minutes, planned in pairs]
    mean = sum(log(ratio) for ratio in ratios) / (len(ratios) + TRUSTED)
    real, planned = sum(pair[0] for pair in pairs), sum(pair[1] for pair in pairs)
    return Pace(min(SLOWEST, max(FASTEST, exp(mean))), len(ratios), real, planned)


def evidence_by_bar(
    histories: Iterable[History], paces: Iterable[float] | None = None
) -> dict[int, list[tuple[float, float]]]:
    """For each bar, what each learner's loops on it were planned to take and took, in minutes.

    Of loops of one or two bars only; what is longer says little of one bar. Each pair
    is (expected, needed) for ``pieces.music.difficulty.correct_rating``, the learner's
    own pace taken out, so that a slow learner does not make every bar hard. ``paces``
    gives each learner's pace where the history is of one piece only.
    """
    found = defaultdict(list)
    histories = list(histories)
    known = paces if paces is not None else (pace_of(history).pace for history in histories)
    for history, pace in zip(histories, known, strict=True):
        by_bar: dict[int, list[TickRecord]] = defaultdict(list)
        for tick in history.ticks:
            if _is_measured(tick) and tick.kind in ("bar", "pair"):
                for number in {tick.first, tick.last}:
                    by_bar[number].append(tick)
        for number, ticks in by_bar.items():
            expected = sum(tick.planned for tick in ticks) * pace
            found[number].append((expected, sum(tick.minutes for tick in ticks)))
    return dict(found)


def _is_measured(tick: TickRecord) -> bool:
    return bool(tick.minutes and tick.planned and tick.minutes > 0 and tick.planned > 0)

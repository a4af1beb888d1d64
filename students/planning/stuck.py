"""Loops that do not move: the same tempo, day after day."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from students.planning.history import History, TickRecord

DAYS = 3  # so many days without a step up is stuck (common practice, no source)
LOOK_BACK = 14  # days; what was stuck longer ago is history


@dataclass(frozen=True, slots=True)
class Stuck:
    """A loop that has not moved: ``days`` days at ``tempo``, its bars, and how it went last.

    ``even``: it was at that very tempo on each of the days.
    """

    key: str
    section: str
    first: int
    last: int
    kind: str
    days: int
    tempo: int
    felt: str
    text: str
    even: bool = False


def find_stuck(history: History) -> list[Stuck]:
    """The loops that are stuck as of the last tick, longest first.

    Stuck is: the best tempo of the last three days on which the loop was played has
    not risen, and on none of them was it clean at that tempo. One that went clean at its
    goal and slips there some days later is not stuck; it has nowhere to rise to.

    >>> ticks = tuple(
    ...     TickRecord("bar:3", "A", 3, 3, date(2026, 3, d), 54, "slips", "bar") for d in (13, 14, 16)
    ... )
    >>> find_stuck(History(ticks))[0].text
    '54 on each of 3 days, last with some slips.'
    """
    if not history.ticks:
        return []
    latest = history.ticks[-1].day
    found = [stuck for ticks in history.by_loop.values() if (stuck := _stuck(ticks, latest))]
    return sorted(found, key=lambda s: (-s.days, s.first, s.key))


def _stuck(ticks: tuple[TickRecord, ...], latest: date) -> Stuck | None:
    days = [_best(group) for _day, group in groupby(ticks, key=lambda tick: tick.day)]
    last = days[-1]
    if (latest - last.day).days > LOOK_BACK or last.felt == "clean":
        return None
    still = [last]
    for tick in reversed(days[:-1]):
        if tick.tempo < last.tempo or tick.felt == "clean":
            break
        still.append(tick)
    if len(still) < DAYS:
        return None
    tempo = min(tick.tempo for tick in still)
    words = {"slips": "some slips", "broke": "a break-down"}[last.felt]
    even = all(tick.tempo == last.tempo for tick in still)
    text = (
        f"{last.tempo} on each of {len(still)} days"
        if even
        else f"No faster than {tempo} for {len(still)} days"
    )
    return Stuck(
        last.key, last.section, last.first, last.last, last.kind, len(still), last.tempo, last.felt,
        f"{text}, last with {words}.", even,
    )  # fmt: skip


def _best(ticks: Iterable[TickRecord]) -> TickRecord:
    order = {"broke": 0, "slips": 1, "clean": 2}
    return max(ticks, key=lambda tick: (order[tick.felt], tick.tempo))

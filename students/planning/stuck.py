"""Loops that do not move: the same tempo, day after day, and the bars that hold them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby

from pieces.music.words import counted
from students.planning.history import History, TickRecord, best_of

DAYS = 3  # so many days without a step up is stuck (common practice, no source)
WHOLES = ("section", "run")
LOOK_BACK = 14  # days; what was stuck longer ago is history


@dataclass(frozen=True, slots=True)
class Stuck:
    """A loop that has not moved: ``days`` days at ``tempo``, its bars, and how it went last.

    ``even``: it was at that very tempo on each of the days. ``loops`` are the keys of the
    loops that it holds, where it was pinpointed in several.
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
    loops: tuple[str, ...] = ()


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


def pinpoint(history: History) -> list[Stuck]:
    """What holds the stuck loops: the bars that those which overlap have in common, longest first.

    Bars that go faster in a loop that is not stuck are not to blame, where others are
    left. Of loops that overlap the short ones say which bars; sections and the run
    follow them.

    >>> loops = {"pair:3-4": (3, 4), "join:2-3": (2, 3)}
    >>> ticks = tuple(
    ...     TickRecord(key, "A", *ends, date(2026, 3, d), 54, "slips", key.partition(":")[0])
    ...     for key, ends in loops.items() for d in (13, 14, 16)
    ... )
    >>> [(held.key, held.text) for held in pinpoint(History(ticks))]
    [('bar:3', '54 on each of 3 days, last with some slips; in two loops.')]
    """
    left = find_stuck(history)
    held = []
    while left:
        short = [stuck for stuck in left if stuck.kind not in WHOLES] or left
        bar = _most_common_bar(short)
        of = _piece(short[0].key)
        group = [stuck for stuck in short if _piece(stuck.key) == of and bar in _bars(stuck)]
        shared = set.intersection(*(_bars(stuck) for stuck in group))
        shared = (shared - _going(history, group)) or shared
        group += [
            stuck
            for stuck in left
            if stuck not in group
            and _piece(stuck.key) == of
            and stuck.kind in WHOLES
            and shared & _bars(stuck)
        ]
        held.append(_held(group, shared))
        left = [stuck for stuck in left if stuck not in group]
    return sorted(held, key=lambda stuck: (-stuck.days, stuck.first, stuck.key))


def _most_common_bar(stuck: Sequence[Stuck]) -> int:
    of = _piece(stuck[0].key)
    rows = [_bars(one) for one in stuck if _piece(one.key) == of]
    bars = [bar for row in rows for bar in row]
    # It is in the loop that is stuck longest, so that something is always found.
    return max(sorted(rows[0]), key=bars.count)


def _held(group: Sequence[Stuck], shared: set[int]) -> Stuck:
    longest = group[0]
    keys = tuple(stuck.key for stuck in group)
    if len(group) == 1 and shared == _bars(longest):
        return replace(longest, loops=keys)
    first, last = min(shared), max(shared)
    said = longest.text.removesuffix(".") + (f"; in {counted(len(group), 'loop')}" if len(group) > 1 else "")
    one = {"key": f"{_piece(longest.key)}bar:{first}", "kind": "bar"} if first == last else {}
    even = all(stuck.even and stuck.tempo == longest.tempo for stuck in group)
    return replace(longest, first=first, last=last, text=f"{said}.", even=even, loops=keys, **one)


def _going(history: History, group: Sequence[Stuck]) -> set[int]:
    """Bars that were last clean, in some loop, faster than the loops of ``group`` are stuck."""
    tempo = max(stuck.tempo for stuck in group)
    of = _piece(group[0].key)
    last = [ticks[-1] for ticks in history.by_loop.values()]
    return {
        bar
        for tick in last
        if tick.felt == "clean" and tick.tempo > tempo and tick.kind not in ("drill", "run")
        and _piece(tick.key) == of
        for bar in _bars(tick)
    }  # fmt: skip


def _bars(loop: Stuck | TickRecord) -> set[int]:
    """The bars of a loop; a join may go back, and has its two ends only."""
    ends = {loop.first, loop.last}
    return ends if loop.kind == "join" else set(range(min(ends), max(ends) + 1))


def _piece(key: str) -> str:
    """What stands before the key of a loop where loops of several pieces are looked at together."""
    return key[: key.rfind("/") + 1]


def _stuck(ticks: tuple[TickRecord, ...], latest: date) -> Stuck | None:
    days = [best_of(group) for _day, group in groupby(ticks, key=lambda tick: tick.day)]
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

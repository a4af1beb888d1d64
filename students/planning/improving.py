"""Make a plan better, one loop at a time, with all the others left where they are."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice

from students.planning.loads import Days, Load, Placed, Stop, due

# So many ways to place a loop are tried for each other loop that might make way.
MOST_WAYS = 40
# The visits of a load: each day's index and its minutes.
Visits = tuple[tuple[int, int], ...]


def improve(
    loads: Sequence[Load], days: Days, placed: Placed, *, rounds: int = 3, make_way: bool = False
) -> Placed:
    """``placed`` with each loop moved to its best days, for as long as that costs less.

    A loop without a day is given one where there is room by now; ``make_way``: or where
    another can make room by moving.
    """
    table = _Table(loads, days, list(placed.free), list(days.caps))
    for stop in placed.stops:
        table.visits.setdefault(stop.load, []).append((stop.day, stop.minutes))
    for i, visits in table.visits.items():
        visits.sort()
        if loads[i].new:
            table.caps[visits[0][0]] -= 1
    short = dict(placed.missing)
    for _ in range(rounds):
        if not sum(table.move(i, short) for i in range(len(loads))):
            break
    if make_way:
        for i in sorted(short):
            any(table.make_way(i, other, short) for other in range(len(loads)) if other != i)
    return table.placed(short)


def _misses_least(choice: tuple[Visits, int]) -> tuple[int, Visits]:
    visits, off = choice
    return off, visits


@dataclass(slots=True)
class _Table:
    """The days with what lies on them."""

    loads: Sequence[Load]
    days: Days
    free: list[int]
    caps: list[int]
    visits: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    followers: dict[int, list[int]] = field(default_factory=dict)
    alike: dict[int, list[int]] = field(default_factory=dict)

    def __post_init__(self):
        for i, load in enumerate(self.loads):
            for part in load.parts:
                self.followers.setdefault(part, []).append(i)
            if load.like is not None:
                self.alike.setdefault(load.like, []).append(i)
                self.alike.setdefault(i, []).append(load.like)

    def move(self, i: int, short: dict[int, int]) -> bool:
        """Give load ``i`` its best days; whether they are others than before."""
        load, had = self.loads[i], self.visits.get(i, [])
        if not load.visits:
            return False
        self._lift(i)
        whole = i not in short
        least = self._price(i, had) if whole else None
        best = None
        for visits, off in self._choices(i, least):
            price = self._price(i, visits, off)
            if least is None or price < least:
                best, least = list(visits), price
        self._lay(i, best if best is not None else had)
        if best is not None:
            short.pop(i, None)
        return best is not None

    def make_way(self, i: int, other: int, short: dict[int, int]) -> bool:
        """Find days for load ``i``, which has none, by moving ``other``; whether that went."""
        if i not in short or other in short or i in self.loads[other].parts:
            return False
        had, before = self.visits.get(i, []), self.visits.get(other, [])
        self._lift(i)
        self._lift(other)
        for visits, _ in islice(self._choices(i, None), MOST_WAYS):
            self._lay(i, list(visits))
            if moved := min(self._choices(other, None), key=_misses_least, default=None):
                self._lay(other, list(moved[0]))
                del short[i]
                return True
            self._lift(i)
        self.visits.pop(i, None)
        self._lay(i, had)
        self._lay(other, before)
        return False

    def placed(self, short: dict[int, int]) -> Placed:
        """The plan as it lies now."""
        made = Placed(list(self.free), missing=short)
        for i, visits in sorted(self.visits.items()):
            for number, (day, minutes) in enumerate(visits):
                made.stops.append(Stop(i, day, minutes, number == 0 and self.loads[i].new > 0))
            made.off += self._off(i, visits)
            if self.loads[i].new and visits:
                made.first[i] = visits[0][0]
        return made

    def _lift(self, i: int) -> None:
        for day, minutes in self.visits.get(i, ()):
            self.free[day] += minutes
        if self.loads[i].new and self.visits.get(i):
            self.caps[self.visits[i][0][0]] += 1

    def _lay(self, i: int, visits: list[tuple[int, int]]) -> None:
        for day, minutes in visits:
            self.free[day] -= minutes
        if self.loads[i].new and visits:
            self.caps[visits[0][0]] -= 1
        if visits:
            self.visits[i] = visits

    def _price(self, i: int, visits: Sequence[tuple[int, int]], off: int | None = None) -> int:
        """What load ``i`` costs on these days, the longest day included."""
        used = [room - free for room, free in zip(self.days.room, self.free, strict=True)]
        for day, minutes in visits:
            used[day] += minutes
        early = 10 * visits[0][0] if self.loads[i].new and visits else 0
        return early + 3 * (self._off(i, visits) if off is None else off) + max(used, default=0)

    def _off(self, i: int, visits: Sequence[tuple[int, int]]) -> int:
        load, nights = self.loads[i], 0
        since = load.since
        returns = list(visits)
        if load.new:
            since, returns = self.days.ordinals[visits[0][0]] if visits else 0, returns[1:]
        if load.close:
            returns = returns[:-1] if returns and returns[-1][0] == len(self.days.room) - 1 else returns
        for number, (day, _) in enumerate(returns):
            nights += self._misses(day, since, anew=number == 0 and (load.new > 0 or load.anew))
            since = self.days.ordinals[day]
        return nights

    def _misses(self, day: int, since: int, *, anew: bool) -> int:
        wanted = max(due(since, self.days.goal, anew=anew), self.days.ordinals[0])
        return abs(self.days.ordinals[day] - wanted)

    def _choices(self, i: int, least: int | None) -> Iterator[tuple[Visits, int]]:
        """Days for all visits of load ``i``, and the nights they miss by; none that must cost more."""
        load, end = self.loads[i], len(self.days.room) - 1
        sizes, close = list(load.returns), ()
        if load.close:
            full = sizes.pop() if sizes else load.close
            minutes = full if full <= self.free[end] else load.close
            if minutes > self.free[end]:
                return
            close = ((end, minutes),)
        stop = end if close else end + 1
        longest = max((r - f for r, f in zip(self.days.room, self.free, strict=True)), default=0)
        most = None if least is None else least - longest
        if not load.new:
            yield from self._returns(sizes, 0, stop, load.since, load.anew, (), close, most, 0)
            return
        for day in self._days_to_be_new(i, stop):
            bound = None if most is None else most - 10 * day
            if bound is not None and bound <= 0:
                return
            since = self.days.ordinals[day]
            head = ((day, load.new),)
            yield from self._returns(sizes, day + 1, stop, since, True, head, close, bound, 0)

    def _days_to_be_new(self, i: int, stop: int) -> Iterator[int]:
        load = self.loads[i]
        parts = [part for part in load.parts if self.loads[part].new]
        if any(not self.visits.get(part) for part in parts):
            return
        first = max((self.visits[part][0][0] for part in parts), default=0)
        last = min((self.visits[f][0][0] for f in self._new(self.followers.get(i, ()))), default=stop - 1)
        taken = {self.visits[other][0][0] for other in self._new(self.alike.get(i, ()))}
        for day in range(first, min(last, stop - 1) + 1):
            if self.caps[day] > 0 and self.free[day] >= load.new and day not in taken:
                yield day

    def _new(self, others: Sequence[int]) -> list[int]:
        return [other for other in others if self.loads[other].new and self.visits.get(other)]

    def _returns(
        self,
        sizes: Sequence[int],
        first: int,
        stop: int,
        since: int,
        anew: bool,
        head: Visits,
        close: Visits,
        most: int | None,
        off: int,
    ) -> Iterator[tuple[Visits, int]]:
        if not sizes:
            yield (*head, *close), off
            return
        for day in range(first, stop - len(sizes) + 1):
            if self.free[day] < sizes[0]:
                continue
            misses = off + self._misses(day, since, anew=anew)
            if most is None or 3 * misses < most:
                rest = sizes[1:], day + 1, stop, self.days.ordinals[day], False
                yield from self._returns(*rest, (*head, (day, sizes[0])), close, most, misses)

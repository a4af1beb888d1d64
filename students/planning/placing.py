"""On which days loops are visited.

Loops are placed one after the other, parts first, each new one on the first day from
which its returns find room too. That is done in several orders and in four styles of
placing the returns. The plans are then improved: loop by loop, all the others left where
they are, until no loop has better days; the one that costs least is taken. Of a large
plan only the best start is improved. The hard rules and the cost stand in ``loads``.
"""

from collections.abc import Sequence

from students.planning.board import STYLES, Board, Style
from students.planning.improving import improve
from students.planning.loads import Days, Load, Placed, cost

# A plan of at most so many loops times days is small: every start is improved, not the
# best one only. Past the second, orders are tried only for plans that are not large.
SMALL, LARGE = 250, 1500


def place(loads: Sequence[Load], days: Days) -> Placed:
    """The plan of least cost that is found; the first of equals.

    Loops come in their own order, the first bars first, as long as all have a day so.
    """
    starts = [_place(loads, days, _met_first(loads), style) for style in STYLES]
    if not days.room:
        return starts[0]
    size = len(loads) * len(days.room)
    if size > SMALL:
        best = min(starts, key=lambda made: cost(made, days))
        if best.missing:
            best = first_that_fits(loads, days) or best
        return improve(loads, days, best, rounds=3 if size <= LARGE else 1)
    best = min((improve(loads, days, start) for start in starts), key=lambda made: cost(made, days))
    if best.missing:
        more = [_place(loads, days, order, style) for order in _orders(loads)[1:] for style in STYLES]
        made = [improve(loads, days, start, make_way=True) for start in (best, *more)]
        best = min(made, key=lambda one: cost(one, days))
    return best


def first_that_fits(loads: Sequence[Load], days: Days) -> Placed | None:
    """The first plan found that has a day for everything, or None."""
    if not fits_by_number(loads, days):
        return None
    size = len(loads) * len(days.room)
    orders = _orders(loads)[: 2 if size > LARGE else None]
    tried = (_place(loads, days, order, style, give_up=True) for order in orders for style in STYLES)
    if found := next((placed for placed in tried if not placed.missing), None):
        return found
    if size <= SMALL and not (made := place(loads, days)).missing:
        return made
    return None


def fits_by_number(loads: Sequence[Load], days: Days) -> bool:
    """Whether minutes and caps on new loops suffice, wherever they lie."""
    if sum(load.size for load in loads) > sum(days.room):
        return False
    unmet = [load for load in loads if load.new]
    returns = min((len(load.returns) for load in unmet), default=0)
    return len(unmet) <= sum(days.caps[: max(0, len(days.caps) - returns)])


def _orders(loads: Sequence[Load]) -> list[list[int]]:
    """Orders in which to place: what was met first; as they come; by what hangs on them; by size."""
    chain = _chains(loads)
    return [
        _met_first(loads),
        list(range(len(loads))),
        _parts_first(loads, lambda i: (bool(loads[i].new), -chain[i], i)),
        _parts_first(loads, lambda i: (bool(loads[i].new), -loads[i].size, i)),
        _parts_first(loads, lambda i: (-chain[i], -loads[i].size, i)),
    ]


def _met_first(loads: Sequence[Load]) -> list[int]:
    return sorted(range(len(loads)), key=lambda i: loads[i].new > 0)


def _chains(loads: Sequence[Load]) -> list[int]:
    """For each load, how long the longest chain is of loads that wait for one another from it on."""
    chain = [1] * len(loads)
    for i in reversed(range(len(loads))):
        for part in loads[i].parts:
            chain[part] = max(chain[part], chain[i] + 1)
    return chain


def _parts_first(loads: Sequence[Load], key) -> list[int]:
    """The loads by ``key``, but none before one of its parts."""
    order: list[int] = []
    waiting = sorted(range(len(loads)), key=key)
    done: set[int] = set()
    while waiting:
        ready = next(i for i in waiting if done.issuperset(loads[i].parts))
        waiting.remove(ready)
        done.add(ready)
        order.append(ready)
    return order


def _place(
    loads: Sequence[Load], days: Days, order: Sequence[int], style: Style, *, give_up: bool = False
) -> Placed:
    """Place every load in ``order``; ``give_up``: stop at the first that has no day."""
    placed = Placed(list(days.room))
    board = Board(loads, days, placed, style, list(days.caps))
    for i, load in enumerate(loads):
        board.keep_the_close(i, load)
    for i in order:
        if loads[i].new:
            board.place_unmet(i, loads[i])
        else:
            board.place_met(i, loads[i])
        if give_up and placed.missing:
            break
    return placed

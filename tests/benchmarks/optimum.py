"""The placing of loops against the best there is, on small random cases.

    python -m tests.benchmarks.optimum [cases]

Needs OR-Tools, which is no requirement of the project: CP-SAT finds, under the hard rules
of ``students.planning.loads``, the least of its formula (without T, which the placing
does not see). Reported are the ratio of costs and the cases in which CP-SAT finds a day
for everything and the placing does not.
"""

import sys
from itertools import pairwise
from random import Random
from statistics import median

from ortools.sat.python import cp_model

from students.planning.loads import Days, Load, cost, due
from students.planning.placing import place

SECONDS = 20


def case(seed: int) -> tuple[list[Load], Days]:
    """Up to eight loops in up to nine days; some were met, some resemble, some are sections."""
    chance = Random(seed)
    count = chance.randint(4, 9)
    ordinals = tuple(sorted(chance.sample(range(1000, 1012), count)))
    room = tuple(chance.choice((6, 8, 10, 12, 15)) for _ in range(count))
    days = Days(ordinals, room, (chance.choice((2, 3)),) * count, ordinals[-1] + chance.choice((1, 15)))
    loads: list[Load] = []
    for at in range(chance.randint(2, 8)):
        sizes = tuple(chance.randint(1, 4) for _ in range(3))
        parts = tuple(chance.sample(range(at), min(at, chance.choice((0, 0, 1, 2)))))
        if chance.random() < 0.2:
            since = ordinals[0] - chance.randint(1, 4)
            loads.append(Load(0, sizes[: chance.randint(1, 2)], since, anew=chance.random() < 0.6))
        else:
            like = chance.randrange(at) if at and chance.random() < 0.15 else None
            close = sizes[2] if chance.random() < 0.25 else 0
            loads.append(Load(sizes[0], sizes[1:], parts=parts, like=like, close=close))
    return loads, days


def least(loads: list[Load], days: Days) -> tuple[int, bool, bool]:
    """The least cost CP-SAT finds, whether all is placed there, and whether it is proven."""
    model, span, end = cp_model.CpModel(), range(len(days.room)), len(days.room) - 1
    at, spent, terms = {}, [[] for _ in span], []
    for i, load in enumerate(loads):
        sizes = ([load.new] if load.new else []) + list(load.returns)
        on = [[model.new_bool_var("") for _ in span] for _ in sizes]
        is_placed = [model.new_bool_var("") for _ in sizes]
        at[i] = on, is_placed
        for k, row in enumerate(on):
            model.add(sum(row) == is_placed[k])
            terms.append(1000 * (1 - is_placed[k]))
            for day in span:
                spent[day].append(sizes[k] * row[day])
        for k, (early, late) in enumerate(pairwise(on)):
            model.add(is_placed[k + 1] == is_placed[k] if load.new else is_placed[k + 1] <= is_placed[k])
            for day in span:
                model.add(sum(early[day:]) + late[day] <= 1)
        if load.close and load.new:
            model.add(on[-1][end] == is_placed[-1])
        if load.new:
            terms += [10 * day * on[0][day] for day in span]
        for k, row in enumerate(on):
            if (k == 0 and load.new) or (k == len(on) - 1 and load.close):
                continue
            if k == 0:
                wanted = due(load.since, days.goal, anew=load.anew)
                terms += [3 * _off(days, day, wanted) * row[day] for day in span]
                continue
            for before in span:
                first = load.new > 0 and k == 1
                wanted = due(days.ordinals[before], days.goal, anew=first)
                for day in range(before + 1, len(span)):
                    both = model.new_bool_var("")
                    model.add(both >= on[k - 1][before] + row[day] - 1)
                    terms.append(3 * _off(days, day, wanted) * both)
    for i, load in enumerate(loads):
        for part in load.parts:
            if load.new and loads[part].new:
                model.add(at[i][1][0] <= at[part][1][0])
                for day in span:
                    model.add(at[i][0][0][day] <= sum(at[part][0][0][: day + 1]))
        if load.like is not None and load.new and loads[load.like].new:
            for day in span:
                model.add(at[i][0][0][day] + at[load.like][0][0][day] <= 1)
    longest = model.new_int_var(0, max(days.room), "")
    for day in span:
        model.add(sum(at[i][0][0][day] for i, load in enumerate(loads) if load.new) <= days.caps[day])
        model.add(sum(spent[day]) <= days.room[day])
        model.add(longest >= sum(spent[day]))
    model.minimize(sum(terms) + longest)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers = SECONDS, 1
    status = solver.solve(model)
    whole = all(solver.value(placed) for _, row in at.values() for placed in row)
    return round(solver.objective_value), whole, status == cp_model.OPTIMAL


def _off(days: Days, day: int, wanted: int) -> int:
    return abs(days.ordinals[day] - max(wanted, days.ordinals[0]))


def main(cases: int = 200) -> None:
    ratios, lost, unproven, below = [], [], 0, []
    for seed in range(cases):
        loads, days = case(seed)
        placed = place(loads, days)
        best, whole, proven = least(loads, days)
        unproven += not proven
        if placed.missing and whole:
            lost.append(seed)
        elif not placed.missing:
            ratios.append(cost(placed, days) / max(1, best))
            if ratios[-1] < 1 and proven:
                below.append(seed)
    ratios.sort()
    print(f"{cases} cases, {len(ratios)} placed whole, {unproven} not proven by CP-SAT in {SECONDS} s")
    print(f"cost over the least: median {median(ratios):.3f}, 9 in 10 {ratios[len(ratios) * 9 // 10]:.3f}, ")
    print(f"worst {ratios[-1]:.3f}; below the least (must be none): {below}")
    print(f"whole for CP-SAT and not for the placing: {len(lost)} {lost}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)

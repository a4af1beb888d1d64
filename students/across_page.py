"""A piece across its learners: which bars hold them up, and how many days each needed.

However many learners there are, the number of queries stays the same.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from pieces.engraving.options import NOTE
from pieces.engraving.strip import strips
from pieces.models import Arrangement, Revision
from pieces.music.findings import Workup
from pieces.showing import bars_of, hard_spans
from pieces.workup import workup_of
from students.models import Assignment, Mark, Tick
from students.records import changed_bars

WORST = 4
SMALL_LOOPS = ("bar", "pair", "join", "drill")  # a slip in a longer one says little of a single bar
REACHED = ("at tempo", "secure")


@dataclass(frozen=True)
class Needed:
    """Days on which a section was practised, up to the first at its goal where it got there."""

    days: int
    reached: bool


@dataclass(frozen=True)
class Line:
    """One learner's way through the piece. ``sections`` has None for one that was not given."""

    assignment: Assignment
    days: int
    sections: tuple[Needed | None, ...]
    held: tuple[int, ...]


def across_page(arrangement: Arrangement) -> dict:
    """Everything the page shows."""
    workup = workup_of(arrangement)
    given = list(
        Assignment.objects.of(arrangement.studio)
        .filter(arrangement=arrangement)
        .select_related("student")
        .order_by("student__name", "starts_on")
    )
    ticks = _ticks(arrangement, given)
    marks = _by_assignment(Mark.objects.filter(assignment__in=given))
    held = {row.pk: days_held(ticks[row.pk]) for row in given}
    worst = worst_bars(held.values())
    letters = list(dict.fromkeys(section.letter for section in workup.sections))
    lines = [
        Line(
            row,
            len({tick.day for tick in ticks[row.pk]}),
            tuple(_needed(row, letter, ticks[row.pk], marks[row.pk]) for letter in letters),
            tuple(len(held[row.pk].get(number, ())) for number in worst),
        )
        for row in given
    ]
    tried = [line for line in lines if line.days]
    return {
        "arrangement": arrangement,
        "letters": letters,
        "worst": [_bar_shown(workup, number, held.values(), len(tried)) for number in worst],
        "lines": lines,
        "learners": len({line.assignment.student_id for line in tried}),
    }


def days_held(ticks: Iterable[Tick]) -> dict[int, set[date]]:
    """The days on which each bar did not go clean in a small loop, by bar number."""
    days: dict[int, set[date]] = defaultdict(set)
    for tick in ticks:
        if tick.felt != Tick.CLEAN and tick.kind in SMALL_LOOPS:
            for number in range(tick.first, tick.last + 1):
                days[number].add(tick.day)
    return dict(days)


def worst_bars(held: Iterable[dict[int, set[date]]], most: int = WORST) -> list[int]:
    """The bars that hold up most learners, then those that do so for most days, in order of the piece."""
    learners: dict[int, int] = defaultdict(int)
    days: dict[int, int] = defaultdict(int)
    for by_bar in held:
        for number, on in by_bar.items():
            learners[number] += 1
            days[number] += len(on)
    ranked = sorted(learners, key=lambda number: (-learners[number], -days[number], number))
    return sorted(ranked[:most])


def _ticks(arrangement: Arrangement, given: list[Assignment]) -> dict[int, list[Tick]]:
    """Ticks that count, by assignment, but those on bars that are played otherwise today."""
    rows = list(Tick.objects.standing().filter(assignment__in=given))
    revisions = Revision.objects.in_bulk({tick.revision_id for tick in rows})
    changed = {pk: changed_bars(then, arrangement.current) for pk, then in revisions.items()}
    return _by_assignment(
        tick for tick in rows if changed[tick.revision_id].isdisjoint(range(tick.first, tick.last + 1))
    )


def _by_assignment(rows) -> dict[int, list]:
    grouped: dict[int, list] = defaultdict(list)
    for row in rows:
        grouped[row.assignment_id].append(row)
    return grouped


def _needed(assignment: Assignment, letter: str, ticks: list[Tick], marks: list[Mark]) -> Needed | None:
    if letter not in assignment.letters:
        return None
    mine = [tick for tick in ticks if tick.section == letter]
    there = [tick.day for tick in mine if _is_at_goal(tick, assignment.goal_tempo)]
    there += [mark.day for mark in marks if mark.section == letter and mark.standing in REACHED]
    until = min(there, default=None)
    days = {tick.day for tick in mine if until is None or tick.day <= until}
    return Needed(len(days), until is not None)


def _is_at_goal(tick: Tick, goal: int) -> bool:
    return tick.kind == "section" and tick.felt == Tick.CLEAN and tick.tempo >= goal


def _bar_shown(workup: Workup, number: int, held, among: int) -> dict:
    on = [by_bar[number] for by_bar in held if number in by_bar]
    average = round(sum(map(len, on)) / len(on))
    bars = bars_of(workup, [number])
    options = NOTE.but(width=300, per_system=1, closed=False, names=False, syllables=workup.syllables)
    rating = workup.ratings.get(number)
    return {
        "number": number,
        "strip": "".join(strips(bars, workup.score.tuning, options, hard=hard_spans(workup, least=0))),
        "said": f"{len(on)} of {among} learners, {average} day{'s' if average != 1 else ''} on average.",
        "reason": rating.reasons[0] if rating and rating.reasons else "",
    }

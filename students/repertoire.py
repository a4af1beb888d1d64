"""Pieces that were put away as learned: they stay playable by a play-through now and then.

When one is due is the memory's business (``students.planning.retention``); a day with
minutes to spare then has it, once through.
"""

from dataclasses import dataclass
from datetime import date

from django.db import transaction

from students.models import Assignment, Mark, SectionStanding, Student, Tick
from students.planning.loops import Chunk as Loop
from students.planning.plan import Returns
from students.records import history_of
from students.standings import SECURE, standings_of, store_standings, with_loops


@dataclass(frozen=True)
class Kept:
    """A piece put away. ``due`` is the day it is due again, ``planned`` the day it comes back."""

    assignment: Assignment
    standings: tuple[SectionStanding, ...]
    due: date | None
    planned: date | None
    said: str


def coming_back(student: Student, ticks: list[Tick], marks: list[Mark], today: date) -> list[Returns]:
    """What of the repertoire comes back, and from when."""
    return [
        item
        for assignment, loops, history in _in_memory(student, ticks, marks)
        for item in _returns(assignment, loops, standings_of(assignment, loops, history, today))
    ]


def refresh(student: Student, ticks: list[Tick], marks: list[Mark], today: date) -> list[Returns]:
    """As ``coming_back``, with the standings of the repertoire written as of ``today``."""
    found = []
    for assignment, loops, history in _in_memory(student, ticks, marks):
        found += _returns(assignment, loops, store_standings(assignment, loops, history, today))
    student.assignments.in_repertoire().update(planned_for=today, stale=False)
    return found


def _in_memory(student: Student, ticks: list[Tick], marks: list[Mark]):
    """The repertoire, less what is being learned again: that comes back with its own loops."""
    again = student.assignments.running().values("arrangement")
    kept = student.assignments.in_repertoire().exclude(arrangement__in=again)
    for assignment, loops in with_loops(kept.select_related("arrangement__piece", "revision")):
        yield assignment, loops, history_of(assignment, assignment.revision, ticks, marks)


def repertoire(student: Student, today: date) -> list[Kept]:
    """What a learner has put away, what is due first: three queries."""
    rows = (
        student.assignments.filter(ended_on__isnull=False)
        .select_related("arrangement__piece")
        .prefetch_related("standings")
    )
    planned: dict[int, date] = {}
    coming = student.tasks.filter(day__gte=today, chunk__assignment__ended_on__isnull=False)
    for day, pk in coming.order_by("-day").values_list("day", "chunk__assignment_id"):
        planned[pk] = day
    lines = [_kept(row, planned.get(row.pk), today) for row in rows]
    return sorted(
        lines, key=lambda line: (line.assignment.let_go, line.due or date.max, str(line.assignment))
    )


@transaction.atomic
def let_go(assignment: Assignment, today: date) -> None:
    """No more returns of a piece; what was ticked stays on record."""
    assignment.let_go = True
    assignment.save(update_fields=["let_go"])
    assignment.standings.update(due_on=None)
    assignment.student.tasks.filter(chunk__assignment=assignment, day__gte=today).delete()
    assignment.student.assignments.running().update(stale=True)


@transaction.atomic
def keep(assignment: Assignment) -> None:
    """Have a piece that was let go come back again."""
    assignment.let_go, assignment.stale = False, True
    assignment.save(update_fields=["let_go", "stale"])


def _returns(assignment: Assignment, loops: list[Loop], standings: dict) -> list[Returns]:
    """The whole piece once through where all of it is secure, else each section that is."""
    secure = {letter: s for letter, s in standings.items() if s.name in SECURE and s.memory}
    if not secure:
        return []
    title = assignment.arrangement.piece.title
    rows = dict(assignment.chunks.filter(kind__in=["section", "run"]).values_list("key", "pk"))
    run = next((loop for loop in loops if loop.kind == "run"), None)
    if run and len(secure) == len(standings):
        due = min(standing.memory.due for standing in secure.values())
        return [Returns(str(rows[run.key]), title, run.beats, assignment.goal_tempo, due)]
    return [
        Returns(
            str(rows[loop.key]),
            f"{title}, {loop.section}",
            loop.beats,
            assignment.goal_tempo,
            secure[loop.section].memory.due,
        )
        for loop in loops
        if loop.kind == "section" and loop.section in secure
    ]


def _kept(assignment: Assignment, planned: date | None, today: date) -> Kept:
    standings = tuple(sorted(assignment.standings.all(), key=lambda row: row.section))
    due = min((row.due_on for row in standings if row.due_on), default=None)
    return Kept(assignment, standings, due, planned, _said(assignment, due, planned, today))


def _said(assignment: Assignment, due: date | None, planned: date | None, today: date) -> str:
    if assignment.let_go:
        return "Let go: it does not come back."
    if due is None:
        return "Not secure when it was put away, so it does not come back. Give it again to finish it."
    when = f"Due {'since ' if due < today else ''}{_on(due, today)}"
    if planned:
        return f"{when}; planned {_on(planned, today)}, once through."
    if due <= today:
        return f"{when}; no day before the next lesson has a minute to spare."
    return f"{when}, once through."


def _on(day: date, today: date) -> str:
    return "today" if day == today else f"{day:%a} {day.day} {day:%B}"

"""Where sections stand, as rows: made from ticks and marks, and made again at any time."""

from collections.abc import Sequence
from datetime import date
from fractions import Fraction

from students.models import Assignment, Chunk, Mark, SectionStanding, Student, Tick
from students.planning.history import History
from students.planning.loops import Chunk as Loop
from students.planning.standing import Standing, standing_of
from students.records import history_of, records_of

COMPARED = ("section", "standing", "why", "due_on")
SECURE = ("secure", "due again")


def standings_of(
    assignment: Assignment, loops: Sequence[Loop], history: History, today: date
) -> dict[str, Standing]:
    """The standing of each section that was given, by letter."""
    performance = assignment.until if assignment.performance and assignment.until >= today else None
    # A mark stands until a later lesson, whether or not anything was marked in that one.
    lessons = list(
        assignment.student.lessons.filter(state="held", day__lte=today).values_list("day", flat=True)
    )
    return {
        letter: standing_of(letter, loops, history, today, lessons=lessons, performance=performance)
        for letter in assignment.letters
    }


def store_standings(
    assignment: Assignment, loops: Sequence[Loop], history: History, today: date
) -> dict[str, Standing]:
    """Write where each section that was given stands, with its evidence and when it is due again."""
    standings = standings_of(assignment, loops, history, today)
    fresh = [_as_stored(assignment, letter, standing) for letter, standing in standings.items()]
    kept = SectionStanding.objects.filter(assignment=assignment)
    if sorted(map(_as_kept, kept)) == sorted(fresh):
        return standings
    kept.delete()
    SectionStanding.objects.bulk_create(
        SectionStanding(
            studio_id=assignment.studio_id,
            student_id=assignment.student_id,
            assignment=assignment,
            **dict(zip(COMPARED, row, strict=True)),
        )
        for row in fresh
    )
    return standings


def rebuild(student: Student, today: date, ticks: list[Tick], marks: list[Mark]) -> None:
    """Make the standings of everything a learner was ever given again from ticks and marks."""
    for assignment, loops in with_loops(student.assignments.select_related("revision")):
        store_standings(assignment, loops, history_of(assignment, assignment.revision, ticks, marks), today)


def differences(student: Student) -> list[str]:
    """What stored standings say otherwise than ticks and marks do, as of the day they were stored."""
    ticks, marks = records_of(student)
    found = []
    planned = student.assignments.exclude(planned_for=None).select_related("revision", "arrangement__piece")
    for assignment, loops in with_loops(planned.prefetch_related("standings")):
        history = history_of(assignment, assignment.revision, ticks, marks)
        fresh = standings_of(assignment, loops, history, assignment.planned_for)
        kept = {row.section: row for row in assignment.standings.all()}
        for letter in sorted({*fresh, *kept}):
            if _as_stored(assignment, letter, fresh.get(letter)) != _as_kept(kept.get(letter)):
                found.append(f"{student}, {assignment.arrangement.piece}, section {letter}")
    return found


def with_loops(assignments) -> list[tuple[Assignment, list[Loop]]]:
    """Assignments with their wholes (sections and the run) as planning reads them: two queries."""
    rows = list(assignments.all())
    by_assignment: dict[int, list[Loop]] = {row.pk: [] for row in rows}
    for chunk in Chunk.objects.filter(assignment__in=rows, kind__in=["section", "run"]):
        by_assignment[chunk.assignment_id].append(loop_of(chunk))
    return [(row, by_assignment[row.pk]) for row in rows]


def loop_of(chunk: Chunk) -> Loop:
    """The loop that a row was written from."""
    data = dict(chunk.data)
    for name in ("bars", "parts", "sections"):
        if name in data:
            data[name] = tuple(data[name])
    return Loop(**{**data, "beats": Fraction(data["beats"])})


def _due_on(assignment: Assignment, standing: Standing) -> date | None:
    comes_back = standing.name in SECURE and standing.memory and not assignment.let_go
    return standing.memory.due if comes_back else None


def _as_stored(assignment: Assignment, letter: str, standing: Standing | None):
    if standing is None:
        return None
    return letter, standing.name, list(standing.why), _due_on(assignment, standing)


def _as_kept(row: SectionStanding | None):
    return row and tuple(getattr(row, name) for name in COMPARED)

"""Giving a piece, recording a tick or a mark, and planning again: the transactions.

A plan is a pure function of the arrangement, the assignment, ticks, marks and the
day. What is stored of it is there to be shown quickly, and is made again whenever
something happened (``stale``) or a new day began.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction

from pieces.models import Arrangement
from pieces.music.findings import Workup
from pieces.music.stored import to_data
from pieces.workup import workup_of
from students.models import Assignment, Chunk, Mark, PlannedTask, SectionStanding, Student, Tick
from students.planning.chunks import Chunk as Loop
from students.planning.days import plan_days
from students.planning.history import History
from students.planning.plan import Calendar, Learner, Plan
from students.planning.standing import standing_of
from students.records import (
    Terms,
    calendar_of,
    cut,
    history_of,
    learner_of,
    minutes_taken,
    records_of,
    returns_due,
    terms_of,
)


@dataclass(frozen=True)
class Proposal:
    """A plan before it is confirmed, with all it was made from."""

    terms: Terms
    workup: Workup
    chunks: tuple[Loop, ...]
    plan: Plan
    learner: Learner
    calendar: Calendar


def propose(student: Student, arrangement: Arrangement, terms: Terms) -> Proposal:
    """The plan that ``terms`` would give, from the learner's days and history."""
    running = student.assignments.running().filter(arrangement=arrangement).first()
    revision = arrangement.current
    workup = workup_of(arrangement, revision)
    chunks = cut(workup, terms)
    ticks, marks = records_of(student)
    history = history_of(running, revision, ticks, marks) if running else History()
    learner = learner_of(student, ticks)
    taken = minutes_taken(student, terms, but=running)
    calendar = calendar_of(student, terms, taken=taken)
    returns = () if running else returns_due(student)
    plan = plan_days(chunks, calendar, learner, history, terms.starts, returns=tuple(returns))
    return Proposal(terms, workup, chunks, plan, learner, calendar)


@transaction.atomic
def assign(student: Student, arrangement: Arrangement, terms: Terms, *, note="") -> Assignment:
    """Give sections of an arrangement; one that is running already is given anew.

    What was ticked stays ticked.
    """
    assignment = student.assignments.running().filter(arrangement=arrangement).first()
    assignment = assignment or Assignment(
        studio_id=student.studio_id, student=student, arrangement=arrangement, starts_on=terms.starts
    )
    assignment.revision = arrangement.current
    assignment.letters = list(terms.letters)
    assignment.goal_tempo, assignment.start_goal = terms.goal, terms.start_goal
    assignment.until, assignment.performance = terms.until, terms.performance
    assignment.note = note or assignment.note
    assignment.stale = True
    assignment.save()
    if terms.minutes:
        student.minutes = terms.minutes
        student.save(update_fields=["minutes"])
    _store_chunks(assignment)
    replan(student, terms.starts)
    return assignment


def keep_planned(student: Student, today: date) -> None:
    """See that the stored plan is that of ``today``, after whatever happened."""
    running = student.assignments.running()
    if any(a.stale or a.planned_for is None or a.planned_for < today for a in running):
        replan(student, today, keep_today=student.ticks.filter(day=today).exists())


@transaction.atomic
def replan(student: Student, today: date, *, keep_today: bool = False) -> None:
    """Plan every running assignment from ``today`` on; earlier days stay as they were.

    ``keep_today``: what was planned for today stays too, for some of it is done.
    """
    first = today + timedelta(days=1) if keep_today else today
    ticks, marks = records_of(student)
    learner = learner_of(student, ticks)
    assignments = (
        student.assignments.running().with_music().order_by("until", "pk").prefetch_related("chunks")
    )
    PlannedTask.objects.filter(student=student, day__gte=first).delete()
    taken: dict[date, int] = defaultdict(int)
    returns = returns_due(student)
    for assignment in assignments:
        terms = terms_of(assignment)
        chunks = cut(workup_of(assignment.arrangement, assignment.revision), terms)
        history = history_of(assignment, assignment.revision, ticks, marks)
        calendar = calendar_of(student, terms, taken=taken)
        plan = plan_days(
            chunks, calendar, learner, history, max(today, assignment.starts_on), returns=tuple(returns)
        )
        _store_plan(assignment, plan, first)
        for day in plan.days:
            taken[day.date] += day.minutes
        _store_standings(assignment, chunks, history, today)
        assignment.planned_for, assignment.stale, assignment.fit = today, False, _fit_data(plan)
        assignment.save(update_fields=["planned_for", "stale", "fit"])
        returns = []  # a day's play-throughs stand in the first plan only


def record_tick(student: Student, task: PlannedTask, *, uuid, day, tempo, felt, at, minutes=0) -> Tick:
    """Keep a tick of a planned task; the same ``uuid`` again is the same tick.

    Only the tick itself is written, so that many learners can tick at once; the plan
    follows when it is next looked at.
    """
    chunk = task.chunk
    with transaction.atomic():
        tick, made = Tick.objects.get_or_create(
            studio_id=student.studio_id,
            uuid=uuid,
            defaults={
                "student": student,
                "assignment_id": chunk.assignment_id,
                "revision_id": chunk.assignment.revision_id,
                "key": chunk.key,
                "kind": chunk.kind,
                "section": chunk.data.get("section", ""),
                "first": chunk.first,
                "last": chunk.last,
                "day": day,
                "tempo": tempo,
                "felt": felt,
                "minutes": minutes,
                "planned": task.minutes,
                "at": at,
            },
        )
        if made:
            Assignment.objects.filter(pk=chunk.assignment_id).update(stale=True)
    return tick


def undo_tick(tick: Tick, *, uuid, at) -> Tick:
    """Take a tick back by adding its undoing; both stay on record."""
    with transaction.atomic():
        undoing, _made = Tick.objects.get_or_create(
            studio_id=tick.studio_id,
            uuid=uuid,
            defaults={
                **{name: getattr(tick, name) for name in ("key", "kind", "section", "first", "last")},
                **{name: getattr(tick, name) for name in ("student_id", "assignment_id", "revision_id")},
                **{name: getattr(tick, name) for name in ("day", "tempo", "felt")},
                "undoes": tick.uuid,
                "at": at,
            },
        )
        Assignment.objects.filter(pk=tick.assignment_id).update(stale=True)
    return undoing


def mark_section(assignment: Assignment, section: str, standing: str, *, day: date, by=None) -> Mark:
    """Keep the teacher's judgement; a second one on the same day takes the first one's place."""
    with transaction.atomic():
        mark, _made = Mark.objects.update_or_create(
            assignment=assignment,
            section=section,
            day=day,
            defaults={
                "studio_id": assignment.studio_id,
                "student_id": assignment.student_id,
                "standing": standing,
                "by": by,
            },
        )
        Assignment.objects.filter(pk=assignment.pk).update(stale=True)
    return mark


def end_assignment(assignment: Assignment, day: date) -> None:
    """Put an assignment away; what was learned stays in the repertoire."""
    with transaction.atomic():
        PlannedTask.objects.filter(assignment=assignment, day__gte=day).delete()
        assignment.ended_on = day
        assignment.save(update_fields=["ended_on"])


def _store_standings(assignment: Assignment, chunks, history: History, today: date) -> None:
    """Write where each assigned section stands, with its evidence."""
    SectionStanding.objects.filter(assignment=assignment).delete()
    performance = assignment.until if assignment.performance else None
    lessons = list(assignment.student.lessons.values_list("day", flat=True))
    rows = []
    for letter in assignment.letters:
        standing = standing_of(
            letter, chunks, history, today, lessons=lessons, performance=performance
        )
        secure = standing.name in ("secure", "due again") and standing.memory
        rows.append(
            SectionStanding(
                studio_id=assignment.studio_id,
                student_id=assignment.student_id,
                assignment=assignment,
                section=letter,
                standing=standing.name,
                why=list(standing.why),
                due_on=standing.memory.due if secure else None,
            )
        )
    SectionStanding.objects.bulk_create(rows)


def _store_chunks(assignment: Assignment) -> None:
    chunks = cut(workup_of(assignment.arrangement, assignment.revision), terms_of(assignment))
    kept = {chunk.key: chunk for chunk in assignment.chunks.all()}
    assignment.chunks.exclude(key__in=[chunk.key for chunk in chunks]).delete()
    for position, chunk in enumerate(chunks):
        row = kept.get(chunk.key) or Chunk(
            studio_id=assignment.studio_id, assignment=assignment, key=chunk.key
        )
        row.kind, row.first, row.last, row.label = chunk.kind, chunk.first, chunk.last, chunk.label
        row.position, row.data = position, to_data(chunk)
        row.save()


def _store_plan(assignment: Assignment, plan: Plan, first: date) -> None:
    """Write the plan's days from ``first`` on. A return's key is the number of its loop's row."""
    stored = {chunk.key: chunk.pk for chunk in assignment.chunks.all()}
    PlannedTask.objects.bulk_create(
        PlannedTask(
            studio_id=assignment.studio_id,
            student_id=assignment.student_id,
            assignment=assignment,
            chunk_id=stored.get(task.key) or int(task.key),
            day=day.date,
            order=order,
            minutes=task.minutes,
            passes=task.passes,
            from_tempo=task.from_tempo,
            to_tempo=task.to_tempo,
            new=task.new,
            why=task.why,
        )
        for day in plan.days
        if day.date >= first
        for order, task in enumerate(day.tasks)
    )


def _fit_data(plan: Plan) -> dict:
    fit = plan.fit
    return {
        "fits": fit.fits,
        "text": fit.text,
        "needed": fit.needed,
        "available": fit.available,
        "ways_out": [{"kind": way.kind, "text": way.text} for way in fit.ways_out],
    }

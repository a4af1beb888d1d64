"""Giving a piece, recording a tick or a mark, and planning again: the transactions.

A plan is a pure function of the arrangement, the assignment, ticks, marks and the
day. What is stored of it is there to be shown quickly, and is made again whenever
something happened (``stale``) or a new day began.
"""

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta

from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils import timezone

from pieces.editing import is_settled
from pieces.models import Arrangement
from pieces.music.findings import Workup
from pieces.music.stored import to_data
from pieces.workup import workup_of
from students.evidence import corrected_scores
from students.lesson_days import next_lesson, run_on
from students.models import Assignment, Chunk, Group, Mark, PlannedTask, Student, Tick
from students.planning.chunks import Chunk as Loop
from students.planning.days import plan_days
from students.planning.history import History
from students.planning.performing import plan_toward
from students.planning.plan import Calendar, Learner, Plan, Returns
from students.records import (
    Terms,
    calendar_of,
    changed_bars,
    cut,
    history_of,
    learner_of,
    letters_in,
    minutes_taken,
    records_of,
    terms_of,
)
from students.repertoire import coming_back, refresh
from students.standings import store_standings


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
    earlier = earlier_of(student, arrangement)
    revision = arrangement.current
    workup = workup_of(arrangement, revision)
    terms = replace(terms, scores=corrected_scores(arrangement, workup, arrangement.studio.today))
    chunks = cut(workup, terms)
    ticks, marks = records_of(student)
    history = history_of(earlier, revision, ticks, marks) if earlier else History()
    learner = learner_of(student, ticks)
    taken = minutes_taken(student, terms, but=earlier)
    calendar = calendar_of(student, terms, taken=taken)
    others = student.assignments.running().exclude(arrangement=arrangement)
    first_in_line = not others.filter(until__lte=terms.until).exists()
    returns = coming_back(student, ticks, marks, terms.starts) if first_in_line else ()
    plan = plan_toward(chunks, calendar, learner, history, terms.starts, tuple(returns))
    return Proposal(terms, workup, chunks, plan, learner, calendar)


def earlier_of(student: Student, arrangement: Arrangement) -> Assignment | None:
    """The assignment of this arrangement that is running, or else the one put away."""
    given = student.assignments.filter(arrangement=arrangement)
    return given.running().first() or given.order_by("-ended_on").first()


@transaction.atomic
def assign(
    student: Student,
    arrangement: Arrangement,
    terms: Terms,
    *,
    note: str = "",
    today: date | None = None,
    group: Group | None = None,
) -> Assignment:
    """Give sections of an arrangement; one that was given before is given anew.

    What was ticked stays ticked. ``today`` is the first day that may be planned anew
    for other pieces, by default the day on which this one starts.
    """
    assignment = earlier_of(student, arrangement) or Assignment(
        studio_id=student.studio_id, student=student, arrangement=arrangement
    )
    assignment.revision = arrangement.current
    assignment.letters = list(terms.letters)
    found = corrected_scores(arrangement, workup_of(arrangement), arrangement.studio.today)
    assignment.scores = {str(number): score for number, score in found.items()}
    assignment.goal_tempo, assignment.start_goal = terms.goal, terms.start_goal
    assignment.starts_on, assignment.until = terms.starts, terms.until
    assignment.performance, assignment.meant_for = terms.performance, None
    assignment.ended_on, assignment.let_go = None, False
    assignment.note = note or assignment.note
    assignment.group = group or assignment.group
    assignment.stale = True
    assignment.save()
    if terms.minutes:
        student.minutes = terms.minutes
        student.save(update_fields=["minutes"])
    _store_chunks(assignment, terms.starts)
    today = today or terms.starts
    replan(student, today, keep_today=terms.starts > today)
    return assignment


def keep_planned(student: Student, today: date) -> None:
    """See that the stored plan is that of ``today``, after whatever happened.

    An edited piece is followed once its editor is done with it.
    """
    running = list(student.assignments.running().with_music().select_related("arrangement__current"))
    for assignment in running:
        if is_settled(assignment.arrangement.current, timezone.now()):
            _follow(assignment, today)
    if is_plan_old(student, today):
        replan(student, today, keep_today=student.ticks.filter(day=today).exists())


def is_plan_old(student: Student, today: date) -> bool:
    """Whether something happened since the plan was made, or a new day began."""
    old = Q(stale=True) | Q(planned_for=None) | Q(planned_for__lt=today)
    return student.assignments.planned().filter(old).exists()


@dataclass(frozen=True)
class Moved:
    """An assignment that went to a new revision. ``changed``: bars given that are played anew."""

    student: Student
    changed: tuple[int, ...]


def move_to_current(arrangement: Arrangement, today: date) -> list[Moved]:
    """Have every running assignment follow the arrangement to its current revision.

    Ticks on bars that are played as before go on counting (see ``history_of``). The
    plans follow when they are next looked at.
    """
    running = Assignment.objects.running().filter(arrangement=arrangement).order_by("student__name", "pk")
    moves = (_follow(assignment, today) for assignment in running.with_music())
    return [move for move in moves if move]


def _follow(assignment: Assignment, today: date) -> Moved | None:
    """Move one assignment; None where it is there already."""
    arrangement, then = assignment.arrangement, assignment.revision
    now = arrangement.current
    if then.pk == now.pk:
        return None
    before, after = workup_of(arrangement, then), workup_of(arrangement, now)
    letters = letters_in(before, after, assignment.letters)
    given = {
        number
        for workup, chosen in ((before, assignment.letters), (after, letters))
        for section in workup.sections
        if section.letter in chosen
        for number in range(section.first, section.last + 1)
    }
    with transaction.atomic():
        assignment.revision, assignment.letters, assignment.stale = now, letters, True
        assignment.save(update_fields=["revision", "letters", "stale"])
        _store_chunks(assignment, today)
    return Moved(assignment.student, tuple(sorted(changed_bars(then, now) & given)))


def _follow_decisions(assignment: Assignment, today: date) -> None:
    """Where the teacher cut the piece otherwise, or judged its bars, since it was given: cut it anew."""
    workup = workup_of(assignment.arrangement, assignment.revision)
    rows = list(assignment.chunks.all())
    letters = [section.letter for section in workup.sections]
    if not set(letters).issuperset(assignment.letters):
        given = {number for row in rows if row.kind == "section" for number in row.data["bars"]}
        still = [s.letter for s in workup.sections if not given.isdisjoint(range(s.first, s.last + 1))]
        assignment.letters = list(dict.fromkeys(still or letters))
        assignment.save(update_fields=["letters"])
    wanted = {chunk.key for chunk in cut(workup, terms_of(assignment))}
    if not wanted.issubset(row.key for row in rows):
        _store_chunks(assignment, today)
        prefetched = getattr(assignment, "_prefetched_objects_cache", {})
        prefetched.pop("chunks", None)


@transaction.atomic
def replan(student: Student, today: date, *, keep_today: bool = False) -> None:
    """Plan every running assignment from ``today`` on; earlier days stay as they were.

    ``keep_today``: what was planned for today stays too, for some of it is done. What
    starts later than today keeps the days that it has until then.
    """
    first = today + timedelta(days=1) if keep_today else today
    ticks, marks = records_of(student)
    learner = learner_of(student, ticks)
    running = list(
        student.assignments.running().with_music().order_by("until", "pk").prefetch_related("chunks")
    )
    _clear(student, running, first)
    returns = refresh(student, ticks, marks, today)
    taken = _taken_already(running, first)
    for assignment in running:
        ran_on = run_on(assignment, today)
        _follow_decisions(assignment, today)
        terms = terms_of(assignment)
        chunks = cut(workup_of(assignment.arrangement, assignment.revision), terms)
        history = history_of(assignment, assignment.revision, ticks, marks)
        calendar = calendar_of(student, terms, taken=taken)
        plan = plan_toward(chunks, calendar, learner, history, max(today, terms.starts), tuple(returns))
        _store_plan(student, plan, first, assignment)
        for day in plan.days:
            taken[day.date] += day.minutes
        returns = _without_planned(returns, plan)
        store_standings(assignment, chunks, history, today)
        assignment.planned_for, assignment.stale, assignment.fit = today, False, _fit_data(plan)
        assignment.save(
            update_fields=["planned_for", "stale", "fit", *(["until", "meant_for"] if ran_on else [])]
        )
    if returns and not running:
        terms = Terms((), 0, today, next_lesson(student, today))
        plan = plan_days((), calendar_of(student, terms), learner, History(), today, tuple(returns))
        _store_plan(student, plan, first)


def _clear(student: Student, running: list[Assignment], first: date) -> None:
    """Take away what is planned anew."""
    tasks = PlannedTask.objects.filter(student=student, day__gte=first)
    waiting = {assignment.pk: assignment.starts_on for assignment in running if assignment.starts_on > first}
    tasks.exclude(assignment__in=waiting).delete()
    for pk, starts in waiting.items():
        tasks.filter(assignment=pk, day__gte=starts).delete()


def _taken_already(running: list[Assignment], first: date) -> dict[date, int]:
    """Minutes by day of what stays planned from ``first`` on."""
    taken: dict[date, int] = defaultdict(int)
    stays = PlannedTask.objects.filter(assignment__in=running, day__gte=first)
    for day, minutes in stays.values_list("day", "minutes"):
        taken[day] += minutes
    return taken


def _without_planned(returns: list[Returns], plan: Plan) -> list[Returns]:
    planned = {task.key for day in plan.days for task in day.tasks}
    return [item for item in returns if item.key not in planned]


def record_tick(student: Student, task: PlannedTask, *, uuid, day, tempo, felt, at, minutes=0) -> Tick:
    """Keep a tick of a planned task; the same ``uuid`` again is the same tick.

    Only the tick itself is written, so that many learners can tick at once; the plan
    follows when it is next looked at.
    """
    chunk = task.chunk
    try:
        with transaction.atomic():
            tick = Tick.objects.create(
                studio_id=student.studio_id,
                uuid=uuid,
                student=student,
                assignment_id=chunk.assignment_id,
                revision_id=chunk.assignment.revision_id,
                key=chunk.key,
                kind=chunk.kind,
                section=chunk.data.get("section", ""),
                first=chunk.first,
                last=chunk.last,
                day=day,
                tempo=tempo,
                felt=felt,
                minutes=minutes,
                planned=task.minutes,
                at=at,
            )
            Assignment.objects.filter(pk=chunk.assignment_id).update(stale=True)
    except IntegrityError:  # it came before; asking first would cost every tick a question
        return Tick.objects.get(studio_id=student.studio_id, uuid=uuid)
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
        assignment.ended_on, assignment.stale = day, True
        assignment.save(update_fields=["ended_on", "stale"])


def _store_chunks(assignment: Assignment, today: date) -> None:
    """Write the loops. One that is no longer cut stays where it was planned until ``today``."""
    chunks = cut(workup_of(assignment.arrangement, assignment.revision), terms_of(assignment))
    kept = {chunk.key: chunk for chunk in assignment.chunks.all()}
    gone = assignment.chunks.exclude(key__in=[chunk.key for chunk in chunks])
    PlannedTask.objects.filter(chunk__in=gone, day__gt=today).delete()
    gone.exclude(tasks__day__lte=today).delete()
    for position, chunk in enumerate(chunks):
        _store_loop(assignment, chunk, position, kept.get(chunk.key))


def _store_loop(assignment: Assignment, loop: Loop, position: int, row: Chunk | None = None) -> Chunk:
    row = row or Chunk(studio_id=assignment.studio_id, assignment=assignment, key=loop.key)
    row.kind, row.first, row.last, row.label = loop.kind, loop.first, loop.last, loop.label
    # What a loop would be broken down into is cut again when it is planned.
    row.position, row.data = position, to_data(replace(loop, apart=()))
    row.save()
    return row


def _store_plan(student: Student, plan: Plan, first: date, assignment: Assignment | None = None) -> None:
    """Write the plan's days from ``first`` on.

    A return's key is the number of its loop's row. Without an ``assignment`` the plan
    is one of returns alone.
    """
    stored = {chunk.key: chunk.pk for chunk in assignment.chunks.all()} if assignment else {}
    for loop in plan.apart if assignment else ():
        if loop.key not in stored:
            stored[loop.key] = _store_loop(assignment, loop, len(stored)).pk
    days = [day for day in plan.days if day.date >= first]
    returning = [int(task.key) for day in days for task in day.tasks if task.key not in stored]
    owners = dict(Chunk.objects.filter(pk__in=returning).values_list("pk", "assignment_id"))
    PlannedTask.objects.bulk_create(
        PlannedTask(
            studio_id=student.studio_id,
            student_id=student.pk,
            assignment_id=assignment.pk if assignment else owners[int(task.key)],
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
        for day in days
        for order, task in enumerate(day.tasks)
    )


def _fit_data(plan: Plan) -> dict:
    fit = plan.fit
    return {
        "fits": fit.fits,
        "text": fit.text,
        "needed": fit.needed,
        "available": fit.available,
        "missing": list(fit.missing),
        "ways_out": [{"kind": way.kind, "text": way.text} for way in fit.ways_out],
    }

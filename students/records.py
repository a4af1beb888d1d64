"""From rows to the values that planning reads: days, learner, history, returns."""

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction

from pieces.models import Revision
from pieces.music.findings import Workup
from pieces.music.form import bar_classes
from students.models import WEEKDAYS, Assignment, Chunk, Mark, SectionStanding, Student, Tick
from students.planning import chunks as loops
from students.planning.history import History, MarkRecord, TickRecord
from students.planning.pace import pace_of
from students.planning.plan import Calendar, Learner, Returns, gentle_return


@dataclass(frozen=True)
class Terms:
    """What is given and until when: the choices of the Assign page.

    ``minutes`` overrides the learner's own minutes by weekday ("mon": 15).
    """

    letters: tuple[str, ...]
    goal: int
    starts: date
    until: date
    performance: bool = False
    start_goal: int | None = None
    minutes: dict | None = None


def cut(workup: Workup, terms: Terms) -> tuple[loops.Chunk, ...]:
    """The loops of the sections that are given."""
    return loops.build_chunks(
        workup.score,
        workup.sections,
        workup.ratings,
        goal=terms.goal,
        changes=[
            loops.ChangeInto(at.bar, at.before, at.after, at.change.cost, at.change.text)
            for at in workup.changes
        ],
        chosen=list(terms.letters),
        start_goal=terms.start_goal,
    )


def terms_of(assignment: Assignment) -> Terms:
    return Terms(
        tuple(assignment.letters),
        assignment.goal_tempo,
        assignment.starts_on,
        assignment.until,
        assignment.performance,
        assignment.start_goal,
    )


def learner_of(student: Student, ticks: list[Tick]) -> Learner:
    """The learner as planning sees one: level, pace from all ticks, and the choice to alternate."""
    everything = History(tuple(_tick_record(tick) for tick in ticks))
    return Learner(student.level, pace=pace_of(everything).pace, interleave=student.alternate)


def calendar_of(student: Student, terms: Terms, *, taken=None) -> Calendar:
    """The learner's days until the lesson: minutes by weekday, less what is taken, none while away."""
    by_weekday, taken = terms.minutes or student.minutes, taken or {}
    away = list(student.away.filter(last__gte=terms.starts))
    minutes, day = {}, terms.starts
    while day < terms.until:
        left = by_weekday.get(WEEKDAYS[day.weekday()], 0) - taken.get(day, 0)
        if left > 0 and not any(a.first <= day <= a.last for a in away):
            minutes[day] = left
        day += timedelta(days=1)
    calendar = Calendar(minutes, terms.until, terms.until if terms.performance else None)
    for illness in away:
        if illness.ill:
            calendar = gentle_return(calendar, illness.last + timedelta(days=1))
    return calendar


def records_of(student: Student) -> tuple[list[Tick], list[Mark]]:
    """All ticks that count and all marks of a learner, oldest first: three queries.

    A revision is one object however many ticks name it, for its bars are large.
    """
    ticks = list(student.ticks.standing().prefetch_related("revision"))
    return ticks, list(student.marks.all())


def history_of(assignment: Assignment, revision: Revision, ticks: list[Tick], marks: list[Mark]) -> History:
    """What happened on one arrangement, less the ticks whose bars were edited since."""
    mine = [tick for tick in ticks if tick.assignment_id == assignment.pk]
    kept = [tick for tick in mine if _unchanged(tick, revision)]
    return History(
        tuple(_tick_record(tick) for tick in kept),
        tuple(
            MarkRecord(mark.section, mark.day, mark.standing)
            for mark in marks
            if mark.assignment_id == assignment.pk
        ),
    )


def returns_due(student: Student) -> list[Returns]:
    """Secure sections of pieces that were put away, each as one play-through when due."""
    standings = (
        SectionStanding.objects.filter(student=student, due_on__isnull=False)
        .exclude(assignment__ended_on=None)
        .select_related("assignment__arrangement__piece")
    )
    chunks = {
        (chunk.assignment_id, chunk.key): chunk
        for chunk in Chunk.objects.filter(assignment__student=student, kind="section")
    }
    found = []
    for standing in standings:
        chunk = chunks.get((standing.assignment_id, f"section:{standing.section}"))
        if chunk is not None:
            label = f"{standing.assignment.arrangement.piece.title}, {standing.section}"
            beats = Fraction(chunk.data["beats"])
            goal = standing.assignment.goal_tempo
            found.append(Returns(f"{chunk.pk}", label, beats, goal, standing.due_on))
    return found


def _tick_record(tick: Tick) -> TickRecord:
    return TickRecord(
        tick.key,
        tick.section,
        tick.first,
        tick.last,
        tick.day,
        tick.tempo,
        tick.felt,
        tick.kind,
        str(tick.uuid),
        tick.minutes or None,
        tick.planned or None,
    )


def _unchanged(tick: Tick, revision: Revision) -> bool:
    """Whether the bars that were ticked are still played as they were."""
    if tick.revision_id == revision.pk:
        return True
    then, now = tick.revision.to_score(), revision.to_score()
    old = {bar.number: bar for bar in then.bars}
    new = {bar.number: bar for bar in now.bars}
    numbers = range(tick.first, tick.last + 1)
    return all(n in old and n in new and _same(old[n], new[n], then, now) for n in numbers)


def _same(a, b, then, now) -> bool:
    if then.tuning != now.tuning:
        return False
    pair = (replace(a, number=1), replace(b, number=2))
    return bar_classes(replace(now, bars=pair))[2] == 1


def minutes_taken(student: Student, terms: Terms, *, but: Assignment | None) -> dict[date, int]:
    tasks = student.tasks.filter(day__gte=terms.starts, day__lt=terms.until, assignment__ended_on=None)
    taken: dict[date, int] = defaultdict(int)
    for day, minutes in tasks.exclude(assignment=but).values_list("day", "minutes"):
        taken[day] += minutes
    return taken

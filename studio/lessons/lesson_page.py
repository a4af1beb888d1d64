"""The Lesson page: since last time, where sections stand, what to show, the next week."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

from pieces.engraving.options import NOTE
from pieces.engraving.strip import strips
from pieces.showing import bars_of, hard_spans
from pieces.workup import workup_of
from students import practice
from students.assign_page import PlannedLine, first_terms, next_lesson
from students.models import Assignment, Mark, Student
from students.planning.stuck import Stuck, pinpoint
from students.records import Terms, history_of, records_of
from students.showing import done_grid, plan_grid
from studio.lessons.models import Lesson
from studio.lessons.timetable import meeting_on

WEEK = 7


@dataclass(frozen=True)
class NextWeek:
    """The proposal for one running assignment."""

    assignment: Assignment
    proposal: practice.Proposal


def lesson_page(student: Student, today: date) -> dict:
    """Everything the page shows but the note's form."""
    lessons = Lesson.objects.filter(student=student)
    last = lessons.held().before(today).first()
    since = max(
        last.day + timedelta(days=1) if last else today - timedelta(days=WEEK), today - timedelta(days=14)
    )
    until = today + timedelta(days=1)
    tasks = list(
        student.tasks.filter(day__gte=since, day__lt=until).select_related(
            "chunk__assignment__arrangement__piece"
        )
    )
    ticks = list(student.ticks.standing().filter(day__gte=since, day__lt=until))
    running = list(student.assignments.running().with_music().prefetch_related("standings", "chunks"))
    week = [
        NextWeek(a, practice.propose(student, a.arrangement, next_terms(student, a, today))) for a in running
    ]
    done = done_grid(ticks, [t for t in tasks if t.day < today], since, until)
    return {
        "student": student,
        "today": today,
        "last": last,
        "promises": _promises(lessons, today),
        "since": since,
        "practised": len({tick.day for tick in ticks}),
        "days": (today - since).days,
        "minutes_done": sum(int(column.foot or 0) for column in done.columns),
        "minutes_planned": sum(task.minutes for task in tasks if task.day < today),
        "done": done,
        "stuck": [_stuck_shown(stuck, running) for stuck in _stuck(running, student)],
        "running": [{"assignment": a, "sections": list(_section_lines(a))} for a in running],
        "show": _to_show(week),
        "week": _week_grid(week, today),
        "next_until": next_lesson(student, today),
        "fits": all(next_week.proposal.plan.fit.fits for next_week in week),
        "fit_texts": [next_week.proposal.plan.fit.text for next_week in week],
        "meeting": meeting_on(student, today),
        "mark_names": [name for name, _label in Mark.STANDINGS],
    }


def _promises(lessons, today: date) -> list[dict]:
    """What was promised before today and is not kept yet, the last promise first."""
    return [
        {"lesson": lesson, "kept": lesson.kept_on is not None}
        for lesson in lessons.before(today).with_open_promise(today)
    ]


def next_terms(student: Student, assignment: Assignment, today: date) -> Terms:
    """What to give until the next lesson, from tomorrow on."""
    workup = workup_of(assignment.arrangement)
    terms = first_terms(student, assignment.arrangement, workup, today)
    return replace(
        terms, starts=today + timedelta(days=1), until=max(terms.until, next_lesson(student, today))
    )


def _section_lines(assignment: Assignment):
    marked = {}
    for mark in assignment.marks.all():
        marked[mark.section] = mark
    standings = {standing.section: standing for standing in assignment.standings.all()}
    for letter in assignment.letters:
        standing = standings.get(letter)
        yield {
            "letter": letter,
            "standing": standing.standing if standing else "new",
            "why": " ".join(standing.why) if standing else "",
            "mark": marked.get(letter),
        }


def _stuck(running, student: Student) -> list[tuple[Assignment, Stuck]]:
    ticks, marks = records_of(student)
    found = []
    for assignment in running:
        history = history_of(assignment, assignment.revision, ticks, marks)
        found += [(assignment, stuck) for stuck in pinpoint(history)]
    return found[:2]


def _stuck_shown(found, running) -> dict:
    assignment, stuck = found
    workup = workup_of(assignment.arrangement, assignment.revision)
    bars = bars_of(workup, range(stuck.first, stuck.last + 1))[:2]
    drawn = strips(
        bars,
        workup.score.tuning,
        NOTE.but(width=300, per_system=1, closed=False, names=False, syllables=workup.syllables),
        hard=hard_spans(workup, least=0),
    )
    rating = workup.ratings.get(stuck.first)
    return {
        "strip": "".join(drawn),
        "stuck": stuck,
        "because": rating.reasons[0] if rating and rating.reasons else "",
    }


def _to_show(week: list[NextWeek]) -> dict | None:
    """The first new loop of the coming week, to be shown in the lesson."""
    for next_week in week:
        tasks = [
            task for day in next_week.proposal.plan.days for task in day.tasks if task.new and task.first
        ]
        loop = next((task for task in tasks if task.kind in ("bar", "pair")), None)
        if loop:
            workup = next_week.proposal.workup
            bars = bars_of(workup, range(loop.first, loop.last + 1))
            options = NOTE.but(width=280 * len(bars), per_system=len(bars), syllables=workup.syllables)
            drawn = strips(bars, workup.score.tuning, options, hard=hard_spans(workup))
            return {"label": loop.label, "why": loop.why, "strip": "".join(drawn), "bars": len(bars)}
    return None


def _week_grid(week: list[NextWeek], today: date):
    if not week:
        return None
    lines = [
        PlannedLine(day.date, task.label, task.minutes, task.new)
        for next_week in week
        for day in next_week.proposal.plan.days
        for task in day.tasks
    ]
    first = min(next_week.proposal.terms.starts for next_week in week)
    end = max(next_week.proposal.terms.until for next_week in week)
    return plan_grid(lines, first, min(end, first + timedelta(days=14)))

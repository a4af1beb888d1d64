"""The teacher's page of one learner."""

from datetime import date, timedelta

from students.lesson_days import next_lesson
from students.map_drawing import draw_map
from students.map_page import learner_map
from students.models import Student, Tick
from students.planning.history import History
from students.planning.pace import pace_of
from students.progress_page import progress_page
from students.records import records_of, tick_record
from students.repertoire import repertoire
from students.showing import done_grid, plan_grid, stored_lines

BACK = 7


def learner_page(student: Student, today: date) -> dict:
    """Everything the Learner page shows."""
    since = today - timedelta(days=BACK)
    until = next_lesson(student, today)
    tasks = list(student.tasks.filter(day__gte=since).select_related("chunk__assignment__arrangement__piece"))
    ticks = student.ticks.standing().filter(day__gte=since, day__lte=today)
    planned = [task for task in tasks if task.day >= today]
    assignments = list(
        student.assignments.running()
        .select_related("arrangement__piece")
        .prefetch_related("standings", "chunks")
    )
    records = records_of(student)
    shown = learner_map(student, today, *records)
    return {
        **progress_page(student, today),
        "assignments": assignments,
        "done": done_grid(ticks, [t for t in tasks if t.day <= today], since, today + timedelta(days=1)),
        "plan": plan_grid(stored_lines(planned), today, until),
        "until": until,
        "pace": pace_text(records[0]),
        "map": shown,
        "map_drawing": draw_map(shown),
        "repertoire": repertoire(student, today),
        "card": student.cards.in_force().filter(holder="learner").first(),
        "guardian": student.cards.in_force().filter(holder="guardian").first(),
        "away": student.away.filter(last__gte=today),
        "slots": student.slots.all(),
    }


def pace_text(ticks: list[Tick]) -> str:
    """How long loops took the learner against the estimate, and what the plan makes of it."""
    pace = pace_of(History(tuple(tick_record(tick) for tick in ticks)))
    if not pace.loops:
        return pace.text
    return f"{pace.text} The plan's minutes follow."

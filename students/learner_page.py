"""The teacher's page of one learner."""

from datetime import date, timedelta

from students.lesson_days import next_lesson
from students.models import Student
from students.progress_page import progress_page
from students.showing import done_grid, plan_grid

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
    return {
        **progress_page(student, today),
        "assignments": assignments,
        "done": done_grid(ticks, [t for t in tasks if t.day <= today], since, today + timedelta(days=1)),
        "plan": plan_grid(planned, today, until),
        "until": until,
        "card": student.cards.in_force().filter(holder="learner").first(),
        "guardian": student.cards.in_force().filter(holder="guardian").first(),
        "away": student.away.filter(last__gte=today),
        "slots": student.slots.all(),
    }

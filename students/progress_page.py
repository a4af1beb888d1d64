"""What a learner can play and what is coming, for the learner and the guardian."""

from collections import defaultdict
from datetime import date, timedelta

from students.lesson_days import next_lesson
from students.models import Student

WEEKS = 8
LATELY = 4

# A standing as one would say it to somebody who does not teach.
PLAINLY = {
    "new": "not begun yet",
    "learning": "being learned",
    "at tempo": "goes at the tempo asked for; once more on another day and it is secure",
    "secure": "secure: it goes clean at the tempo asked for",
    "due again": "secure; it is time to play it through once more",
}


def pieces_page(student: Student, today: date) -> dict:
    """The learner's pieces: those being learned, and the repertoire."""
    assignments = student.assignments.select_related("arrangement__piece").prefetch_related("standings")
    lines = [
        {
            "piece": assignment.arrangement.piece,
            "arrangement": assignment.arrangement,
            "goal": assignment.goal_tempo,
            "until": assignment.until,
            "running": assignment.ended_on is None,
            "standings": sorted(assignment.standings.all(), key=lambda s: s.section),
            "plainly": [
                {"letter": s.section, "standing": s.standing, "said": PLAINLY[s.standing]}
                for s in sorted(assignment.standings.all(), key=lambda s: s.section)
            ],
        }
        for assignment in assignments
    ]
    return {
        "student": student,
        "learning": [line for line in lines if line["running"]],
        "kept": [line for line in lines if not line["running"]],
    }


def progress_page(student: Student, today: date) -> dict:
    """Days and minutes by week, and where each section stands, in plain words."""
    first = today - timedelta(days=today.weekday() + 7 * (WEEKS - 1))
    planned = {
        (a, k, d): m
        for a, k, d, m in student.tasks.filter(day__gte=first, day__lte=today).values_list(
            "chunk__assignment_id", "chunk__key", "day", "minutes"
        )
    }
    weeks: dict[date, dict] = defaultdict(lambda: {"days": set(), "minutes": 0})
    for tick in student.ticks.standing().since(first):
        week = weeks[tick.day - timedelta(days=tick.day.weekday())]
        week["days"].add(tick.day)
        week["minutes"] += tick.minutes or planned.get((tick.assignment_id, tick.key, tick.day), 0)
    rows = [
        {
            "week": first + timedelta(weeks=n),
            "days": len(weeks[first + timedelta(weeks=n)]["days"]),
            "minutes": weeks[first + timedelta(weeks=n)]["minutes"],
        }
        for n in range(WEEKS)
    ]
    lately = rows[-LATELY:]
    return {
        **pieces_page(student, today),
        "weeks": rows,
        "today": today,
        "lately": {
            "weeks": LATELY,
            **{name: sum(row[name] for row in lately) for name in ("days", "minutes")},
        },
        "lesson": _coming_lesson(student, today),
        "said": student.lessons.filter(state="held").exclude(note="").first(),
    }


def _coming_lesson(student: Student, today: date) -> date | None:
    """The day of the next lesson, today's among them; None where none is set."""
    has_any = student.slots.exists() or student.lessons.filter(state="planned", day__gte=today).exists()
    return next_lesson(student, today - timedelta(days=2)) if has_any else None

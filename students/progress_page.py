"""What a learner can play and what is coming, for the learner and the guardian."""

from collections import defaultdict
from datetime import date, timedelta

from students.models import Student

WEEKS = 8


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
    return {**pieces_page(student, today), "weeks": rows, "today": today}

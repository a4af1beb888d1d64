"""When a learner's next lesson is, and what follows where lessons move or pass."""

from datetime import date, timedelta

from students.models import Assignment, Student

WEEK = 7
LOOK_AHEAD = 12 * WEEK  # days of regular lessons that may be called off in a row


def next_lesson(student: Student, starts: date) -> date:
    """The learner's next lesson after ``starts``, or a week on where there is none.

    Regular lessons that are called off or moved do not count; those planned on a day of
    their own do. A lesson on the very next day leaves no day to practise, so the one
    after it counts.
    """
    first = starts + timedelta(days=2)
    changed = dict(student.lessons.filter(day__gte=first).exclude(state="held").values_list("day", "state"))
    weekdays = {slot.weekday for slot in student.slots.all()}
    days = [day for day, state in changed.items() if state == "planned"]
    days += [
        day
        for day in (first + timedelta(days=n) for n in range(LOOK_AHEAD))
        if day.weekday() in weekdays and day not in changed
    ]
    return min(days, default=starts + timedelta(days=WEEK))


def run_on(assignment: Assignment, today: date) -> bool:
    """Have an assignment whose lesson passed without a new one run on to the next lesson.

    What is not learned yet then stays in the plan instead of vanishing with its date.
    A performance that is over does not come again: the teacher decides what follows.
    """
    if assignment.performance or assignment.until >= today:
        return False
    assignment.meant_for = assignment.meant_for or assignment.until
    assignment.until = next_lesson(assignment.student, today)
    return True


def follow_moved_lesson(student: Student, was: int | None, today: date) -> None:
    """After the regular lesson moved from weekday ``was``, move the dates that stood on it.

    Each running assignment for a lesson goes to the new weekday of the same week, or of
    the next week where that day is past. ``was`` is None where there was no regular lesson.
    """
    slot = student.slots.first()
    if slot is None or slot.weekday == was:
        return
    for assignment in student.assignments.running().filter(performance=False, until__gte=today):
        if was is not None and assignment.until.weekday() != was:
            continue
        moved = assignment.until + timedelta(days=slot.weekday - assignment.until.weekday())
        while moved <= today:
            moved += timedelta(days=WEEK)
        assignment.until, assignment.stale = moved, True
        assignment.save(update_fields=["until", "stale"])

"""Eight weeks of one learner, day by day, through the same transactions as in any studio.

Each day of practice is planned, played and ticked before the next is planned, and each
week the teacher marks, notes and gives the next, so that plans, standings and pace are
what the studio's own rules make of those ticks. Before the last week only every
third day is planned anew, to be quick; the days between go by the plan they had.
"""

from collections import Counter
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from random import Random
from uuid import NAMESPACE_URL, uuid5
from zoneinfo import ZoneInfo

from pieces.models import Arrangement
from students import practice
from students.lesson_days import next_lesson
from students.models import Assignment, Student
from students.planning.stuck import Stuck, pinpoint
from students.records import Terms, history_of, records_of
from studio.demo.notes import Week, note_of, promise_of
from studio.demo.people import Given, Person
from studio.demo.playing import Loop, play
from studio.lessons.lesson_page import next_terms
from studio.lessons.models import Lesson

AFTER_SCHOOL = time(16, 45)
WEEK = timedelta(days=7)
DAILY = 8  # days before today from which each is planned anew
# What a section that stands so is marked in a lesson, and how often.
HEARD = {"learning": ("learning", 0.1), "at tempo": ("secure", 0.5), "due again": ("secure", 0.8)}


def live_through(student: Student, person: Person, arrangements: dict[str, Arrangement], today: date):
    """Live the days from when ``person`` joined until yesterday."""
    chance = Random(person.name)
    first = today - timedelta(days=person.joined)
    for ago in range(person.joined, 0, -1):
        day = today - timedelta(days=ago)
        if day == first or ((person.lesson + ago) % 7 == 0 and day > first):
            hold_lesson(student, person, arrangements, day, today, chance)
        elif _is_practised(person, ago, chance):
            if ago <= DAILY or ago % 3 == 0:
                practice.keep_planned(student, day)
            practise(student, person, day, chance)


def _is_practised(person: Person, ago: int, chance: Random) -> bool:
    silent = person.habits.silent
    return ago == silent or (ago > silent and chance.random() < person.habits.regular)


def practise(student: Student, person: Person, day: date, chance: Random):
    """Play and tick what is planned for ``day``."""
    tasks = student.tasks.filter(day=day).select_related("chunk__assignment__arrangement__piece")
    if not person.habits.returns:
        tasks = tasks.filter(chunk__assignment__ended_on=None)
    at = datetime.combine(day, AFTER_SCHOOL, ZoneInfo(student.studio.time_zone))
    for task in tasks:
        chunk = task.chunk
        loop = Loop(
            chunk.assignment.arrangement.piece.title,
            tuple(chunk.data["bars"]),
            chunk.kind,
            chunk.data["rating"],
            task.from_tempo,
            task.to_tempo,
            task.minutes,
            task.new,
        )
        outcome = play(loop, person.habits, chance)
        at += timedelta(minutes=outcome.minutes)
        practice.record_tick(
            student,
            task,
            uuid=uuid5(NAMESPACE_URL, f"demo/{person.name}/{day}/{chunk.pk}"),
            day=day,
            tempo=outcome.tempo,
            felt=outcome.felt,
            at=at,
            minutes=outcome.minutes,
        )


def hold_lesson(student: Student, person: Person, arrangements, day: date, today: date, chance: Random):
    """The weekly lesson: marks, a note, what is put away, and the next week."""
    practice.keep_planned(student, day)
    running = list(student.assignments.running().with_music())
    for assignment in running:
        _mark(assignment, day, chance)
    practice.keep_planned(student, day)  # again, where anything was marked
    week = _week(student, running, day)
    Lesson.objects.create(
        studio_id=student.studio_id,
        student=student,
        teacher=student.teacher,
        day=day,
        starts=time.fromisoformat(person.at),
        note=note_of(week, chance),
        promised=promise_of(week, chance),
        kept_on=day + WEEK if day + WEEK < today else None,
    )
    given = {each.piece: each for each in person.given}
    for assignment in running:
        piece = given[assignment.arrangement.piece.title]
        if piece.put_away is not None and day >= today - timedelta(days=piece.put_away):
            _put_away(assignment, day)
        else:
            practice.assign(student, assignment.arrangement, next_terms(student, assignment, day))
    for piece in person.given:
        arrangement = arrangements[piece.piece]
        begun = student.assignments.filter(arrangement=arrangement).exists()
        if not begun and day >= today - timedelta(days=piece.days):
            practice.assign(student, arrangement, _first_terms(student, piece, arrangement, day, today))


def _put_away(assignment: Assignment, day: date):
    """Hear all of a piece a last time and put it away as learned."""
    for letter in assignment.letters:
        practice.mark_section(assignment, letter, "secure", day=day, by=assignment.student.teacher)
    practice.keep_planned(assignment.student, day)
    practice.end_assignment(assignment, day)


def _first_terms(student: Student, given: Given, arrangement: Arrangement, day: date, today: date) -> Terms:
    starts = day + timedelta(days=1)
    terms = Terms(given.letters, given.goal or arrangement.goal_tempo, starts, next_lesson(student, starts))
    if given.performs_in is None:
        return terms
    return replace(terms, until=today + timedelta(days=given.performs_in), performance=True)


def _mark(assignment: Assignment, day: date, chance: Random):
    """Now and then the teacher hears a section and says where it stands."""
    for standing in assignment.standings.all():
        heard, often = HEARD.get(standing.standing, ("", 0))
        if chance.random() < often:
            practice.mark_section(assignment, standing.section, heard, day=day, by=assignment.student.teacher)


def _week(student: Student, running: list[Assignment], day: date) -> Week:
    """What the teacher sees of the days since the last lesson."""
    ticks = student.ticks.standing().filter(day__gte=day - timedelta(days=7), day__lt=day)
    standings = Counter(student.standings.filter(assignment__in=running).values_list("standing", flat=True))
    return Week(
        days=len({tick.day for tick in ticks}),
        pieces=tuple(assignment.arrangement.piece.title for assignment in running),
        stuck=_stuck(student, running),
        all_secure=bool(standings) and set(standings) <= {"secure", "due again"},
    )


def _stuck(student: Student, running: list[Assignment]) -> Stuck | None:
    ticks, marks = records_of(student)
    found = [
        stuck
        for assignment in running
        for stuck in pinpoint(history_of(assignment, assignment.revision, ticks, marks))
    ]
    return found[0] if found else None

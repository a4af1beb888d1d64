"""What the Overview knows of every learner: the same few queries, however many there are."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from pieces.models import Arrangement
from pieces.music.findings import Workup
from pieces.workups import workups_of
from students.models import Assignment, PlannedTask, SignInCard, Student, Tick
from students.planning.attention import Facts
from students.planning.history import History, TickRecord
from students.planning.stuck import pinpoint
from students.standings import SECURE
from studio.accounts.models import Studio
from studio.lessons.timetable import Meeting, meetings

LOOK_BACK = 28  # days of ticks that are looked at
# What is read of a tick: plain rows, for there are thousands in a large studio.
TICK = ("student_id", "assignment_id", "key", "kind", "section", "first", "last", "day", "tempo", "felt")
LOOK_AHEAD = 8  # days of lessons


@dataclass(frozen=True)
class Look:
    """The rows of a studio on ``today``, by the number of the learner.

    ``letters`` are the section letters of arrangements that are done, ``due`` the learned
    piece that has been due the longest, with its day.
    """

    studio: Studio
    today: date
    students: list[Student]
    ticks: dict[int, list[tuple]]  # rows of TICK
    tasks: dict[int, list[tuple]]  # rows of student and day
    assignments: dict[int, list[Assignment]]
    cards: dict[int, list[SignInCard]]
    lessons: list[Meeting]
    letters: dict[int, list[str]]
    due: dict[int, tuple[str, date]]


def look_at(studio: Studio) -> Look:
    """Read what is needed of the whole studio."""
    today = studio.today
    since = today - timedelta(days=LOOK_BACK)
    running = Assignment.objects.of(studio).running().select_related("arrangement__piece")
    assignments = _by_student(running.prefetch_related("standings"))
    done = {a.arrangement_id for rows in assignments.values() for a in rows if _is_done(a)}
    return Look(
        studio=studio,
        today=today,
        students=list(Student.objects.of(studio).learning()),
        ticks=_by_student(
            Tick.objects.of(studio)
            .standing()
            .filter(day__gte=since, day__lte=today)
            .values_list(*TICK, named=True)
        ),
        tasks=_by_student(
            PlannedTask.objects.of(studio)
            .filter(day__gte=since, day__lt=today)
            .order_by("day")
            .values_list("student_id", "day", named=True)
            .distinct()
        ),
        assignments=assignments,
        cards=_by_student(SignInCard.objects.of(studio).in_force().filter(holder="learner")),
        lessons=meetings(studio, today, today + timedelta(days=LOOK_AHEAD)),
        letters={
            pk: list(dict.fromkeys(section.letter for section in workup.sections))
            for pk, (_arrangement, workup) in worked_up(studio, done).items()
        },
        due=_longest_due(studio, today),
    )


def all_facts(look: Look) -> list[Facts]:
    """What ``attention`` asks of each learner."""
    lessons: dict[int, date] = {}
    for meeting in look.lessons:
        if meeting.takes_place:
            lessons.setdefault(meeting.student.pk, meeting.day)
    return [_facts(look, student, lessons.get(student.pk)) for student in look.students]


def worked_up(studio: Studio, wanted: set[int]) -> dict[int, tuple[Arrangement, Workup]]:
    """Some arrangements with their workups: two queries, however many."""
    rows = Arrangement.objects.of(studio).filter(pk__in=wanted).select_related("piece", "current", "studio")
    found = {row.pk: row for row in rows}
    return {pk: (found[pk], workup) for pk, workup in workups_of(found.values()).items()}


def _facts(look: Look, student: Student, lesson: date | None) -> Facts:
    today, ticks, assignments = look.today, look.ticks[student.pk], look.assignments[student.pk]
    running = {assignment.pk for assignment in assignments}
    stuck = pinpoint(History(tuple(_record(tick) for tick in ticks if tick.assignment_id in running)))
    last = max((tick.day for tick in ticks), default=None)
    planned = {task.day for task in look.tasks[student.pk]}
    coming = sorted((a for a in assignments if a.performance and a.until >= today), key=lambda a: a.until)
    tight = _tight(assignments, coming[:1])
    over = [a for a in assignments if a.performance and a.until < today]
    passed = [a for a in assignments if a.meant_for]
    done = [a for a in assignments if _is_done(a)]
    more = [(a, letter) for a in done if (letter := _next_letter(a, look.letters))]
    cards = look.cards[student.pk]
    long_due, due = look.due.get(student.pk, ("", None))
    return Facts(
        student=student.pk,
        name=student.name,
        today=today,
        piece=assignments[0].arrangement.piece.title if assignments else "",
        lesson=lesson,
        performance=coming[0].until if coming else None,
        short=max(1, tight[0].fit["needed"] - tight[0].fit["available"]) if tight else 0,
        needed=tight[0].fit["needed"] if tight else 0,
        available=tight[0].fit["available"] if tight else 0,
        why_short=tight[0].fit["text"] if tight else "",
        last_tick=last,
        missed=len([day for day in planned if last is None or day > last]),
        stuck=tuple(stuck),
        done=bool(assignments) and len(done) == len(assignments),
        assigned=bool(assignments),
        has_card=bool(cards),
        card_used=max((card.last_used.date() for card in cards if card.last_used), default=None),
        then=more[0][1] if more else "",
        unready=_not_at_tempo(coming[0]) if coming else (),
        passed=passed[0].meant_for if passed else None,
        performed=over[0].until if over else None,
        long_due=long_due,
        due=due,
        of_short=_number_of(tight),
        of_performance=_number_of(coming),
        of_stuck=int(stuck[0].key.partition("/")[0]) if stuck else None,
        of_done=more[0][0].pk if more else None,
        of_passed=_number_of(passed),
        of_performed=_number_of(over),
    )


def _by_student(rows) -> dict[int, list]:
    grouped: dict[int, list] = defaultdict(list)
    for row in rows:
        grouped[row.student_id].append(row)
    return grouped


def _record(tick) -> TickRecord:
    """A tick with the number of its assignment in the key, as loops of several pieces are looked at together."""
    key = f"{tick.assignment_id}/{tick.key}"
    return TickRecord(key, tick.section, tick.first, tick.last, tick.day, tick.tempo, tick.felt, tick.kind)


def _tight(assignments: list[Assignment], first: list[Assignment]) -> list[Assignment]:
    """Those whose plan does not fit, what comes to a performance first."""
    in_order = [*first, *(a for a in assignments if a not in first)]
    return [a for a in in_order if a.fit and not a.fit.get("fits", True)]


def _number_of(assignments: list[Assignment]) -> int | None:
    return assignments[0].pk if assignments else None


def _is_done(assignment: Assignment) -> bool:
    standings = [row.standing for row in assignment.standings.all()]
    return bool(standings) and all(standing in SECURE for standing in standings)


def _not_at_tempo(assignment: Assignment) -> tuple[str, ...]:
    rows = sorted(assignment.standings.all(), key=lambda row: row.section)
    return tuple(row.section for row in rows if row.standing in ("new", "learning"))


def _next_letter(assignment: Assignment, letters: dict[int, list[str]]) -> str:
    """The first section of the piece that was not given yet, "" where all were."""
    following = [x for x in letters.get(assignment.arrangement_id, ()) if x not in assignment.letters]
    return following[0] if following else ""


def _longest_due(studio: Studio, today: date) -> dict[int, tuple[str, date]]:
    """By learner, the learned piece that has been due the longest, and since when: one query."""
    rows = (
        Assignment.objects.of(studio)
        .in_repertoire()
        .filter(standings__due_on__lt=today)
        .order_by("-standings__due_on")
        .values_list("student", "arrangement__piece__title", "standings__due_on")
    )
    return {student: (title, due) for student, title, due in rows}

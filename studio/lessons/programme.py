"""A performance: its programme with times and what is to be retuned, and how ready each piece is."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from django.db import transaction
from django.db.models import Max

from pieces.models import Arrangement
from pieces.music.duration import minutes_and_seconds, play_time
from pieces.music.findings import Workup
from pieces.music.retuning import before_playing
from pieces.music.tuning import Tuning
from pieces.workups import workups_of
from students.groups import fits
from students.models import Assignment, PlannedTask, Student
from students.planning.performing import Backward, backward_from
from students.planning.readiness import NOT_GIVEN, Readiness, Section, readiness
from studio.lessons.models import Performance, ProgrammeItem


@dataclass(frozen=True)
class Player:
    """Somebody who plays a piece: with what, how ready, and what to do to the instrument before."""

    student: Student
    arrangement: Arrangement
    readiness: Readiness
    dates: Backward
    running: bool
    retune: str


@dataclass(frozen=True)
class Line:
    """A piece of the programme. ``starts`` and ``lasts`` are minutes and seconds of music alone."""

    item: ProgrammeItem
    starts: str
    lasts: str
    tempo: int
    players: tuple[Player, ...]


def programme_page(performance: Performance, today: date) -> dict:
    """Everything the page of a performance shows but its forms."""
    items = list(
        performance.programme.select_related(
            "arrangement__piece", "arrangement__current", "arrangement__studio", "student", "group"
        ).prefetch_related("group__members")
    )
    given = _given(items)
    last_new = _last_new(given.values(), today)
    lines, at = [], Fraction(0)
    played: dict[int, tuple[int, Tuning]] = {}
    workups = workups_of([item.arrangement for item in items] + [a.arrangement for a in given.values()])
    for number, item in enumerate(items):
        assignments = {s.pk: given.get((s.pk, item.arrangement.piece_id)) for s in item.players}
        tempo = max((a.goal_tempo for a in assignments.values() if a), default=item.arrangement.goal_tempo)
        lasts = play_time(workups[item.arrangement_id].score, tempo)
        players = tuple(
            _player(
                performance, item, student, assignments[student.pk], workups, last_new, today, played, number
            )
            for student in item.players
        )
        lines.append(Line(item, minutes_and_seconds(at), minutes_and_seconds(lasts), tempo, players))
        at += lasts
    return {
        "performance": performance,
        "today": today,
        "days": (performance.day - today).days,
        "lines": lines,
        "music": minutes_and_seconds(at),
        "late": [line for line in lines if any(p.readiness.state == "late" for p in line.players)],
    }


@transaction.atomic
def add_item(
    performance: Performance, arrangement: Arrangement, *, student=None, group=None
) -> ProgrammeItem:
    """Put a piece at the end of the programme."""
    last = performance.programme.aggregate(last=Max("position"))["last"]
    return ProgrammeItem.objects.create(
        studio_id=performance.studio_id,
        performance=performance,
        position=0 if last is None else last + 1,
        arrangement=arrangement,
        student=student,
        group=group,
    )


@transaction.atomic
def move_item(performance: Performance, item: ProgrammeItem, by: int) -> None:
    """Move a piece so many places on in the programme, or back; it stays within."""
    items = [each for each in performance.programme.all() if each.pk != item.pk]
    place = [each.pk for each in performance.programme.all()].index(item.pk)
    items.insert(max(0, min(len(items), place + by)), item)
    for position, each in enumerate(items):
        each.position = position
    ProgrammeItem.objects.bulk_update(items, ["position"])


def _given(items: Iterable[ProgrammeItem]) -> dict[tuple[int, int], Assignment]:
    """By learner and piece, what is running, or else what was put away: two queries."""
    players = {student.pk for item in items for student in item.players}
    pieces = {item.arrangement.piece_id for item in items}
    rows = (
        Assignment.objects.filter(student__in=players, arrangement__piece__in=pieces)
        .select_related("arrangement__piece", "arrangement__current", "arrangement__studio")
        .prefetch_related("standings")
    )
    found: dict[tuple[int, int], Assignment] = {}
    # What runs comes last and wins; of what was put away, the latest.
    for row in sorted(rows, key=lambda row: (row.ended_on is None, row.ended_on or row.starts_on)):
        found[row.student_id, row.arrangement.piece_id] = row
    return found


def _last_new(assignments: Iterable[Assignment], today: date) -> dict[int, date]:
    """The last day on which something new is planned, by assignment: one query."""
    tasks = PlannedTask.objects.filter(assignment__in=[a.pk for a in assignments], new=True, day__gte=today)
    return dict(tasks.values_list("assignment").annotate(last=Max("day")))


def _player(
    performance: Performance,
    item: ProgrammeItem,
    student: Student,
    assignment: Assignment | None,
    workups: dict[int, Workup],
    last_new: dict[int, date],
    today: date,
    played: dict[int, tuple[int, Tuning]],
    number: int,
) -> Player:
    arrangement = assignment.arrangement if assignment else item.arrangement
    tuning = workups[arrangement.pk].score.tuning
    retune = _retune(played.get(student.pk), tuning, number)
    played[student.pk] = number, tuning
    dates = backward_from(performance.day, assignment.starts_on if assignment else today)
    if assignment is None:
        return Player(student, arrangement, _not_given(arrangement, student), dates, False, retune)
    running = assignment.ended_on is None
    ready = readiness(
        _sections(assignment, workups[arrangement.pk]),
        dates,
        today,
        last_new=last_new.get(assignment.pk) if running else None,
        fit=assignment.fit.get("text", "") if running and not assignment.fit.get("fits", True) else "",
    )
    if running and not (assignment.performance and assignment.until == performance.day):
        other = f"It is planned to {assignment.until.day} {assignment.until:%B}, not for this day."
        ready = replace(ready, reasons=(*ready.reasons, other))
    return Player(student, arrangement, ready, dates, running, retune)


def _not_given(arrangement: Arrangement, student: Student) -> Readiness:
    if fits(arrangement, student):
        return NOT_GIVEN
    written = arrangement.current.tuning.name
    return replace(NOT_GIVEN, reasons=(f"This is for {written}; {student.name} plays {student.instrument}.",))


def _retune(last: tuple[int, Tuning] | None, tuning: Tuning, number: int) -> str:
    """What to do to the instrument, and how long there is for it."""
    if last is None:
        return ""
    before, was = last
    words = before_playing(was, tuning)
    if not words:
        return ""
    between = number - before - 1
    if between == 0:
        return f"{words} There is no piece in between."
    return f"{words} {between} piece{'' if between == 1 else 's'} in between."


def _sections(assignment: Assignment, workup: Workup) -> list[Section]:
    """Every section of the piece as it stands, those that were not given with no standing."""
    rows = {row.section: row for row in assignment.standings.all()}
    letters = dict.fromkeys(section.letter for section in workup.sections)
    return [
        Section(x, rows[x].standing, " ".join(rows[x].why)) if x in rows else Section(x, "") for x in letters
    ]

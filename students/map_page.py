"""The learner's map: sections by weeks, from ticks and marks.

What is drawn is a plain value: ``students.map_drawing`` makes the picture of it, and
the page the table.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import F

from students.models import Mark, Student, Tick
from students.planning.history import History, TickRecord
from students.records import history_of
from students.showing import FELT_WORDS
from students.standings import standings_of, with_loops

WEEK = 7
MOST_WEEKS, FEWEST_WEEKS = 10, 4
FELT_ORDER = ("broke", "slips", "clean")


@dataclass(frozen=True)
class Cell:
    """A section in one week.

    ``standing`` is that at the end of the week, None before the piece was given.
    ``tempo`` is the best that was reached on the section as a whole, or else on the
    slowest of its loops, and ``felt`` how it went; None in a week without. ``mark`` is
    the teacher's last mark of that week.
    """

    standing: str | None
    tempo: int | None = None
    felt: str = ""
    whole: bool = False
    mark: str = ""

    @property
    def felt_words(self) -> str:
        return FELT_WORDS.get(self.felt, "")


@dataclass(frozen=True)
class SectionRow:
    letter: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class PieceRows:
    """The sections of one piece that were given, with their goal tempo."""

    title: str
    goal: int
    sections: tuple[SectionRow, ...]


@dataclass(frozen=True)
class LearnerMap:
    """``weeks`` are Mondays; ``days`` and ``minutes`` are those practised in each."""

    weeks: tuple[date, ...]
    days: tuple[int, ...]
    minutes: tuple[int, ...]
    pieces: tuple[PieceRows, ...]


def learner_map(student: Student, today: date, ticks: list[Tick], marks: list[Mark]) -> LearnerMap:
    """The map up to the week of ``today``: at most ten weeks, and whatever was worked on in them.

    ``ticks`` and ``marks`` are those of ``students.records.records_of``.
    """
    weeks = _weeks([record.day for record in (*ticks, *marks)], today)
    rows = []
    given = student.assignments.select_related("revision", "arrangement__piece")
    running_first = F("ended_on").desc(nulls_first=True)
    for assignment, loops in with_loops(given.order_by(running_first, "starts_on", "pk")):
        history = history_of(assignment, assignment.revision, ticks, marks)
        if assignment.ended_on is None or _touched_since(history, weeks[0]):
            standings = [_standings(assignment, loops, history, week, today) for week in weeks]
            sections = [
                SectionRow(letter, _cells(letter, weeks, history, standings)) for letter in assignment.letters
            ]
            title = assignment.arrangement.piece.title
            rows.append(PieceRows(title, assignment.goal_tempo, tuple(sections)))
    days, minutes = _practice(student, ticks, weeks)
    return LearnerMap(weeks, days, minutes, tuple(rows))


def _weeks(days: list[date], today: date) -> tuple[date, ...]:
    this = _monday(today)
    first = min([_monday(day) for day in days if day <= today], default=this)
    count = min(MOST_WEEKS, max(FEWEST_WEEKS, (this - first).days // WEEK + 1))
    return tuple(this - timedelta(days=WEEK * n) for n in reversed(range(count)))


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _touched_since(history: History, day: date) -> bool:
    return any(record.day >= day for record in (*history.ticks, *history.marks))


def _standings(assignment, loops, history: History, monday: date, today: date) -> dict[str, str]:
    """The standing of each section at the end of a week; none in a week before the piece was given."""
    end = min(monday + timedelta(days=WEEK - 1), today)
    known = history.until(end)
    if assignment.starts_on > end and not known.ticks and not known.marks:
        return {}
    return {letter: s.name for letter, s in standings_of(assignment, loops, known, end).items()}


def _cells(letter: str, weeks: Iterable[date], history: History, standings: list[dict]) -> tuple[Cell, ...]:
    ticks = [tick for tick in history.ticks if tick.section == letter]
    marks = [mark for mark in history.marks if mark.section == letter]
    return tuple(
        _cell(
            at_end.get(letter),
            [tick for tick in ticks if _monday(tick.day) == week],
            [mark.standing for mark in marks if _monday(mark.day) == week],
        )
        for week, at_end in zip(weeks, standings, strict=True)
    )


def _cell(standing: str | None, ticks: list[TickRecord], marks: list[str]) -> Cell:
    mark = marks[-1] if marks else ""
    if not ticks:
        return Cell(standing, mark=mark)
    whole = [tick for tick in ticks if tick.kind == "section"]
    reached = _best(whole) if whole else min(map(_best, _by_key(ticks)), key=lambda tick: tick.tempo)
    return Cell(standing, reached.tempo, reached.felt, bool(whole), mark)


def _by_key(ticks: list[TickRecord]) -> list[list[TickRecord]]:
    loops: dict[str, list[TickRecord]] = defaultdict(list)
    for tick in ticks:
        loops[tick.key].append(tick)
    return list(loops.values())


def _best(ticks: list[TickRecord]) -> TickRecord:
    """A clean pass before a faster one with slips."""
    return max(ticks, key=lambda tick: (FELT_ORDER.index(tick.felt), tick.tempo))


def _practice(student: Student, ticks: list[Tick], weeks: tuple[date, ...]):
    """Days and minutes of each week; where a device did not say how long, what was planned counts."""
    planned = {
        (assignment, key, day): minutes
        for assignment, key, day, minutes in student.tasks.filter(day__gte=weeks[0]).values_list(
            "chunk__assignment_id", "chunk__key", "day", "minutes"
        )
    }
    days: dict[date, set] = defaultdict(set)
    minutes: dict[date, int] = defaultdict(int)
    for tick in ticks:
        week = _monday(tick.day)
        days[week].add(tick.day)
        minutes[week] += tick.minutes or planned.get((tick.assignment_id, tick.key, tick.day), 0)
    return tuple(len(days[week]) for week in weeks), tuple(minutes[week] for week in weeks)

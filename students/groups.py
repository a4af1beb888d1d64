"""Groups: the same piece for many in one go, each with own days, level and arrangement."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction

from pieces.models import Arrangement, Piece
from pieces.music.tuning import TUNINGS
from pieces.workup import workup_of
from students import practice
from students.lesson_days import next_lesson
from students.models import Assignment, Group, Student, Tick
from students.planning.together import Member, Place, places
from students.records import Terms

LEARNED = ("at tempo", "secure", "due again")


@dataclass(frozen=True)
class Common:
    """What is the same for everybody. ``until`` is None for each one's own next lesson."""

    letters: tuple[str, ...]
    goal: int
    until: date | None
    performance: bool = False


@dataclass(frozen=True)
class Share:
    """What one member is given: ``proposal`` is None where that is nothing, and ``said`` says why."""

    student: Student
    arrangement: Arrangement | None
    proposal: practice.Proposal | None
    said: str


@dataclass(frozen=True)
class GroupPiece:
    """A piece that the group was given together, and who is how far."""

    piece: Piece
    until: date
    lines: tuple["Line", ...]


@dataclass(frozen=True)
class Line:
    """One member's place within the group."""

    student: Student
    place: Place


def fits(arrangement: Arrangement, student: Student) -> bool:
    """Whether an arrangement is on the strings of the learner's instrument, with or without a capo."""
    return arrangement.current.tuning.open_pitches == TUNINGS[student.instrument].open_pitches


def arrangements_for(
    student: Student, chosen: Arrangement, others: Iterable[Arrangement]
) -> list[Arrangement]:
    """The arrangements of a piece that the learner can play: the chosen one first, if it is among them."""
    return [each for each in (chosen, *others) if fits(each, student)]


def share(student: Student, arrangement: Arrangement, common: Common, today: date) -> Share:
    """What ``common`` comes to for one learner, with the plan that it would give."""
    known = list(dict.fromkeys(section.letter for section in workup_of(arrangement).sections))
    letters = tuple(letter for letter in known if letter in common.letters)
    if not letters:
        return Share(student, arrangement, None, f"{arrangement.name} has no such section.")
    starts = today + timedelta(days=1) if student.ticks.filter(day=today).exists() else today
    until = common.until or next_lesson(student, starts)
    if until <= starts:
        return Share(student, arrangement, None, "The date leaves no day to practise.")
    terms = Terms(letters, common.goal, starts, until, common.performance)
    proposal = practice.propose(student, arrangement, terms)
    return Share(student, arrangement, proposal, proposal.plan.fit.text)


@transaction.atomic
def give_to_all(group: Group, shares: Iterable[Share], today: date) -> list[Assignment]:
    """Give every share that is something; what a member did before stays done."""
    return [
        practice.assign(each.student, each.arrangement, each.proposal.terms, today=today, group=group)
        for each in shares
        if each.proposal is not None
    ]


def pieces_of(group: Group) -> list[GroupPiece]:
    """The pieces that run for the group, the latest first, with who is ahead: four queries."""
    rows = (
        group.assignments.running()
        .select_related("arrangement__piece", "student")
        .prefetch_related("standings", "chunks")
    )
    by_piece: dict[int, list[Assignment]] = {}
    for row in rows:
        by_piece.setdefault(row.arrangement.piece_id, []).append(row)
    ticked: dict[int, list[Tick]] = {}
    for tick in Tick.objects.standing().filter(assignment__in=rows):
        ticked.setdefault(tick.assignment_id, []).append(tick)
    return [
        GroupPiece(
            of_piece[0].arrangement.piece,
            max(row.until for row in of_piece),
            tuple(_lines(of_piece, ticked)),
        )
        for of_piece in by_piece.values()
    ]


def _lines(of_piece: list[Assignment], ticked: Mapping[int, list[Tick]]) -> Iterator[Line]:
    students = {row.pk: row.student for row in of_piece}
    for place in places([_member(row, ticked.get(row.pk, [])) for row in of_piece]):
        yield Line(students[place.member.number], place)


def _member(assignment: Assignment, ticks: list[Tick]) -> Member:
    at_tempo = {row.section for row in assignment.standings.all() if row.standing in LEARNED}
    ticked = {tick.key for tick in ticks}
    loops = list(assignment.chunks.all())
    met = [loop for loop in loops if loop.key in ticked or loop.data.get("section") in at_tempo]
    return Member(
        name=assignment.student.name,
        met=len(met),
        loops=len(loops),
        at_tempo=len(at_tempo.intersection(assignment.letters)),
        sections=len(assignment.letters),
        last=max((tick.day for tick in ticks), default=None),
        number=assignment.pk,
    )

"""What can be printed for a learner and of a piece: each by name, with who makes it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from pieces.handouts import chords_handout, outline_handout, piece_handout
from pieces.models import Arrangement
from pieces.print_options import PrintOptions
from students import practice
from students.handouts import week_pages
from students.lesson_sheets import drills_pages, lesson_outline_pages
from students.models import Student
from students.report import report_pages


@dataclass(frozen=True)
class StudentSheet:
    """A handout for one learner: ``pages`` gives the ways to set it on a day."""

    name: str
    label: str
    says: str
    pages: Callable[[Student, date, PrintOptions], list[str]]
    shows_music: bool = True


@dataclass(frozen=True)
class PieceSheet:
    """A handout of one arrangement. ``shows_music``: its rights are asked about before it is printed."""

    name: str
    label: str
    says: str
    make: Callable[[Arrangement, PrintOptions], bytes]
    shows_music: bool = True


STUDENT_SHEETS = {
    sheet.name: sheet
    for sheet in (
        StudentSheet("week", "The week", "bars, shapes, boxes for each day, tempo ladder", week_pages),
        StudentSheet("outline", "Lesson outline", "what is new, in words", lesson_outline_pages),
        StudentSheet("drills", "Drills", "changes, rhythms and hard bars by themselves", drills_pages),
        StudentSheet(
            "report", "Progress report", "one page in plain words for the guardian", report_pages, False
        ),
    )
}
PIECE_SHEETS = {
    sheet.name: sheet
    for sheet in (
        PieceSheet("piece", "The piece", "every bar with its count, and the shapes", piece_handout),
        PieceSheet("outline", "Lesson outline", "section by section, in words", outline_handout),
        PieceSheet("chords", "Chord sheet", "shapes, fingers and changes", chords_handout, False),
    )
}


def pages_for(sheet: str, student: Student, day: date, options: PrintOptions) -> list[str]:
    """One learner's handout, drawn for their hand, after the plan was brought up to date.

    Raises KeyError on a sheet that is not there.
    """
    practice.keep_planned(student, day)
    return STUDENT_SHEETS[sheet].pages(student, day, options.for_hand(left_handed=student.left_handed))


def unsettled_titles(students: list[Student]) -> list[str]:
    """Titles of pieces given to these learners whose rights are not settled."""
    given = Arrangement.objects.filter(assignments__student__in=students, assignments__ended_on=None)
    pieces = {arrangement.piece for arrangement in given.select_related("piece")}
    return sorted(piece.title for piece in pieces if not piece.free_to_print)

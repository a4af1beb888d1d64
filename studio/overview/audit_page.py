"""What happened in the studio, in words: numbers get the names that they have now."""

from datetime import datetime
from zoneinfo import ZoneInfo

from pieces.models import Piece
from students.models import Student
from studio.accounts.models import AuditRow, Studio

SHOWN = 200
HOLDERS = {"learner": "", "guardian": "the family of "}


def audit_rows(studio: Studio) -> list[dict]:
    """The latest rows, newest first: ``at`` on the studio's clock, ``who`` and ``what`` in words."""
    rows = list(AuditRow.objects.of(studio).select_related("by")[:SHOWN])
    students = _names(Student.objects.of(studio), [row.learner for row in rows], "name")
    pieces = _names(Piece.objects.of(studio), [row.piece for row in rows], "title")
    return [
        {
            "at": _on_the_clock(row.at, studio),
            "who": _who(row, students),
            "what": _what(row, students, pieces),
        }
        for row in rows
    ]


def _on_the_clock(at: datetime, studio: Studio) -> datetime:
    """Without a time zone, for a template would turn it back to the server's."""
    return at.astimezone(ZoneInfo(studio.time_zone)).replace(tzinfo=None)


def _who(row: AuditRow, students: dict[int, str]) -> str:
    if row.by:
        return row.by.name
    return _holder(row, students) if row.what == "signed in" and row.learner else "At the studio’s machine"


def _what(row: AuditRow, students: dict[int, str], pieces: dict[int, str]) -> str:
    match row.what:
        case "card":
            return f"made a card for {_holder(row, students)}"
        case "erased":
            return f"erased learner {row.learner}"
        case "rights":
            return f"decided the rights of {pieces.get(row.piece, f'piece {row.piece}')}: {row.more}"
        case "joined":
            return "joined the studio"
        case _:
            return "signed in"


def _holder(row: AuditRow, students: dict[int, str]) -> str:
    name = students.get(row.learner, f"learner {row.learner}, erased since")
    return f"{HOLDERS.get(row.more, '')}{name}"


def _names(rows, numbers: list[int | None], field: str) -> dict[int, str]:
    return dict(rows.filter(pk__in={number for number in numbers if number}).values_list("pk", field))

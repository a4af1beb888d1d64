"""Why a loop is played on a day: one sentence each."""

from datetime import date

from pieces.music.words import counted
from students.planning.history import TickRecord
from students.planning.loops import Chunk
from students.planning.stuck import Stuck
from students.planning.visits import Visit
from students.planning.words import ago


def new(chunk: Chunk) -> str:
    """Why a loop is met for the first time."""
    return f"New: {chunk.why or chunk.label[:1].lower() + chunk.label[1:]}."


def alone_first(chunk: Chunk, held: Stuck) -> str:
    """Why a bar, or its drill, is taken by itself before the loops that are stuck at it come back."""
    name = chunk.label[:1].lower() + chunk.label[1:]
    first = "first" if chunk.kind == "drill" else "alone first"
    return f"Stuck at {held.tempo} for {counted(held.days, 'day')}: {name} {first}."


def comes_back(day: date, before: date) -> str:
    """Why a loop returns on ``day`` that was played on ``before``.

    >>> comes_back(date(2026, 3, 18), date(2026, 3, 17)), comes_back(date(2026, 3, 20), date(2026, 3, 17))
    ('Comes back after one night.', 'Comes back after three nights.')
    """
    return f"Comes back after {counted((day - before).days, 'night')}."


def after(chunk: Chunk, last: TickRecord, visit: Visit, day: date, due: date, *, long_away: bool) -> str:
    """Why a loop returns on ``day``, given how it went when it was last played."""
    when = ago(last.day, day)
    if last.felt == "broke":
        at = (
            f"so {visit.from_tempo} again"
            if visit.from_tempo < last.tempo
            else f"so once more at {last.tempo}"
        )
        return f"{chunk.label} broke down at {last.tempo} {when}, {at}."
    if long_away:
        return f"Not played for {counted((day - last.day).days, 'night')}, so begin at {visit.from_tempo}."
    if last.felt == "slips":
        return f"Some slips at {last.tempo} {when}, so {visit.from_tempo} again."
    if visit.from_tempo > last.tempo:
        return f"Its parts go faster by now, so try it at {visit.from_tempo}."
    if due < day and (day - due).days > 1:
        return f"Was due {ago(due, day)}, so it comes now."
    return comes_back(day, last.day)


def onward(chunk: Chunk, visit: Visit) -> str:
    """Why a loop is played once more than it must be."""
    if visit.from_tempo >= chunk.goal:
        return f"At {chunk.goal} on one more day makes it secure."
    return f"On from {visit.from_tempo}, on the way to {chunk.goal}."


def before_the_lesson(day: date, end: date, *, performance: bool) -> str:
    """Why a section is played whole on the last day."""
    date_named = "performance" if performance else "lesson"
    if (end - day).days == 1:
        return f"Whole, the day before the {date_named}."
    return f"Whole, on the last day of practice before the {date_named}."


KEEP = "Secure. Once through keeps it."


def due_again(due: date, day: date) -> str:
    """Why something secure is played through.

    >>> due_again(date(2026, 3, 16), date(2026, 3, 17))
    'Secure, and due again since yesterday: once through is enough.'
    """
    since = "today" if due >= day else f"since {ago(due, day)}"
    return f"Secure, and due again {since}: once through is enough."

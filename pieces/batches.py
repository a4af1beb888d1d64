"""Many files at once: read one by one in short steps, reported each, kept in one go.

The state stands in the database, so that a closed page, a second tab or a restart
loses nothing; nothing becomes a piece before the teacher confirms all that were read.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import NamedTuple

from django.db import transaction
from django.db.models import Q

from pieces.bringing import Brought, look_at
from pieces.models import Batch, BroughtFile, Piece
from pieces.music.score import UnreadableScore
from pieces.music.stored import score_from, to_data
from pieces.workup import add_piece

LARGEST = 4 * 2**20  # of any kind; the guard knows a smaller cap for most
MOST_FILES = 200
MOST_BYTES = 64 * 2**20
GIVEN_UP = timedelta(seconds=60)  # a reading that is not done by then broke off
MOST_TRIES = 2
FORGOTTEN = timedelta(days=30)


class Answer(NamedTuple):
    """What the teacher answered about a file: which part, and by how much it is moved.

    ``every_part``: each part becomes a file of its own, as the tunes of a collection do.
    """

    part: int | None = None
    semitones: int = 0
    every_part: bool = False


@transaction.atomic
def open_batch(studio, files, *, by, at: datetime) -> Batch:
    """Keep uploaded files to be read. What is too large to be music is refused at once."""
    Batch.objects.of(studio).filter(at__lt=at - FORGOTTEN).delete()
    batch = Batch.objects.create(studio=studio, by=by, at=at)
    BroughtFile.objects.bulk_create(_received(batch, file) for file in files)
    return batch


def read_next(batch: Batch, now: datetime) -> BroughtFile | None:
    """Read one file that waits, and keep what was found. None where none waits.

    Nothing is parsed inside a transaction; a file is claimed before and reported after.
    """
    file = _claimed(batch, now)
    if file is None:
        return None
    state, report = _read(file, batch.tuning)
    mine = BroughtFile.objects.filter(pk=file.pk, state=BroughtFile.READING, since=file.since)
    mine.update(state=state, report=report, since=None)
    file.state, file.report = state, report
    return file


def set_on(batch: Batch, tuning: str) -> None:
    """Set every file that can be read on another instrument: they are read again."""
    with transaction.atomic():
        batch.tuning = tuning
        batch.save(update_fields=["tuning"])
        batch.files.filter(state__in=(BroughtFile.READ, BroughtFile.ASKS)).update(
            state=BroughtFile.WAITING, semitones=0, report={}
        )


@transaction.atomic
def answer(batch: Batch, answers: Mapping[int, Answer]) -> None:
    """Read again the files that asked something, by their number, with the answers given."""
    for file in batch.files.select_for_update().filter(pk__in=answers, state=BroughtFile.ASKS):
        given = answers[file.pk]
        parts = file.report.get("parts", [])
        file.state, file.report, file.semitones = BroughtFile.WAITING, {}, given.semitones
        if not given.every_part:
            file.part = given.part
            file.save()
            continue
        batch.files.filter(pk=file.pk).delete()
        for part in range(min(len(parts), MOST_FILES)):
            file.pk, file.part = None, part
            file.save(force_insert=True)


@transaction.atomic
def keep_all(batch: Batch, *, rights: str, by) -> list[Piece]:
    """Make a piece of every file that was read: of all of them, or of none."""
    made = []
    for file in batch.files.select_for_update().filter(state=BroughtFile.READ).order_by("pk"):
        score = score_from(file.report["score"])
        arrangement = add_piece(
            batch.studio, score, by=by, arrangement=file.report["arrangement"], rights=rights
        )
        made.append(arrangement.piece)
        report = {name: value for name, value in file.report.items() if name != "score"}
        BroughtFile.objects.filter(pk=file.pk).update(
            state=BroughtFile.KEPT, piece=arrangement.piece, report=report, data=b""
        )
    return made


@transaction.atomic
def leave_rest(batch: Batch) -> None:
    """Forget the files that did not become pieces."""
    batch.files.exclude(state=BroughtFile.KEPT).delete()
    if not batch.files.exists():
        batch.delete()


def _received(batch: Batch, file) -> BroughtFile:
    row = BroughtFile(studio_id=batch.studio_id, batch=batch, name=file.name[:160], by=batch.by, at=batch.at)
    if file.size > LARGEST:
        row.data, row.state = b"", BroughtFile.REFUSED
        row.report = {"problems": [f"This is larger than any piece of music: {file.size // 1024} KB."]}
    else:
        row.data = file.read()
    return row


@transaction.atomic
def _claimed(batch: Batch, now: datetime) -> BroughtFile | None:
    """The next file, marked as being read; one whose reading broke off twice is refused."""
    broke_off = Q(state=BroughtFile.READING, since__lt=now - GIVEN_UP)
    waiting = batch.files.select_for_update().filter(Q(state=BroughtFile.WAITING) | broke_off)
    for file in waiting.order_by("pk"):
        tries = file.report.get("tries", 0) + 1
        if tries > MOST_TRIES:
            file.state = BroughtFile.REFUSED
            file.report = {"problems": ["Reading it broke off twice. Save it again, or bring it alone."]}
            file.save(update_fields=["state", "report"])
            continue
        file.state, file.since, file.report = BroughtFile.READING, now, {"tries": tries}
        file.save(update_fields=["state", "since", "report"])
        return file
    return None


def _read(file: BroughtFile, tuning: str) -> tuple[str, dict]:
    try:
        brought = look_at(file, part=file.part, tuning=tuning or None, semitones=file.semitones)
    except UnreadableScore as unreadable:
        return BroughtFile.REFUSED, {"problems": [str(problem) for problem in unreadable.problems]}
    report = _report(file, brought)
    if not brought.ready:
        return BroughtFile.ASKS, report
    kept = {
        "arrangement": "melody alone" if brought.melody_alone else "as brought",
        "score": to_data(brought.titled(brought.title[:120])),
    }
    return BroughtFile.READ, {**report, **kept}


def _report(file: BroughtFile, brought: Brought) -> dict:
    return {
        "title": brought.title[:120],
        "bars": len(brought.score.bars),
        "meter": str(brought.score.meter),
        "tuning": brought.tuning.name,
        "problems": [str(problem) for problem in brought.problems],
        "asks": brought.asks or ("" if brought.score.bars else "There are no bars in it."),
        "parts": brought.parts if file.part is None else [],
        "keys": [{"semitones": key.semitones, "text": key.text} for key in brought.keys],
    }

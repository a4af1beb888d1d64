"""A learner's data, out and away: export of everything, and erasure that outlives a restore.

What belongs to a learner is found by walking the models, so that a table added
tomorrow is neither forgotten in an export nor left behind by an erasure.
"""

import csv
import io
import json
import shutil
import zipfile
from collections import deque
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import connection, models, transaction

from students.models import Student
from studio.accounts.audit import note
from studio.handouts.models import PrintJob

# Never in an export: they would let whoever holds it sign in.
SECRET_FIELDS = frozenset({"digest"})
TOMBSTONES = "erased.jsonl"


def paths_to_student() -> dict[type[models.Model], str]:
    """Every model with rows of a learner, and the lookup that leads from it to the learner."""
    found, waiting = {Student: ""}, deque([Student])
    while waiting:
        owner = waiting.popleft()
        for model in apps.get_models(include_auto_created=True):
            if model in found:
                continue
            for field in model._meta.get_fields():
                if isinstance(field, models.ForeignKey) and field.related_model is owner and _owned(field):
                    found[model] = "__".join(filter(None, (field.name, found[owner])))
                    waiting.append(model)
                    break
    return found


def _owned(field) -> bool:
    """Whether the row goes when what it points to goes: then it is the learner's own."""
    return field.remote_field.on_delete is models.CASCADE


def rows_of(student: Student) -> dict[str, list[dict]]:
    """All rows of a learner by model, as plain data without secrets."""
    data = {}
    for model, path in paths_to_student().items():
        lookup = {path: student.pk} if path else {"pk": student.pk}
        fields = [f.attname for f in model._meta.concrete_fields if f.attname not in SECRET_FIELDS]
        data[model._meta.label] = list(model._default_manager.filter(**lookup).order_by("pk").values(*fields))
    return data


def export_student(student: Student, folder: Path, *, papers=()) -> Path:
    """Write a zip with everything of a learner: JSON, a CSV a table, and ``papers`` (name, bytes)."""
    folder.mkdir(parents=True, exist_ok=True)
    target = folder / f"learner-{student.pk}.zip"
    data = rows_of(student)
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(
            "learner.json", json.dumps(data, cls=DjangoJSONEncoder, ensure_ascii=False, indent=1)
        )
        for label, rows in data.items():
            if rows:
                archive.writestr(f"{label}.csv", _csv(rows))
        for name, content in papers:
            archive.writestr(name, content)
    return target


def erase_student(student: Student) -> int:
    """Erase a learner and everything of theirs; return how many rows went.

    A tombstone outside the database says so, for the day an old backup is restored.
    It holds a number and a digest, no name.
    """
    stone = {"student": student.pk, "mark": _mark(student), "at": datetime.now(UTC).isoformat()}
    with (settings.DATA_DIR / TOMBSTONES).open("a") as file:
        file.write(json.dumps(stone) + "\n")
    note(student.studio_id, "erased", learner=student.pk)
    return _erase(student)


def erase_again() -> int:
    """Erase whoever was erased before and came back with a restored backup; return how many learners."""
    path = settings.DATA_DIR / TOMBSTONES
    stones = [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []
    marks = {stone["student"]: stone["mark"] for stone in stones}
    back = [
        student for student in Student.objects.filter(pk__in=marks) if _mark(student) == marks[student.pk]
    ]
    for student in back:
        _erase(student)
    return len(back)


def copy_tombstones(folder: Path) -> None:
    """Put the tombstones beside the backups, for a restore on another machine."""
    path = settings.DATA_DIR / TOMBSTONES
    if path.exists():
        shutil.copy(path, folder)


def bring_tombstones(folder: Path) -> None:
    """Add the tombstones that lie beside a backup to those of this machine."""
    brought, own = folder / TOMBSTONES, settings.DATA_DIR / TOMBSTONES
    if not brought.exists():
        return
    known = own.read_text().splitlines() if own.exists() else []
    new = [line for line in brought.read_text().splitlines() if line not in known]
    with own.open("a") as file:
        file.writelines(f"{line}\n" for line in new)


def _erase(student: Student) -> int:
    with transaction.atomic():
        # Leaves first, so that no foreign key stands in the way.
        gone = _forget_prints(student)
        for model, path in reversed(paths_to_student().items()):
            lookup = {path: student.pk} if path else {"pk": student.pk}
            keys = list(model._default_manager.filter(**lookup).values_list("pk", flat=True))
            gone += len(keys)
            model._base_manager.filter(pk__in=keys)._raw_delete("default")
    if connection.vendor == "sqlite" and not connection.in_atomic_block:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return gone


def _forget_prints(student: Student) -> int:
    """Drop the kept PDFs that hold pages of a learner."""
    jobs = PrintJob.objects.filter(studio_id=student.studio_id).only("pk", "students")
    with_pages = [job.pk for job in jobs if student.pk in job.students]
    return PrintJob.objects.filter(pk__in=with_pages).delete()[0]


def _mark(student: Student) -> str:
    """Tells this learner from another who got the same number in another database."""
    return sha256(f"{student.studio_id}/{student.pk}/{student.joined_on}/{student.name}".encode()).hexdigest()


def _csv(rows: list[dict]) -> str:
    text = io.StringIO()
    writer = csv.DictWriter(text, fieldnames=list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()

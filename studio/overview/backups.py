"""Backups that are consistent while the studio is in use, and the way back."""

import json
import shutil
import sqlite3
import subprocess
from contextlib import closing
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from hashlib import file_digest
from pathlib import Path

from django.conf import settings
from django.db import connection, connections

LAST = "last-backup.json"
KEPT = 30
NO_BACKUP = "No backup yet. On the studio’s machine: python3 manage.py backup, and a folder on another disk."


class BackupFailed(RuntimeError):
    """The backup is not good, or the file is not one; the message says why."""


@dataclass(frozen=True)
class Backup:
    """A good backup: its file, when it was made, its size in bytes and SHA-256."""

    file: str
    at: str
    size: int
    sha256: str


def back_up(folder: Path, *, keep: int = KEPT) -> Backup:
    """Write a backup into ``folder``, check it, forget all but the newest ``keep``."""
    folder.mkdir(parents=True, exist_ok=True)
    now = datetime.now(UTC)
    name = f"fourbar-{now:%Y%m%d-%H%M%S-%f}"
    target = folder / f"{name}.sqlite3" if connection.vendor == "sqlite" else folder / f"{name}.pgdump"
    unfinished = target.with_suffix(".unfinished")
    _write(unfinished)
    unfinished.rename(target)
    backup = Backup(str(target.resolve()), now.isoformat(), target.stat().st_size, _sum(target))
    _sum_file(target).write_text(f"{backup.sha256}  {target.name}\n")
    (settings.DATA_DIR / LAST).write_text(json.dumps(asdict(backup)))
    for old in sorted(folder.glob(f"fourbar-*{target.suffix}"))[:-keep]:
        old.unlink()
        _sum_file(old).unlink(missing_ok=True)
    return backup


def restore(file: Path) -> None:
    """Put a backup in the place of the studio's database. Stop the studio first.

    Raises ``BackupFailed`` where the file is damaged; then nothing was changed.
    """
    if not file.exists():
        raise BackupFailed(f"There is no {file}.")
    written = _sum_file(file)
    if written.exists() and written.read_text().split()[0] != _sum(file):
        raise BackupFailed(f"{file.name} is not what was written: its checksum differs.")
    if connection.vendor == "sqlite":
        _check_sqlite(file)
        path = Path(settings.DATABASES["default"]["NAME"])
        connections.close_all()
        with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(path)) as into:
            source.backup(into)
    else:
        _run("pg_restore", "--clean", "--if-exists", "--no-owner", "-d", _postgres(), str(file))


def last_backup() -> Backup | None:
    """The last good backup that this studio made."""
    try:
        return Backup(**json.loads((settings.DATA_DIR / LAST).read_text()))
    except (FileNotFoundError, ValueError, TypeError):
        return None


def said_of_backup(backup: Backup | None, now: datetime) -> str:
    """When the last good backup was made, for an owner whose wall clock shows ``now``.

    >>> now = datetime(2026, 3, 5, 9, 30, tzinfo=UTC)
    >>> said_of_backup(Backup("", "2026-03-05T03:10:00+00:00", 1, ""), now)
    'The last good backup was made today at 03:10.'
    >>> said_of_backup(Backup("", "2026-03-04T23:10:00+00:00", 1, ""), now)
    'The last good backup was made yesterday at 23:10.'
    >>> said_of_backup(Backup("", "2026-03-01T03:10:00+00:00", 1, ""), now)
    'The last good backup is 4 days old. See that the nightly backup runs.'
    """
    if backup is None:
        return NO_BACKUP
    made = datetime.fromisoformat(backup.at).astimezone(now.tzinfo)
    days = (now.date() - made.date()).days
    if days > 1:
        return f"The last good backup is {days} days old. See that the nightly backup runs."
    return f"The last good backup was made {'yesterday' if days else 'today'} at {made:%H:%M}."


def _write(target: Path) -> None:
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        with closing(sqlite3.connect(target)) as into:
            connection.connection.backup(into)
        _check_sqlite(target)
    else:
        _run("pg_dump", "-Fc", "-f", str(target), _postgres())


def _check_sqlite(file: Path) -> None:
    try:
        with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as opened:
            said = opened.execute("PRAGMA integrity_check").fetchone()[0]
            opened.execute("SELECT count(*) FROM students_tick").fetchone()
    except sqlite3.DatabaseError as error:
        raise BackupFailed(f"{file.name} is not a backup of a studio: {error}.") from error
    if said != "ok":
        raise BackupFailed(f"{file.name} is damaged: {said}.")


def _run(command: str, *arguments: str) -> None:
    if shutil.which(command) is None:
        raise BackupFailed(f"{command} is not on this machine; install postgresql-client.")
    result = subprocess.run([command, *arguments], capture_output=True, text=True)
    if result.returncode:
        raise BackupFailed(f"{command} failed: {result.stderr.strip()}")


def _postgres() -> str:
    d = connection.settings_dict
    return (
        f"postgresql://{d['USER']}:{d['PASSWORD']}@{d['HOST'] or 'localhost'}:{d['PORT'] or 5432}/{d['NAME']}"
    )


def _sum(file: Path) -> str:
    with file.open("rb") as opened:
        return file_digest(opened, "sha256").hexdigest()


def _sum_file(file: Path) -> Path:
    return file.with_name(file.name + ".sha256")

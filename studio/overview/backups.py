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
    path = settings.DATA_DIR / LAST
    return Backup(**json.loads(path.read_text())) if path.exists() else None


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

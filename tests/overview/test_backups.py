"""Backups: made while the studio is in use, checked, and restored elsewhere."""

import sqlite3
from pathlib import Path

import pytest
from django.db import connection

from students.models import Student
from studio.overview.backups import BackupFailed, back_up, last_backup, restore

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.sqlite]


@pytest.fixture
def folder(settings, tmp_path) -> Path:
    settings.DATA_DIR = tmp_path
    settings.DATABASES["default"]["NAME"] = connection.settings_dict["NAME"]
    return tmp_path / "backups"


def test_a_backup_holds_what_was_written_a_moment_ago(cast, folder):
    backup = back_up(folder)
    with sqlite3.connect(backup.file) as opened:
        names = {row[0] for row in opened.execute("SELECT name FROM students_student")}
    assert {"Juno Pell", "Otto Brand"} <= names
    assert last_backup() == backup


def test_only_the_newest_are_kept_each_with_its_checksum(cast, folder):
    made = [back_up(folder, keep=2).file for _ in range(4)]
    assert sorted(str(path) for path in folder.glob("*.sqlite3")) == sorted(made[-2:])
    assert len(list(folder.glob("*.sha256"))) == 2


def test_a_restore_brings_back_what_was_lost(cast, folder):
    backup = back_up(folder)
    Student.objects.filter(name="Juno Pell").update(name="Somebody Else")
    restore(Path(backup.file))
    assert Student.objects.filter(name="Juno Pell").exists()


def test_a_damaged_backup_is_refused_and_nothing_is_changed(cast, folder):
    backup = Path(back_up(folder).file)
    data = bytearray(backup.read_bytes())
    data[len(data) // 2] ^= 0xFF
    backup.write_bytes(data)
    with pytest.raises(BackupFailed, match="checksum differs"):
        restore(backup)
    assert Student.objects.filter(name="Juno Pell").exists()


def test_a_file_that_is_no_backup_is_refused(cast, folder, tmp_path):
    other = tmp_path / "photo.sqlite3"
    other.write_bytes(b"not a database at all")
    with pytest.raises(BackupFailed, match="not a backup"):
        restore(other)

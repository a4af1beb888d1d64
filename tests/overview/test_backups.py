"""Backups: made while the studio is in use, checked, and restored elsewhere."""

import sqlite3
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.core.management import call_command
from django.db import connection
from django.urls import reverse

from students.models import Student
from studio.overview.backups import Backup, BackupFailed, back_up, last_backup, restore, said_of_backup
from studio.overview.rights import TOMBSTONES, erase_student

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


def test_the_owner_is_told_of_the_last_good_backup_and_nobody_else(cast, folder, sign_in):
    address = reverse("overview")
    assert "No backup yet" in sign_in(cast.owner).get(address).content.decode()
    back_up(folder)
    assert "The last good backup was made today at" in sign_in(cast.owner).get(address).content.decode()
    assert "backup" not in sign_in(cast.teacher).get(address).content.decode()


@pytest.mark.parametrize(
    ("made", "said"),
    [
        ("2026-03-05T01:30:00+00:00", "made today at 14:30"),  # the studio's clock, not the server's
        ("2026-03-04T10:00:00+00:00", "made yesterday at 23:00"),
        ("2026-03-01T10:00:00+00:00", "is 4 days old. See that the nightly backup runs"),
    ],
)
def test_the_age_of_a_backup_is_said_in_words(made, said):
    now = datetime(2026, 3, 5, 22, 0, tzinfo=ZoneInfo("Pacific/Auckland"))
    assert said in said_of_backup(Backup("", made, 1, ""), now)


def test_a_torn_note_of_the_last_backup_counts_as_none(folder, settings):
    (settings.DATA_DIR / "last-backup.json").write_text('{"file": "half')
    assert last_backup() is None


def test_whoever_was_erased_stays_so_where_only_the_folder_of_backups_came_along(cast, folder, settings):
    call_command("backup", str(folder), verbosity=0)
    first = min(folder.glob("*.sqlite3"))
    erase_student(cast.learner)
    call_command("backup", str(folder), verbosity=0)
    (settings.DATA_DIR / TOMBSTONES).unlink()  # the machine was lost, the backups' disk was not
    call_command("restore", str(first), verbosity=0)
    assert not Student.objects.filter(name="Juno Pell").exists()
    assert Student.objects.filter(name="Otto Brand").exists()

"""Export of everything of a learner, and erasure that leaves nothing behind."""

import json
import zipfile
from datetime import timedelta
from uuid import uuid4

import pytest
from django.apps import apps
from django.db import connection
from django.utils import timezone

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import cards, practice
from students.models import Student, Tick
from students.records import Terms
from studio.handouts.models import PrintJob
from studio.overview.rights import erase_again, erase_student, export_student, paths_to_student, rows_of
from tests.tune import TUNE

pytestmark = pytest.mark.django_db

# Tables that hold nothing of a learner, by name: a new table must be put here or lead to a learner.
NOT_A_LEARNERS = {
    "accounts.AuditRow",  # numbers of learners without their names, kept when they are erased
    "accounts.Invitation",
    "accounts.Membership",
    "accounts.SignedIn",
    "accounts.Studio",
    "accounts.User",
    "auth.Group",
    "auth.Group_permissions",
    "auth.Permission",
    "axes.AccessAttempt",
    "axes.AccessAttemptExpiration",
    "axes.AccessFailureLog",
    "axes.AccessLog",
    "contenttypes.ContentType",
    "handouts.PrintJob",  # a PDF for several; erased with each of them, see below
    "lessons.Performance",
    "pieces.Arrangement",
    "pieces.Batch",
    "pieces.BroughtFile",
    "pieces.NeededTime",  # minutes a bar took, without names; made anew each day
    "pieces.Override",
    "pieces.Piece",
    "pieces.Revision",
    "sessions.Session",  # a session of a card names the card, and ends with it
    "students.FailedSignIn",
    "students.Group",
}


@pytest.fixture
def busy(cast, settings, tmp_path):
    """Two learners with work, ticks, marks and cards."""
    settings.DATA_DIR = tmp_path
    arrangement = add_piece(cast.studio, read_tab(TUNE), rights="own")
    today = cast.studio.today
    for student in (cast.learner, cast.other_learner):
        assignment = practice.assign(
            student, arrangement, Terms(("A",), 72, today, today + timedelta(days=7))
        )
        task = student.tasks.select_related("chunk__assignment").first()
        practice.record_tick(
            student, task, uuid=uuid4(), day=task.day, tempo=60, felt="clean", at=timezone.now()
        )
        practice.mark_section(assignment, "A", "learning", day=today)
        card, _token = cards.new_card(student)
        cards.new_code(card)
    return cast


def test_every_table_with_a_learner_is_exported_or_left_out_by_name():
    everything = {model._meta.label for model in apps.get_models(include_auto_created=True)}
    found = {model._meta.label for model in paths_to_student()}
    assert everything - found - NOT_A_LEARNERS == set()
    assert found & NOT_A_LEARNERS == set()


def test_an_export_holds_the_learners_rows_and_no_secret(busy, tmp_path):
    path = export_student(busy.learner, tmp_path / "out", papers=[("week.pdf", b"%PDF-")])
    with zipfile.ZipFile(path) as archive:
        data = json.loads(archive.read("learner.json"))
        assert {"learner.json", "students.Tick.csv", "week.pdf"} <= set(archive.namelist())
    assert data["students.Student"][0]["name"] == "Juno Pell"
    assert len(data["students.Tick"]) == 1
    assert "digest" not in json.dumps(data)
    assert "Otto Brand" not in json.dumps(data)


def test_erasing_a_learner_leaves_nothing_of_theirs_and_all_of_the_others(busy):
    others = {label: len(rows) for label, rows in rows_of(busy.other_learner).items()}
    student = Student.objects.get(pk=busy.learner.pk)
    assert erase_student(student) > 5
    assert not any(rows_of(student).values())
    assert {label: len(rows) for label, rows in rows_of(busy.other_learner).items()} == others
    connection.check_constraints()


def test_a_kept_pdf_goes_with_each_learner_who_is_in_it(busy):
    for students in ([busy.learner.pk, busy.other_learner.pk], [busy.other_learner.pk]):
        PrintJob.objects.create(
            studio=busy.studio,
            what="week",
            title="Weeks",
            day=busy.studio.today,
            students=students,
            by=busy.owner,
        )
    erase_student(Student.objects.get(pk=busy.learner.pk))
    assert [job.students for job in PrintJob.objects.all()] == [[busy.other_learner.pk]]


def test_a_learner_who_comes_back_with_a_backup_is_erased_again(busy):
    student = Student.objects.get(pk=busy.learner.pk)
    kept = Student.objects.filter(pk=student.pk).values().get()
    erase_student(student)
    Student.objects.create(**kept)
    assert erase_again() == 1
    assert not Student.objects.filter(pk=student.pk).exists()
    assert Tick.objects.count() == 1


def test_a_tombstone_holds_no_name(busy, tmp_path):
    erase_student(Student.objects.get(pk=busy.learner.pk))
    assert "Juno" not in (tmp_path / "erased.jsonl").read_text()

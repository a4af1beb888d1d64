"""Printing for several learners as one file, in the background, with its state in the database.

The pages are made learner by learner, then set by two processes (``pieces.press``).
Nothing is drawn or set inside a transaction; each step is one short write.
"""

import logging
from datetime import timedelta
from threading import Thread

from django.db import connection
from django.utils import timezone

from pieces.press import PressStopped, print_together
from pieces.print_options import PrintOptions
from students.models import Group, Student
from studio.accounts.models import Studio, User
from studio.handouts.models import PrintJob
from studio.handouts.sheets import STUDENT_SHEETS, pages_for
from studio.lessons.timetable import WEEK, meetings
from studio.templatetags.fourbar import short_day

STALLED = timedelta(seconds=60)
KEPT = timedelta(days=2)

log = logging.getLogger(__name__)


def lessons_this_week(studio: Studio) -> list[Student]:
    """Whoever has a lesson in the seven days from today, in the order of their lessons."""
    found = meetings(studio, studio.today, studio.today + timedelta(days=WEEK))
    return list(dict.fromkeys(meeting.student for meeting in found if meeting.takes_place))


def new_job(
    studio: Studio, by: User, sheet: str, students: list[Student], options, *, group=None
) -> PrintJob:
    """Note what is to be printed, and throw away files that nobody fetched for days."""
    PrintJob.objects.of(studio).filter(made__lt=timezone.now() - KEPT).delete()
    whose = group.name if group else f"everybody, from {short_day(studio.today)}"
    return PrintJob.objects.create(
        studio=studio,
        by=by,
        what=sheet,
        title=f"{STUDENT_SHEETS[sheet].label}: {whose}"[:120],
        group=group,
        day=studio.today,
        students=[student.pk for student in students],
        options=options.to_query(),
    )


def members_of(group: Group) -> list[Student]:
    """A group's learners, by name."""
    return list(group.members.filter(left_on=None))


def start(job: PrintJob) -> None:
    """Make the file in a thread of this server; the page that shows it asks how far it is."""
    Thread(target=_in_background, args=(job.pk,), daemon=True, name=f"print {job.pk}").start()


def make(job: PrintJob) -> None:
    """Make the file and keep it with the job. A learner whose sheet fails is named and left out."""
    _keep(job, state=PrintJob.RUNNING)
    options = PrintOptions.of(job.options)
    students = Student.objects.of(job.studio).select_related("studio", "teacher").in_bulk(job.students)
    handouts, missed = [], []
    for pk in job.students:
        if pk not in students:
            continue
        try:
            handouts.append(pages_for(job.what, students[pk], job.day, options))
        except Exception:
            log.exception("A sheet of print job %s could not be made.", job.pk)
            missed.append(students[pk].name)
    _keep(job, missed=missed)
    try:
        pdf = print_together(handouts, job.title, lambda: _keep(job, done=job.done + 1))
    except (PressStopped, ValueError):
        log.exception("Print job %s could not be set.", job.pk)
        _keep(job, state=PrintJob.FAILED)
        return
    _keep(job, state=PrintJob.READY, done=job.total, pdf=pdf)


def is_stalled(job: PrintJob) -> bool:
    """Whether the server that made the file was stopped in the middle of it."""
    return job.is_at_work and timezone.now() - job.moved > STALLED


def _in_background(pk: int) -> None:
    try:
        make(PrintJob.objects.select_related("studio").get(pk=pk))
    except Exception:
        log.exception("Print job %s stopped.", pk)
        PrintJob.objects.filter(pk=pk).update(state=PrintJob.FAILED)
    finally:
        connection.close()


def _keep(job: PrintJob, **changes) -> None:
    for name, value in changes.items():
        setattr(job, name, value)
    job.moved = timezone.now()
    job.save(update_fields=[*changes, "moved"])

"""The morning of a studio: every learner's plan made anew, and the Overview of it.

    python -m tests.benchmarks.replanning [learners] [days of ticks]

Each learner has two sections of a piece of 64 bars, on six days a week, with a history
of ticks. The workup of the piece is at hand,
as it is in a running studio; the first plan of the day is timed, learner by learner.
"""

import os
import sys
import tempfile
from dataclasses import replace
from time import process_time

os.environ["FOURBAR_DATA"] = tempfile.mkdtemp()
os.environ["FOURBAR_HOSTS"] = "testserver"
os.environ["FOURBAR_DEBUG"] = "1"
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")

import django

django.setup()

from datetime import timedelta
from statistics import median
from uuid import uuid4

from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from pieces.workup import add_piece, workup_of
from students import practice
from students.models import WEEKDAYS, Student, Tick
from students.records import Terms
from studio.accounts.models import Studio
from studio.overview.overview_page import overview_page
from tests.benchmarks.pages import bare_page, cost
from tests.planning.made_up import tune

BARS = 64


def main(learners=60, days=365):
    call_command("migrate", verbosity=0)
    studio = Studio.objects.create(name="Lantern Row Strings")
    arrangement = add_piece(studio, long_piece(), rights="own")
    letters = list(dict.fromkeys(section.letter for section in workup_of(arrangement).sections))
    students = [begin(studio, arrangement, letters, number, days) for number in range(learners)]
    print(f"{learners} learners, {Tick.objects.count()} ticks, sections {', '.join(letters)}")
    took = []
    for student in students:
        started = process_time()
        practice.replan(student, studio.today)
        took.append(process_time() - started)
    print(f"plans of all:  {sum(took):6.2f} s CPU")
    print(f"one plan:      {median(took) * 1000:6.0f} ms CPU at the median, {max(took) * 1000:.0f} at most")
    with CaptureQueriesContext(connection) as queries:
        overview_page(studio)
    page, bare = cost(lambda: overview_page(studio)), cost(bare_page(studio))
    print(
        f"overview:      {page:6.0f} ms CPU, {len(queries)} queries; {page / bare:.1f} x a bare page of 200 rows"
    )


def long_piece():
    """Bars that recur after forty, as a piece does that comes back to its tune."""
    frets = [number % 40 % 13 + number % 40 // 13 for number in range(BARS)]
    return replace(tune(*frets), title="Long Lane", tempo=72)


def begin(studio, arrangement, letters, number, days) -> Student:
    """A learner with so many days of ticks behind, and four weeks ahead."""
    minutes = dict.fromkeys(WEEKDAYS[:6], 15) | {"sun": 0}
    student = Student.objects.create(studio=studio, name=f"Learner {number}", minutes=minutes)
    today = studio.today
    terms = Terms(tuple(letters[:2]), 72, today - timedelta(days=7), today + timedelta(days=21))
    assignment = practice.assign(student, arrangement, terms)
    loops = list(assignment.chunks.exclude(kind="run"))[:12]
    Tick.objects.bulk_create(
        Tick(
            uuid=uuid4(),
            studio=studio,
            student=student,
            assignment=assignment,
            revision=assignment.revision,
            key=loop.key,
            kind=loop.kind,
            section=loop.data.get("section", ""),
            first=loop.first,
            last=loop.last,
            day=today - timedelta(days=ago),
            tempo=50 + (number + ago) % 20,
            felt=("clean", "slips", "clean")[(number + ago) % 3],
            minutes=3,
            planned=3,
            at=timezone.now(),
        )
        for ago in range(1, days)
        for loop in loops[ago % 3 :: 3]
    )
    return student


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))

"""Handouts: one page against bare WeasyPrint of the same page, and a whole week's lessons as one file.

    python -m tests.benchmarks.handouts [LEARNERS]

A studio is made up in a database of its own from the demo's pieces. All figures are of
one run; wall time means little while other programs use the machine, so CPU time
stands beside it.
"""

import os
import sys
import tempfile
from datetime import time as clock
from datetime import timedelta
from pathlib import Path
from resource import RUSAGE_CHILDREN, RUSAGE_SELF, getrusage
from time import perf_counter, process_time

os.environ["FOURBAR_DATA"] = tempfile.mkdtemp()
os.environ["FOURBAR_HOSTS"] = "testserver"
os.environ["FOURBAR_DEBUG"] = "1"
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")

import django

django.setup()

from django.core.management import call_command
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration

from pieces import paper
from pieces.music.tab import read_tab
from pieces.paper import OURS, SHEETS, STATIC, VARIANT, pdf_of, set_page
from pieces.print_options import PrintOptions
from pieces.workup import add_piece
from students.models import WEEKDAYS, Student
from students.practice import assign
from students.records import Terms
from studio.accounts.models import Membership, Studio, User
from studio.handouts import jobs
from studio.handouts.sheets import pages_for
from studio.lessons.models import LessonSlot

DEMO = Path(__file__).parents[2] / "fixtures" / "demo"
TIMES = 10
GOAL_SECONDS, GOAL_MEGABYTES = 5, 300


def main(learners: int) -> None:
    call_command("migrate", verbosity=0)
    studio, owner, students = made_up(learners)
    one_page(students[0])
    many(studio, owner, students)


def made_up(count: int):
    """A studio whose learners play the demo's pieces in turn."""
    studio = Studio.objects.create(name="Lantern Row Strings")
    owner = User.objects.create_user("ines@lantern.example", "a long enough password", name="Ines Calder")
    Membership.objects.create(studio=studio, user=owner, role="owner")
    pieces = [
        add_piece(studio, read_tab(path.read_text()), rights="own") for path in sorted(DEMO.glob("*.tab"))
    ]
    today = studio.today
    students = []
    for n in range(count):
        student = Student.objects.create(
            studio=studio, name=f"Learner {n + 1}", teacher=owner, minutes=dict.fromkeys(WEEKDAYS, 12)
        )
        lesson = today + timedelta(days=6)
        LessonSlot.objects.create(
            studio=studio, student=student, weekday=lesson.weekday(), starts=clock(9 + n % 8, 0)
        )
        piece = pieces[n % len(pieces)]
        assign(student, piece, Terms(("A",), piece.goal_tempo, today, lesson))
        students.append(student)
    return studio, owner, students


def one_page(student: Student) -> None:
    """CPU of our way to one page, against WeasyPrint alone on the very same page."""
    options = PrintOptions()
    day = student.studio.today
    pages = pages_for("week", student, day, options)
    pages = pages[:1] if len(set_page(pages).pages) == 1 else pages
    page = pages[0]
    fonts = FontConfiguration()

    def bare():
        sheets = [
            CSS(
                string=(STATIC / name).read_text(),
                font_config=fonts,
                url_fetcher=paper._fetcher(),
                base_url=OURS,
            )
            for name in SHEETS
        ]
        document = HTML(string=page, url_fetcher=paper._fetcher(), base_url=OURS)
        document.write_pdf(stylesheets=sheets, font_config=fonts, **VARIANT)

    def bare_with_kept_sheets():
        document = HTML(string=page, url_fetcher=paper._fetcher(), base_url=OURS)
        document.write_pdf(stylesheets=paper._sheets(), font_config=paper._fonts(), **VARIANT)

    alone = cpu(bare)
    kept = cpu(bare_with_kept_sheets)
    ours = cpu(lambda: pdf_of(pages_for("week", student, day, options)))
    print(f"bare WeasyPrint of the page      {alone:7.1f} ms")
    print(f"the same with sheets kept        {kept:7.1f} ms  {kept / alone:5.2f} x")
    print(f"our week, plan and bars and all  {ours:7.1f} ms  {ours / alone:5.2f} x")


def many(studio: Studio, owner: User, students: list[Student]) -> None:
    """The week's lessons as one file."""
    job = jobs.new_job(studio, owner, "week", students, PrintOptions())
    before, began, busy = getrusage(RUSAGE_CHILDREN), perf_counter(), process_time()
    jobs.make(job)
    wall, own = perf_counter() - began, process_time() - busy
    after = getrusage(RUSAGE_CHILDREN)
    children = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    peak = (getrusage(RUSAGE_SELF).ru_maxrss / 1024, after.ru_maxrss / 1024)
    print(f"{len(students)} learners' weeks, {job.state}: {wall:.1f} s wall (goal {GOAL_SECONDS})")
    print(f"  CPU {own:.1f} s making the pages, {children:.1f} s setting them in two processes")
    print(f"  on two free cores about {own + children / 2:.1f} s")
    print(
        f"  memory {peak[0]:.0f} MB here, {peak[1]:.0f} MB the larger of the two (goal {GOAL_MEGABYTES} in all)"
    )
    print(f"  {len(bytes(job.pdf)) // 1024} KB, {job.missed or 'nobody'} left out")


def cpu(run) -> float:
    """Milliseconds of CPU, the mean of several after a first."""
    run()
    began = process_time()
    for _ in range(TIMES):
        run()
    return (process_time() - began) * 1000 / TIMES


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)

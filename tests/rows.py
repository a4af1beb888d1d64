"""One row of each kind that an address can name, for tests of who may see what."""

from datetime import timedelta

from pieces.models import Batch, BroughtFile
from pieces.music.tab import read_tab
from pieces.print_options import PrintOptions
from pieces.workup import add_piece
from students.models import Group
from students.practice import assign
from students.records import Terms
from studio.accounts.invitations import invite
from studio.handouts.jobs import new_job
from studio.lessons.calendars import new_address
from studio.lessons.changes import note_absence
from studio.lessons.models import Performance

TUNE = """title: Two Steps for {studio}
tuning: ukulele high G
meter: 4/4
tempo: 60

   C
A|-3---2---0-----|-0---2---3-----|
E|-0-------------|---------------|
C|-0-------------|---------------|
G|-0-------------|---------------|
   1   2   3   4   1   2   3   4
"""


def one_of_each(studio, student, owner) -> dict:
    """What an address may name, by kind: the key of one row in ``studio`` (a bar and a day are of every studio).

    Whatever has a name has the studio's in it, so that it is known wherever it shows.
    """
    tune = TUNE.format(studio=studio.name)
    arrangement = add_piece(studio, read_tab(tune), rights="own")
    today = studio.today
    until = today + timedelta(days=7)
    assignment = assign(student, arrangement, Terms(("A",), 60, today, until))
    group = Group.objects.create(studio=studio, name=f"Saturdays at {studio.name}")
    group.members.add(student)
    performance = Performance.objects.create(
        studio=studio, title=f"Spring concert of {studio.name}", day=until
    )
    brought = BroughtFile.objects.create(
        studio=studio, name=f"{studio.name}.txt", data=tune.encode(), by=owner
    )
    return {
        "student": student.pk,
        "group": group.pk,
        "performance": performance.pk,
        "assignment": assignment.pk,
        "arrangement": arrangement.pk,
        "piece": arrangement.piece_id,
        "brought": brought.pk,
        "batch": Batch.objects.create(studio=studio, by=owner).pk,
        "bar": 1,
        "ending": "txt",
        "sheet": "outline",
        "job": new_job(studio, owner, "week", [student], PrintOptions()).pk,
        "day": today,
        "lesson": note_absence(student, today, owed=True, today=today, by=None).pk,
        "invitation": invite(studio, "new@teacher.example", "teacher", by=owner)[1],
        "calendar": new_address(studio, student=student)[1],
    }

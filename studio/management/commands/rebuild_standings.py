"""Where sections stand, made again from ticks and marks alone."""

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from students.models import Student
from students.records import records_of
from students.standings import differences, rebuild


class Command(BaseCommand):
    help = "Rebuild every standing from ticks and marks; with --check, say what is stored otherwise."

    def add_arguments(self, parser):
        parser.add_argument("--check", action="store_true", help="change nothing; exit 1 on a difference")

    def handle(self, *, check, **options):
        students = list(Student.objects.select_related("studio"))
        if check:
            found = [line for student in students for line in differences(student)]
            if found:
                raise CommandError("Stored otherwise than ticks and marks say:\n" + "\n".join(found))
            self.stdout.write(f"{len(students)} learners: what is stored is what ticks and marks say.")
            return
        for student in students:
            with transaction.atomic():
                rebuild(student, student.studio.today, *records_of(student))
        self.stdout.write(f"Standings of {len(students)} learners made again.")

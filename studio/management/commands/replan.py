"""Each morning: the plan of every learner whose plan is old."""

import sys
from time import perf_counter

from django.core.management.base import BaseCommand

from students import practice
from students.models import Student
from studio.accounts.models import Studio


class Command(BaseCommand):
    help = "Plan anew every learner for whom a day began or something happened since. For a daily timer."

    def add_arguments(self, parser):
        parser.add_argument("--studio", type=int, help="number of one studio (default: all)")

    def handle(self, *, studio, **options):
        started, planned, left, failed = perf_counter(), 0, 0, []
        studios = Studio.objects.filter(pk=studio) if studio else Studio.objects.all()
        for place in studios:
            for student in Student.objects.of(place).learning().select_related("studio"):
                if not practice.is_plan_old(student, place.today):
                    left += 1
                    continue
                try:
                    practice.keep_planned(student, place.today)
                    planned += 1
                except Exception as error:  # one learner's fault must not cost the others their plan
                    failed.append(student)
                    self.stderr.write(f"{student} (number {student.pk}): {type(error).__name__}: {error}")
        who = f"{planned} learner{'' if planned == 1 else 's'}" if planned else "Nobody"
        self.stdout.write(f"{who} planned anew, {left} as they were. {perf_counter() - started:.1f} s.")
        if failed:
            sys.exit(1)

"""Everything of a learner in one zip."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from pieces.print_options import PrintOptions
from students.handouts import week_handout
from students.models import Student
from studio.overview.rights import export_student


class Command(BaseCommand):
    help = "Write JSON, CSV and the current week's handout of a learner into a folder."

    def add_arguments(self, parser):
        parser.add_argument("id", type=int)
        parser.add_argument("folder")

    def handle(self, *, id, folder, **options):
        student = Student.objects.select_related("studio", "teacher").filter(pk=id).first()
        if student is None:
            raise CommandError(f"There is no learner {id}.")
        week = week_handout(
            student, student.studio.today, PrintOptions(student.studio.paper, left_handed=student.left_handed)
        )
        target = export_student(student, Path(folder), papers=[("week.pdf", week)])
        self.stdout.write(str(target))

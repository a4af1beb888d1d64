"""A learner and everything of theirs, gone for good."""

from django.core.management.base import BaseCommand, CommandError

from students.models import Student
from studio.overview.rights import erase_student


class Command(BaseCommand):
    help = "Erase a learner. Backups made before still hold them; a restore erases them again."

    def add_arguments(self, parser):
        parser.add_argument("id", type=int)
        parser.add_argument("--yes", action="store_true", help="do not ask")

    def handle(self, *, id, yes, **options):
        student = Student.objects.filter(pk=id).first()
        if student is None:
            raise CommandError(f"There is no learner {id}.")
        if not yes and input(f"Erase {student.name} and everything of theirs? Write yes: ") != "yes":
            raise CommandError("Nothing was erased.")
        rows = erase_student(student)
        self.stdout.write(f"Erased: {rows} rows.")

"""A backup in the place of the studio's database."""

from pathlib import Path

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from studio.overview.backups import BackupFailed, restore
from studio.overview.rights import bring_tombstones, erase_again


class Command(BaseCommand):
    help = "Restore a backup; learners who were erased since stay erased. Stop the studio first."

    def add_arguments(self, parser):
        parser.add_argument("file")

    def handle(self, *, file, **options):
        try:
            restore(Path(file))
        except BackupFailed as failed:
            raise CommandError(str(failed)) from None
        call_command("migrate", verbosity=0, interactive=False)
        bring_tombstones(Path(file).parent)
        again = erase_again()
        self.stdout.write(
            f"Restored {file}." + (f" {again} erased learners were erased again." if again else "")
        )

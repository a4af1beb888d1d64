"""A consistent backup while the studio is in use."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from studio.overview.backups import KEPT, BackupFailed, back_up
from studio.overview.rights import copy_tombstones


class Command(BaseCommand):
    help = "Back the studio up into a folder, check the backup, and keep the newest."

    def add_arguments(self, parser):
        parser.add_argument("folder")
        parser.add_argument("--keep", type=int, default=KEPT, help=f"how many to keep (default {KEPT})")

    def handle(self, *, folder, keep, **options):
        if keep < 1:
            raise CommandError("Keep at least one.")
        try:
            backup = back_up(Path(folder), keep=keep)
        except BackupFailed as failed:
            raise CommandError(str(failed)) from None
        copy_tombstones(Path(folder))
        self.stdout.write(f"{backup.file}  {backup.size} bytes  sha256 {backup.sha256}")

"""Everything that must hold: style, import contracts, doctests, unit, outside and browser tests."""

import os
import subprocess
import sys
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand

CHECKS = (
    ("style", [sys.executable, "-m", "ruff", "check", "."]),
    ("layout of the code", [sys.executable, "-m", "ruff", "format", "--check", "-q", "."]),
    ("import contracts", [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"]),
)


class Command(BaseCommand):
    help = "Run every check and test, or pytest alone with the arguments given."

    def run_from_argv(self, argv):
        """Hand the arguments to pytest as they are."""
        sys.exit(self.run(argv[2:]))

    def handle(self, *args, **options):
        sys.exit(self.run(args))

    def run(self, arguments) -> int:
        failed = [] if arguments else [name for name, command in CHECKS if not self.holds(name, command)]
        if not arguments:
            failed += [] if self.migrations_are_complete() else ["migrations"]
        pytest = [sys.executable, "-m", "pytest", "-q", "-n", "2", "--dist", "loadfile", *arguments]
        if subprocess.run(pytest, cwd=settings.BASE_DIR, env=self.environment()).returncode:
            failed.append("tests")
        if failed:
            self.stderr.write(f"Not well: {', '.join(failed)}.")
        return 1 if failed else 0

    def holds(self, name, command) -> bool:
        result = subprocess.run(command, cwd=settings.BASE_DIR, capture_output=True, text=True)
        if result.returncode:
            self.stderr.write(f"{name}:\n{result.stdout}{result.stderr}")
        return result.returncode == 0

    def migrations_are_complete(self) -> bool:
        try:
            call_command("makemigrations", check=True, dry_run=True, verbosity=0)
        except SystemExit:
            self.stderr.write("A model changed without a migration: python3 manage.py makemigrations")
            return False
        return True

    def environment(self) -> dict:
        """Tests keep their own folder, so that they never touch the studio's data."""
        return {**os.environ, "FOURBAR_DATA": str(settings.BASE_DIR / ".state" / "test")}

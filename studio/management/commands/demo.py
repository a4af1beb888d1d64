"""The demo studio: loaded when it is not there, its sign-ins printed, and served."""

import sys
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Count, Min, Q
from django.urls import reverse

from students.cards import new_card, new_code
from students.models import Student
from studio.accounts.models import Studio
from studio.bootstrap import DEMO_FOLDER
from studio.demo import kept
from studio.demo.loading import load_demo
from studio.demo.people import OWNER, SECOND_TEACHER
from studio.management.collecting import collect_static
from studio.management.serving import HOST, free_port, serve


def who_plays_today() -> Student:
    """The learner with most loops to work at today, or whoever plays next."""
    today = Studio.objects.first().today
    worked_at = Q(tasks__day=today) & ~Q(tasks__chunk__kind__in=["section", "run"])
    planned = Student.objects.filter(tasks__day__gte=today).annotate(
        next=Min("tasks__day"), loops=Count("tasks", filter=worked_at)
    )
    return planned.order_by("next", "-loops", "name").first() or Student.objects.first()


class Command(BaseCommand):
    help = "An invented studio with eight weeks of practice, on this machine only."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--no-server", action="store_true", help="load it, print the sign-ins and end")
        parser.add_argument("--fresh", action="store_true", help="load it anew, dated from today")

    def handle(self, *, port, no_server, fresh, **options):
        folder = Path(settings.DATA_DIR)
        if folder.name != DEMO_FOLDER or connection.vendor != "sqlite":
            raise CommandError("The demo runs by `python3 manage.py demo` only, on data of its own.")
        self.migrate()
        known = kept.read(folder)
        if known and not fresh and not no_server:
            fresh = self.wants_fresh(known)
        if fresh or known is None or not Studio.objects.exists():
            known = self.load(folder)
        if collect_static():
            self.stdout.write("Collected the pages' files.")
        port = port if no_server else self.find_port(port)
        self.print_sign_ins(known, port)
        if not no_server:
            serve(port, ready=lambda: self.say(f"Ready at http://{HOST}:{port}/ (Ctrl-C ends it)"))

    def migrate(self):
        """Bring the database up to date; nothing where it is."""
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            call_command("migrate", verbosity=0)

    def wants_fresh(self, known: kept.Kept) -> bool:
        """Where the demo was loaded on an earlier day, ask whether to begin again from today."""
        age = known.age(Studio.objects.first().today) if Studio.objects.exists() else 0
        if age < 1:
            return False
        days = "yesterday" if age == 1 else f"{age} days ago"
        if not sys.stdin.isatty():
            self.say(f"The demo was loaded {days}; `demo --fresh` loads it anew, dated from today.")
            return False
        answer = input(f"The demo was loaded {days}. Load it anew, dated from today? [Y/n] ")
        return answer.strip().lower() not in ("n", "no")

    def load(self, folder: Path) -> kept.Kept:
        """Empty the demo's own database and live through the weeks again."""
        self.say("Living through eight weeks of the demo studio (a quarter of a minute) ...")
        call_command("flush", interactive=False, verbosity=0)
        password = kept.new_password()
        loaded = load_demo(password)
        known = kept.Kept(loaded.today.isoformat(), password)
        kept.write(folder, known)
        return known

    def find_port(self, asked: int) -> int:
        port = free_port(asked)
        if port != asked:
            self.say(f"Port {asked} is taken, so this goes to {port}.")
        return port

    def print_sign_ins(self, known: kept.Kept, port: int):
        """How to get in as each of them. The learner's card and code are new at each start."""
        address = f"http://{HOST}:{port}"
        learner = who_plays_today()
        card, token = new_card(learner)
        _card, family = new_card(learner, "guardian")
        code = new_code(card)
        link = f"{address}{reverse('card_sign_in')}"
        self.say(
            f"""
Lantern Row Strings, an invented studio     {address}/

  Owner    {OWNER[0]}: {OWNER[1]}, password {known.password}
  Teacher  {SECOND_TEACHER[0]}: {SECOND_TEACHER[1]}, the same password
  Learner  {learner.name}: {link}#{token}
           or {link} with the code {code[:4]} {code[4:]}
  Family   of {learner.name}: {link}#{family}

Use a private window for the learner: one browser is signed in as one person at a time.
"""
        )

    def say(self, text: str):
        """Print at once, for the server goes on in this process."""
        self.stdout.write(text)
        self.stdout.flush()

"""Plan a learner's days over a file of music, without a database."""

import json as jsons
from datetime import date, timedelta
from pathlib import Path
from typing import get_args

from django.core.management.base import BaseCommand

from pieces.music.findings import work_up
from students.models import WEEKDAYS
from students.planning.days import plan_days
from students.planning.history import Felt, History, MarkRecord, TickRecord
from students.planning.pace import pace_of
from students.planning.plan import Calendar, Learner
from students.planning.report import plan_data
from students.records import Terms, cut
from studio.management.files import print_json, read_file, refuse

FELT = get_args(Felt)
LEVELS = ("beginner", "intermediate", "advanced")


class Command(BaseCommand):
    help = "Which loop on which day, until the lesson."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file")
        parser.add_argument("--sections", help="letters, as A,B (default: all)")
        parser.add_argument("--days", required=True, help="minutes by weekday, as mon=15,tue=15,thu=20")
        parser.add_argument("--from", dest="start", required=True, help="first day, as 2026-03-13")
        parser.add_argument("--lesson", required=True, help="day of the lesson")
        parser.add_argument("--level", default="beginner", choices=LEVELS)
        parser.add_argument("--goal", type=int, help="goal tempo in beats a minute")
        parser.add_argument("--tuning")
        parser.add_argument("--ticks", help="a JSON file of ticks (and marks) to go on from")
        parser.add_argument("--json", action="store_true")

    def handle(self, *, file, sections, days, start, lesson, level, goal, tuning, ticks, json, **options):
        opened = read_file(file, tuning)
        workup = work_up(opened.score, goal=goal)
        first, last = read_day(start), read_day(lesson)
        if last <= first:
            refuse("The lesson must come after the first day.")
        known = list(dict.fromkeys(section.letter for section in workup.sections))
        letters = tuple(sections.split(",")) if sections else tuple(known)
        if unknown := [letter for letter in letters if letter not in known]:
            refuse(f"There is no section {', '.join(unknown)}. There are: {', '.join(known)}.")
        chunks = cut(workup, Terms(letters, workup.goal, first, last))
        by_weekday = read_minutes(days)
        minutes = {
            day: by_weekday[WEEKDAYS[day.weekday()]]
            for day in (first + timedelta(days=n) for n in range((last - first).days))
            if by_weekday.get(WEEKDAYS[day.weekday()])
        }
        history = read_ticks(ticks) if ticks else History()
        learner = Learner(level, pace=pace_of(history).pace)
        plan = plan_days(chunks, Calendar(minutes, last), learner, history, first)
        if json:
            print_json(plan_data(plan))
        else:
            self.say(plan)

    def say(self, plan):
        for day in plan.days:
            self.stdout.write(f"{day.date:%a} {day.date.isoformat()}, {day.minutes} minutes")
            for task in day.tasks:
                new = "new " if task.new else ""
                self.stdout.write(
                    f"  {task.minutes:>2} min  {new}{task.label}, {task.from_tempo} to {task.to_tempo}: {task.why}"
                )
        self.stdout.write(plan.fit.text)
        for way in plan.fit.ways_out:
            self.stdout.write(f"  or: {way.text}")


def read_day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        refuse(f"{text!r} is no day; write it as 2026-03-13.")


def read_minutes(text: str) -> dict[str, int]:
    """``mon=15,tue=15`` as minutes by weekday."""
    minutes = {}
    for part in text.split(","):
        day, _, number = part.strip().partition("=")
        if day not in WEEKDAYS or not number.isdecimal():
            refuse(f"{part!r} names no minutes of a day; write days as mon=15,tue=15,thu=20.")
        minutes[day] = int(number)
    return minutes


def read_ticks(path: str) -> History:
    """A history from a JSON list of ticks, or an object of "ticks" and "marks".

    A tick has "key", "kind", "first", "last", "day", "tempo" and "felt", a section's
    loop also "section", and "minutes" and "planned" where the time was taken. A mark has
    "section", "day" and "standing". Exits 2 with what cannot be read.
    """
    try:
        read = jsons.loads(Path(path).read_text())
        found = read if isinstance(read, dict) else {"ticks": read}
        ticks = tuple(_tick(row) for row in found.get("ticks", ()))
        marks = tuple(MarkRecord(**{**row, "day": read_day(row["day"])}) for row in found.get("marks", ()))
    except (OSError, ValueError, TypeError, KeyError, AttributeError) as error:
        refuse(f"The ticks in {path} cannot be read: {error}")
    return History(ticks, marks)


def _tick(row: dict) -> TickRecord:
    if row["felt"] not in FELT:
        raise ValueError(f"{row['felt']!r} is not how a loop can feel; choose from {', '.join(FELT)}.")
    if not isinstance(row["tempo"], int) or row["tempo"] < 1:
        raise ValueError(f"{row['tempo']!r} is no tempo.")
    return TickRecord(**{"section": "", **row, "day": read_day(row["day"])})

"""Restore: back up while clients write, restore elsewhere, and go on teaching there."""

import json
import os
import shutil
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from unittest import mock

from django.conf import settings
from django.db import connection

from studio.overview import backups
from studio.overview.rights import TOMBSTONES, erase_student
from tests.drills.device import NOT_REACHED, Device, moment
from tests.drills.drill import Drill, Outcome, faults
from tests.drills.people import people
from tests.drills.serving import DrillServer

CLIENTS, SHORT_CLIENTS = 20, 6
SECONDS, SHORT_SECONDS = 5, 1
MOST_SECONDS = 300
LEAST_BETWEEN = 20  # ticks acknowledged before each backup, or nothing would be tried


def run(short: bool) -> Outcome:
    clients, seconds = (SHORT_CLIENTS, SHORT_SECONDS) if short else (CLIENTS, SECONDS)
    made = people("Old House Strings", clients)
    folder = Path(settings.DATA_DIR) / f"backups-{made.studio.pk}"
    backed_up = _back_up_while_they_write(made, folder, seconds)
    backup = backed_up[-1][1]
    erased = made.learners[-1].student
    name, number = erased.name, erased.pk
    erase_student(erased)

    began = time.monotonic()
    elsewhere = Path(settings.DATA_DIR) / f"elsewhere-{made.studio.pk}"
    elsewhere.mkdir()
    _tombstones_come_along(elsewhere)
    told = _in_another_process(elsewhere, backup, made, number)
    took = time.monotonic() - began

    acknowledged = sum(len(before) for before, _file in backed_up)
    missing = sum(len({moment(tick) for tick in before} - _moments(file)) for before, file in backed_up)
    unequal = [table for table, rows in _counts(backup).items() if told["restored"].get(table) != rows]
    figures = (
        f"backed up while {clients} clients wrote: {missing} of {acknowledged} ticks acknowledged by then "
        f"missing; {len(told['restored'])} tables restored elsewhere, {len(unequal)} unequal, in {took:.0f} s; "
        f"signed in, planned, printed {told['pdf']} bytes; "
        f"{name} {'came back' if told['came_back'] else 'stays erased'}"
    )
    broken = faults(
        ticks_missing=missing,
        tables_unequal=len(unequal),
        erased_learners_back=told["came_back"],
        sign_ins_refused=2 - told["signed_in"],
        learners_without_a_plan=int(not told["planned"]),
        pages_not_printed=int(not told["pdf"]),
        minutes_over=int(took > MOST_SECONDS),
    )
    return Outcome(figures, broken)


def _back_up_while_they_write(made, folder: Path, seconds: float) -> list[tuple[list[dict], Path]]:
    """For each of two backups the ticks acknowledged when it began, and its file."""
    acknowledged, backed_up, over = [], [], threading.Event()

    def write(device):
        while not over.is_set():
            tick = device.tick()
            try:
                if device.send([tick]):
                    acknowledged.append(tick)
            except NOT_REACHED:
                continue

    with DrillServer(folder.with_suffix(".log")) as server:
        devices = [Device(learner, server.port) for learner in made.learners]
        for device in devices:
            device.sign_in()
        threads = [threading.Thread(target=write, args=(device,)) for device in devices]
        for thread in threads:
            thread.start()
        for _ in range(2):
            time.sleep(seconds / 2)
            _wait_for(acknowledged, len(acknowledged) + LEAST_BETWEEN)
            before = list(acknowledged)
            backed_up.append((before, Path(backups.back_up(folder).file)))
        over.set()
        for thread in threads:
            thread.join()
    return backed_up


def _wait_for(ticks: list, enough: int) -> None:
    """Until there are so many; a busy machine may take its time for a few."""
    end = time.monotonic() + MOST_SECONDS / 5
    while len(ticks) < enough and time.monotonic() < end:
        time.sleep(0.05)


def _moments(file: Path) -> set[datetime]:
    """When the ticks in a backup were made."""
    with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as opened:
        rows = opened.execute("SELECT at FROM students_tick").fetchall()
    return {datetime.fromisoformat(at).replace(tzinfo=UTC) for (at,) in rows}


def _tombstones_come_along(elsewhere: Path) -> None:
    stones = Path(settings.DATA_DIR) / TOMBSTONES
    if stones.exists():
        shutil.copy(stones, elsewhere)


def _in_another_process(elsewhere: Path, backup: Path, made, erased: int) -> dict:
    """What a fresh installation says that has nothing but the backup and the tombstones."""
    asked = {
        "backup": str(backup),
        "owner": made.owner.email,
        "token": made.learners[0].token,
        "student": made.learners[0].student.pk,
        "erased": erased,
        "studio": made.studio.pk,
    }
    process = subprocess.run(
        [sys.executable, "-m", "tests.drills.restored", str(elsewhere), json.dumps(asked)],
        cwd=settings.BASE_DIR,
        env={name: value for name, value in os.environ.items() if name != "DATABASE_URL"},
        capture_output=True,
        text=True,
        timeout=MOST_SECONDS,
    )
    if process.returncode:
        raise RuntimeError(process.stderr[-2000:])
    return json.loads(process.stdout.splitlines()[-1])


def _counts(file: Path) -> dict[str, int]:
    with closing(sqlite3.connect(f"file:{file}?mode=ro", uri=True)) as opened:
        return counts(opened)


def counts(opened) -> dict[str, int]:
    """Rows by table of an SQLite database."""
    tables = opened.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
    ).fetchall()
    return {table: opened.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0] for (table,) in tables}


@contextmanager
def the_file_is_copied():
    """What people do who do not know of the second file that SQLite writes to."""
    copied = lambda target: shutil.copy(connection.settings_dict["NAME"], target)  # noqa: E731
    with mock.patch.object(backups, "_write", copied):
        yield


@contextmanager
def the_tombstones_are_lost():
    with mock.patch(f"{__name__}._tombstones_come_along", lambda elsewhere: None):
        yield


DRILL = Drill(
    "restore",
    "a backup made in use is whole, and erased learners stay erased",
    run,
    {
        "the database file is copied as it lies": the_file_is_copied,
        "the tombstones are lost": the_tombstones_are_lost,
    },
    only_on="sqlite",
)

"""The short form of every drill: each promise holds, and each drill notices a guard that is out of order.

The drills have a folder, a database and servers of their own, so they run in a
process of their own, all of them once.
"""

import json
import subprocess
import sys

import pytest
from django.conf import settings

PROMISES = ["kill", "crowd", "studios", "restore", "card", "offline"]
BROKEN = [
    ("kill", "acknowledged before it is written"),
    ("kill", "the UUID is not looked at"),
    ("crowd", "transactions begin as readers"),
    ("studios", "every studio's rows are let through"),
    ("restore", "the database file is copied as it lies"),
    ("restore", "the tombstones are lost"),
    ("card", "ended cards are in force"),
    ("card", "a new card leaves the old one"),
    ("offline", "every clock is believed"),
    ("offline", "every card has one mark"),
]


@pytest.fixture(scope="module")
def told() -> dict:
    """What each drill said, by drill and mutation."""
    process = subprocess.run(
        [sys.executable, "-m", "tests.drills", "--short", "--broken", "--json"],
        cwd=settings.BASE_DIR,
        env=_without_the_tests_database(),
        capture_output=True,
        text=True,
        timeout=600,
    )
    lines = [json.loads(line) for line in process.stdout.splitlines() if line.startswith("{")]
    assert lines, process.stderr[-2000:]
    return {(line["drill"], line["mutation"]): line for line in lines} | {"said": process.stderr[-2000:]}


def _without_the_tests_database() -> dict:
    import os

    return {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}


@pytest.mark.parametrize("name", PROMISES)
def test_the_promise_holds(told, name):
    assert (name, None) in told, told["said"]
    assert told[name, None]["broken"] == [], told[name, None]["figures"]


@pytest.mark.parametrize(("name", "mutation"), BROKEN)
def test_the_drill_notices_a_guard_out_of_order(told, name, mutation):
    assert (name, mutation) in told, told["said"]
    assert told[name, mutation]["broken"], told[name, mutation]["figures"]


def test_every_drill_and_every_mutation_is_asked_for_here(told):
    assert {key for key in told if key != "said"} == {(name, None) for name in PROMISES} | set(BROKEN)

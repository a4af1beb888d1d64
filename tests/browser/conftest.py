"""A real Chromium for the tests that need one: the one that is installed, never one fetched."""

import os
import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from django.urls import reverse

from pieces.models import BroughtFile
from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.records import Terms
from studio.lessons.changes import note_absence
from studio.lessons.models import Lesson
from tests.browser.looking import signed_in
from tests.lessons.week import joined, slot
from tests.students.steps import tick
from tests.tune import TUNE

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # Playwright runs its own loop beside ours

PHONE = {"width": 390, "height": 844}
MAC = "/Applications/{0}.app/Contents/MacOS/{0}"
PLACES = [
    "chromium",
    "chromium-browser",
    "google-chrome",
    MAC.format("Google Chrome"),
    MAC.format("Chromium"),
]


def chromium() -> str | None:
    """Path of an installed Chromium, None where there is none."""
    found = (shutil.which(place) or (place if Path(place).exists() else None) for place in PLACES)
    return next(filter(None, found), None)


@pytest.hookimpl(tryfirst=True)  # before -m chooses by these marks
def pytest_collection_modifyitems(items):
    here = Path(__file__).parent
    for item in (item for item in items if item.path.is_relative_to(here)):
        item.add_marker("browser")
        if chromium() is None and not os.environ.get("FOURBAR_SKIP_NOTHING"):
            item.add_marker(pytest.mark.skip(reason="no Chromium: sudo apt-get install chromium"))


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    return {
        **browser_type_launch_args,
        "executable_path": chromium(),
        "args": ["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
    }


@pytest.fixture
def site(live_server, settings):
    """The address of the running studio."""
    settings.ALLOWED_HOSTS = ["*"]
    return live_server.url


@pytest.fixture
def studio_with_work(cast):
    arrangement = add_piece(cast.studio, read_tab(TUNE), rights="own")
    today = cast.studio.today
    cast.learner.minutes = dict.fromkeys(("mon", "tue", "wed", "thu", "fri", "sat", "sun"), 12)
    cast.learner.save()
    given = practice.assign(cast.learner, arrangement, Terms(("A",), 72, today, today + timedelta(days=7)))
    tick(given.tasks.filter(day=today).first(), felt="slips", minutes=5)
    slot(joined(cast.learner), today.weekday(), "16:30", teacher=cast.owner)
    slot(joined(cast.other_learner), today.weekday(), "17:00", teacher=cast.owner)
    Lesson.objects.create(
        studio=cast.studio, student=cast.learner, day=today - timedelta(days=7), promised="Bring the duet."
    )
    note_absence(cast.other_learner, today, owed=True, today=today, by=cast.owner)
    return {
        "student": cast.learner.pk,
        "piece": arrangement.piece_id,
        "arrangement": arrangement.pk,
        "bar": 3,
        "brought": BroughtFile.objects.create(
            studio=cast.studio, name="eight.txt", data=TUNE.encode(), by=cast.owner
        ).pk,
        "today": today,
    }


@pytest.fixture
def given(cast):
    """A piece given to the learner, twenty minutes every day of the week."""
    arrangement = add_piece(cast.studio, read_tab(TUNE), rights="own")
    cast.learner.minutes = dict.fromkeys(("mon", "tue", "wed", "thu", "fri", "sat", "sun"), 20)
    cast.learner.save()
    today = cast.studio.today
    return practice.assign(cast.learner, arrangement, Terms(("A",), 72, today, today + timedelta(days=9)))


@pytest.fixture
def phone(cast, given, sign_in, site, browser):
    """A phone in the learner's hand; call it for a page on Today."""
    contexts = []

    def page(**options):
        context = browser.new_context(**{"viewport": PHONE, **options})
        contexts.append(context)
        signed_in(context, site, sign_in(student=cast.learner))
        shown = context.new_page()
        shown.goto(site + reverse("today"))
        return shown

    yield page
    for context in contexts:
        context.close()

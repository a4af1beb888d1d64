"""A real Chromium for the tests that need one: the one that is installed, never one fetched."""

import os
import shutil
from pathlib import Path

import pytest

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # Playwright runs its own loop beside ours

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


def pytest_collection_modifyitems(items):
    for item in items:
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

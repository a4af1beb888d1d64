"""The demo command: on data of its own, quick the second time, and served without debug mode."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from datetime import date
from pathlib import Path

import pytest

from studio.bootstrap import keep_demo_apart
from studio.demo import kept
from studio.management.serving import HOST, free_port

ROOT = Path(__file__).resolve().parents[2]


def test_the_demo_never_shares_a_folder_or_database_with_a_real_studio():
    environment = {"FOURBAR_DATA": "/srv/studio", "DATABASE_URL": "postgres://x", "PATH": "/bin"}
    keep_demo_apart(environment)
    assert environment == {"FOURBAR_DATA": "/srv/studio/demo", "PATH": "/bin"}


def test_a_taken_port_gives_way_to_one_that_is_free():
    with socket.socket() as taken:
        taken.bind((HOST, 0))
        taken.listen()
        asked = taken.getsockname()[1]
        assert free_port(asked) != asked


def test_what_is_kept_is_read_back_and_only_this_user_can_read_it(tmp_path):
    assert kept.read(tmp_path) is None
    wrote = kept.Kept("2026-03-16", kept.new_password())
    kept.write(tmp_path, wrote)
    assert kept.read(tmp_path) == wrote
    assert (tmp_path / "demo.json").stat().st_mode & 0o077 == 0
    assert wrote.age(date(2026, 3, 19)) == 3


@pytest.fixture
def environment(tmp_path):
    return {**os.environ, "FOURBAR_DATA": str(tmp_path), "FOURBAR_VENV": sys.prefix, "PYTHONUNBUFFERED": "1"}


def test_the_command_will_not_touch_data_that_is_not_the_demo_s(tmp_path, environment):
    call = "from django.core.management import execute_from_command_line as go; go(['x', 'demo'])"
    environment["DJANGO_SETTINGS_MODULE"] = "studio.settings"
    run = subprocess.run(
        [sys.executable, "-c", call], cwd=ROOT, env=environment, capture_output=True, text=True
    )
    assert run.returncode == 1
    assert "on data of its own" in run.stderr
    assert not (tmp_path / "fourbar.sqlite3").exists()


def test_it_loads_once_serves_answers_and_ends_on_ctrl_c(tmp_path, environment):
    command = [sys.executable, "manage.py", "demo"]
    first = subprocess.run(
        [*command, "--no-server"], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    assert "Living through" in first.stdout and "owner@lantern.example" in first.stdout
    port = free_port(18400)
    server = subprocess.Popen(
        [*command, "--port", str(port)], cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True
    )
    try:
        said = []
        for line in server.stdout:
            said.append(line)
            if line.startswith("Ready at"):
                break
        assert "Living through" not in "".join(said)
        assert answer(port, "/health/") == (200, b"ok")
        status, page = answer(port, "/sign-in/")
        assert status == 200 and b"/static/" in page
    finally:
        server.send_signal(signal.SIGINT)
    assert server.wait(timeout=20) == 0


def answer(port: int, path: str, tries=100):
    """What the server says; it may take a moment until its workers listen."""
    for _ in range(tries):
        try:
            with urllib.request.urlopen(f"http://{HOST}:{port}{path}", timeout=10) as response:
                return response.status, response.read()
        except ConnectionError:
            time.sleep(0.1)
    raise AssertionError(f"{path} never answered")

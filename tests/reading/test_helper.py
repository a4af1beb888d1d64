"""The helper process: each limit holds, and whatever dies, the caller gets a plain refusal."""

import os
import signal
import sys
import threading
import time

import pytest

from pieces.music.score import UnreadableScore
from pieces.reading import helper, read_upload, worker
from tests.reading.files import ABC

PYTHON = sys.executable
SOUND = {"kind": "abc", "part": None, "grid": None}


@pytest.fixture
def own_helper(monkeypatch, tmp_path):
    """A helper whose jobs do as the test says: ``python`` runs in the child in place of reading."""

    def start(python: str, wall: int = worker.WALL_SECONDS):
        script = tmp_path / "worker_for_test.py"
        script.write_text(
            "import socket, sys\n"
            f"from pieces.reading import jobs, worker\nworker.WALL_SECONDS = {wall}\n"
            "def run(head, content):\n"
            + "".join(f"    {line}\n" for line in python.splitlines())
            + "jobs.run = run\n"
            "worker.serve(socket.socket(fileno=int(sys.argv[1])))\n"
        )
        wrapper = tmp_path / "python"
        wrapper.write_text(f'#!/bin/sh\nPYTHONPATH={helper.ROOT} exec {PYTHON} {script} "$3"\n')
        wrapper.chmod(0o755)
        monkeypatch.setattr(helper.sys, "executable", str(wrapper))
        helper._drop()

    yield start
    monkeypatch.undo()
    helper._drop()


def ask() -> dict:
    return helper.ask(SOUND, b"")


def refusal() -> tuple[str, float]:
    started = time.monotonic()
    with pytest.raises(UnreadableScore) as caught:
        ask()
    return str(caught.value), time.monotonic() - started


def test_a_child_that_sleeps_is_stopped_at_the_wall_limit(own_helper, monkeypatch):
    monkeypatch.setattr(helper, "WALL_SECONDS", 5)
    own_helper("import time\ntime.sleep(60)", wall=3)
    helper.warm()
    text, seconds = refusal()
    assert "too long to read" in text
    assert 2.5 <= seconds <= 4.5


def test_a_caller_waits_no_longer_than_the_wall_limit_even_if_the_child_is_never_stopped(
    own_helper, monkeypatch
):
    monkeypatch.setattr(helper, "WALL_SECONDS", 1)
    own_helper("import time\ntime.sleep(20)")
    helper.warm()
    text, seconds = refusal()
    assert "too long to read" in text and seconds < 4


def test_a_child_that_works_too_long_is_stopped_at_the_processor_limit(own_helper):
    own_helper("import resource\nresource.setrlimit(resource.RLIMIT_CPU, (1, 1))\nwhile True: pass")
    text, seconds = refusal()
    assert "cannot be read" in text
    assert seconds < worker.PROCESSOR_SECONDS


@pytest.mark.skipif(sys.platform == "darwin", reason="macOS has no limit of address space")
def test_a_child_that_asks_for_too_much_memory_is_refused(own_helper):
    own_helper("return {'size': len(bytearray(3 << 30))}")
    assert "memory" in str(UnreadableScore(problems_of(ask())))


def problems_of(answer: dict):
    from pieces.music.score import Problem

    return [Problem(**problem) for problem in answer["refused"]]


def test_a_child_that_dies_is_a_refusal(own_helper):
    own_helper("import os, signal\nos.kill(os.getpid(), signal.SIGKILL)")
    assert "cannot be read" in refusal()[0]
    own_helper("import os\nos._exit(3)")
    assert "cannot be read" in refusal()[0]


def test_a_child_that_raises_anything_is_a_refusal_without_its_words(own_helper):
    own_helper("raise RuntimeError('/srv/secret')")
    assert "/srv/secret" not in str(ask()["refused"])


def test_a_child_may_write_no_file(own_helper, tmp_path):
    target = tmp_path / "written"
    own_helper(f"with open({str(target)!r}, 'w') as file:\n    file.write('x' * 10)")
    assert ask()["refused"]
    assert not target.exists() or target.stat().st_size == 0


def test_a_helper_that_never_gets_ready_is_given_up_and_ended(own_helper, monkeypatch):
    monkeypatch.setattr(helper, "START_SECONDS", 0.5)
    own_helper("return {}")
    script = helper.Path(helper.sys.executable).with_name("worker_for_test.py")
    script.write_text("import time\ntime.sleep(60)\n")
    assert "cannot be read" in refusal()[0]
    assert helper._helper is None


def test_a_child_knows_none_of_the_studios_settings(own_helper, monkeypatch):
    monkeypatch.setenv("DATABASE_URL", "postgres://secret")
    monkeypatch.setenv("SECRET_KEY", "secret")
    own_helper("import os\nreturn {'environment': dict(os.environ)}")
    assert "secret" not in str(ask()["environment"])


def test_a_helper_that_was_killed_is_replaced():
    read_upload("a.abc", ABC.encode())
    os.kill(helper._helper.process.pid, signal.SIGKILL)
    helper._helper.process.wait()
    assert len(read_upload("a.abc", ABC.encode()).score.bars) == 4


def test_several_files_are_read_at_once_and_none_waits_for_a_slow_one(own_helper):
    own_helper("import time\nif content == b'slow': time.sleep(3)\nreturn {'content': content.decode()}")
    helper.warm()
    slow = threading.Thread(target=helper.ask, args=(SOUND, b"slow"))
    slow.start()
    started = time.monotonic()
    assert helper.ask(SOUND, b"quick") == {"content": "quick"}
    assert time.monotonic() - started < 2
    slow.join()


def test_a_forked_web_process_starts_a_helper_of_its_own():
    read_upload("a.abc", ABC.encode())
    before = helper._helper
    child = os.fork()
    if child == 0:
        read_upload("a.abc", ABC.encode())
        os._exit(0 if helper._helper is not before else 1)
    assert os.waitpid(child, 0)[1] == 0
    assert before.is_usable()


def test_without_the_limits_that_a_system_lacks_the_wall_limit_still_stands(monkeypatch):
    set_limits = []
    monkeypatch.setattr(
        worker.resource, "setrlimit", lambda *_: (_ for _ in ()).throw(ValueError("not here"))
    )
    monkeypatch.setattr(worker.signal, "setitimer", lambda *args: set_limits.append(args))
    monkeypatch.setattr(worker.signal, "signal", lambda *_: None)
    worker._limit()
    assert set_limits == [(signal.ITIMER_REAL, worker.WALL_SECONDS)]

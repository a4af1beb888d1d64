"""The web's side of the helper process: start it, give it a file, wait no longer than allowed.

Whatever happens to the helper or its children, the caller gets an answer or an
``UnreadableScore`` with a plain reason; never another exception.
"""

import atexit
import json
import os
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

from pieces.reading.refusals import refused
from pieces.reading.worker import JOB, READY, WALL_SECONDS, receive, send

ROOT = Path(__file__).resolve().parents[2]
START_SECONDS = 30
AT_ONCE = 4
# The child sees none of the studio's settings: no key, no database.
_KEPT = ("PATH", "LANG", "LC_ALL", "LC_CTYPE", "TZ", "TMPDIR", "HOME", "DYLD_FALLBACK_LIBRARY_PATH")

_lock = threading.Lock()
_places = threading.BoundedSemaphore(AT_ONCE)
_helper: "_Helper | None" = None


class _Helper:
    """A running helper process and the socket on which jobs are handed to it."""

    def __init__(self):
        self.owner = os.getpid()
        self.control, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_STREAM)
        environment = {name: os.environ[name] for name in _KEPT if name in os.environ}
        with theirs:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "pieces.reading.worker", str(theirs.fileno())],
                pass_fds=[theirs.fileno()],
                cwd=ROOT,
                env=environment,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
        self.control.settimeout(START_SECONDS)
        try:
            if self.control.recv(1) != READY:
                raise OSError("the helper did not start")
        except OSError:
            self.close()
            raise

    def is_usable(self) -> bool:
        return self.owner == os.getpid() and self.process.poll() is None

    def close(self) -> None:
        self.control.close()
        if self.owner == os.getpid():
            try:
                self.process.wait(timeout=2)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()


def warm() -> None:
    """Start the helper now, so that the first file need not wait for it."""
    with _lock:
        _running()


def ask(head: dict, content: bytes) -> dict:
    """The child's answer about ``content``. Raises ``UnreadableScore`` where there is none."""
    if not _places.acquire(timeout=2 * WALL_SECONDS):
        raise refused("Many files are being read just now.", "Try again in a minute.")
    try:
        return _ask(head, content)
    finally:
        _places.release()


def _ask(head: dict, content: bytes) -> dict:
    started = time.monotonic()
    try:
        link = _hand_over()
        started = time.monotonic()
        with link:
            link.settimeout(WALL_SECONDS + 1)
            send(link, content, head)
            _, answer = receive(link)
        return json.loads(answer)
    except (OSError, EOFError, ValueError) as error:
        if time.monotonic() - started > WALL_SECONDS - 4:
            raise refused("This file takes too long to read.", "Bring it in parts.") from error
        raise refused(
            "This file cannot be read: it asks for more than a score needs.",
            "Save it again from the program it came from, or bring it in parts.",
        ) from error


def _hand_over() -> socket.socket:
    """Our end of a socket whose other end the helper has; a dead helper is replaced once."""
    for attempt in (1, 2):
        ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_STREAM)
        try:
            with theirs, _lock:
                socket.send_fds(_running().control, [JOB], [theirs.fileno()])
            return ours
        except OSError:
            ours.close()
            with _lock:
                _drop()
            if attempt == 2:
                raise
    raise OSError("unreachable")


def _running() -> _Helper:
    global _helper
    if _helper is None or not _helper.is_usable():
        _drop()
        _helper = _Helper()
    return _helper


def _drop() -> None:
    global _helper
    if _helper is not None:
        _helper.close()
        _helper = None


atexit.register(_drop)

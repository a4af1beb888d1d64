"""Many handouts as one PDF, set by two processes at once.

Each process sets its share of the handouts and paints them into one PDF, whose
objects come back to be joined (see ``pieces.joining``). Drawing is what takes the
time, so two processes take half of it; and the server that asked is not held up.
"""

import pickle
import subprocess
import sys
import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from queue import SimpleQueue

import pydyf

from pieces.joining import join

PROCESSES = 2
MOST_SECONDS = 300
DONE = b"."
ROOT = Path(__file__).resolve().parents[1]

# The ways to set one handout (see ``pieces.paper.set_page``).
Handout = Sequence[str]


class PressStopped(RuntimeError):
    """A process that set pages ended before it was done."""


def print_together(handouts: Sequence[Handout], title: str, done: Callable[[], None] = lambda: None) -> bytes:
    """One PDF/UA document of all ``handouts``, in order, under ``title``; ``done`` is called after each that is set.

    Raises ``PressStopped``, and ValueError where there is nothing to print.
    """
    if not handouts:
        raise ValueError("There is nothing to print.")
    middle = -(-len(handouts) // PROCESSES)
    shares = [handouts[at : at + middle] for at in range(0, len(handouts), middle)]
    presses = [_Press(share, title) for share in shares]
    news: SimpleQueue[bool] = SimpleQueue()  # True for each handout set, False where a process ended
    for press in presses:
        threading.Thread(target=press.run, args=(news,), daemon=True).start()
    at_work = len(presses)
    while at_work:
        if news.get():
            done()
        else:
            at_work -= 1
    return join([part for press in presses for part in press.painted()])


class _Press:
    """One process and what it answered."""

    def __init__(self, share: Sequence[Handout], title: str):
        self._title = title
        self._share = [list(handout) for handout in share]
        self._answer = b""

    def run(self, news: "SimpleQueue[bool]") -> None:
        process = subprocess.Popen(
            [sys.executable, "-m", "pieces.press_child"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            cwd=ROOT,
        )
        watch = threading.Timer(MOST_SECONDS, process.kill)
        watch.start()
        try:
            with process.stdin, process.stdout:
                pickle.dump((self._title, self._share), process.stdin)
                process.stdin.close()
                for _handout in self._share:
                    if process.stdout.read(1) != DONE:
                        return
                    news.put(True)
                self._answer = process.stdout.read()
        except OSError:
            self._answer = b""
        finally:
            watch.cancel()
            process.kill()
            process.wait()
            news.put(False)

    def painted(self) -> list[pydyf.PDF]:
        if not self._answer:
            raise PressStopped("The pages could not be set.")
        return pickle.loads(self._answer)  # written by our own process, from pages of ours

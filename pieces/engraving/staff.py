"""Staff notation: our own MEI, engraved by Verovio in a process of its own.

Verovio's SVG is flattened: glyphs are drawn where they stand, and there is one
``<svg>``, because the maker of our PDFs leaves a nested one blank.
"""

import atexit
import json
import os
import selectors
import subprocess
import sys
import threading
from functools import lru_cache
from pathlib import Path

from pieces.engraving.flatten import flatten
from pieces.engraving.mei import mei
from pieces.music.counting import BEATS_AND, Syllables
from pieces.music.describe import speak_bar
from pieces.music.score import Score

SECONDS = 10
# A fresh process after so many drawings, so that no leak grows.
_JOBS = 500
_ROOT = Path(__file__).resolve().parents[2]


class StaffError(RuntimeError):
    """The staff could not be drawn."""


def staff(
    score: Score,
    *,
    width: float = 856,
    height: float = 30,
    per_system: int | None = 4,
    prefix: str = "s",
    chords: bool = True,
    lyrics: bool = True,
    syllables: Syllables = BEATS_AND,
    opens: bool = True,
    ends: bool = True,
    full: bool = False,
) -> str:
    """``score`` on a staff, as one ``<svg>`` with the ids that ``mei`` gives.

    ``width`` and ``height`` (of the five lines) are user units of the drawing.
    ``per_system``: bars to a line, None for as many as fit. ``opens`` and ``ends`` as in
    ``mei``; ``full``: the last line too fills the width. Raises ``StaffError``.
    """
    written = mei(
        score, prefix=prefix, chords=chords, lyrics=lyrics, per_system=per_system, opens=opens, ends=ends
    )
    title = " ".join(speak_bar(bar, score.tuning, syllables) for bar in score.bars)
    return _engraved(written, width, height, per_system is not None, full, prefix, title)


class _Child:
    """The running Verovio process, started when first asked and again after it ended."""

    def __init__(self):
        self._lock = threading.Lock()
        self._process: subprocess.Popen | None = None
        self._owner = 0
        self._jobs = 0

    def draw(self, written: str, options: dict) -> str:
        """Verovio's SVG of ``written``. Raises ``StaffError`` if it fails or takes too long."""
        with self._lock:
            process = self._running()
            try:
                process.stdin.write(json.dumps({"mei": written, "options": options}) + "\n")
                process.stdin.flush()
                answer = self._answer(process)
            except (OSError, ValueError) as error:
                self.stop()
                raise StaffError("The staff could not be drawn.") from error
        if not answer:
            raise StaffError("The staff could not be drawn: the notation was not understood.")
        return answer

    def stop(self) -> None:
        process, self._process = self._process, None
        if process is not None and self._owner == os.getpid():
            process.kill()
            process.wait()
            process.stdin.close()
            process.stdout.close()

    def _running(self) -> subprocess.Popen:
        # A forked server must not share its parent's pipes.
        fresh = self._process is None or self._owner != os.getpid() or self._process.poll() is not None
        if fresh or self._jobs >= _JOBS:
            self.stop()
            self._process = subprocess.Popen(
                [sys.executable, "-m", "pieces.engraving.staff_child"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                cwd=_ROOT,
                text=True,
                encoding="utf-8",
            )
            self._owner, self._jobs = os.getpid(), 0
        self._jobs += 1
        return self._process

    @staticmethod
    def _answer(process: subprocess.Popen) -> str:
        with selectors.DefaultSelector() as selector:
            selector.register(process.stdout, selectors.EVENT_READ)
            if not selector.select(SECONDS):
                raise TimeoutError("Verovio took too long.")
        line = process.stdout.readline()
        if not line:
            raise BrokenPipeError("Verovio ended.")
        return json.loads(line)["svg"]


_child = _Child()
atexit.register(_child.stop)


@lru_cache(maxsize=256)
def _engraved(
    written: str, width: float, height: float, broken: bool, full: bool, prefix: str, title: str
) -> str:
    # At scale 100 the five lines are 72 units high.
    scale = max(1, round(height / 72 * 100))
    options = {
        "scale": scale,
        "unit": 9.0,
        "minLastJustification": 0.0 if full else 0.5,
        "staffLineWidth": 0.22,
        "pageWidth": round(width * 100 / scale),
        "pageHeight": 60000,
        "adjustPageHeight": True,
        "breaks": "encoded" if broken else "auto",
        "header": "none",
        "footer": "none",
        "pageMarginLeft": 15,
        "pageMarginRight": 0,
        "pageMarginTop": 10,
        "pageMarginBottom": 10,
        "svgViewBox": True,
        "svgRemoveXlink": True,
        "xmlIdSeed": 1,
        "mnumInterval": 0,
        "lyricSize": 4.0,
    }
    return flatten(_child.draw(written, options), prefix, title)

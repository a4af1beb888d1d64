"""What the commands that read a file of music share."""

import json
import sys
from collections.abc import Callable
from pathlib import Path

from django.core.management.base import CommandError

from pieces.music.score import UnreadableScore
from pieces.music.tuning import TUNINGS, Tuning
from pieces.opening import Opened, open_music, open_on_strings


def read_file(path: str, tuning: str | None = None) -> Opened:
    """The file on strings; exits 2 with every reason on standard error where it cannot be read."""
    wanted = named_tuning(tuning) if tuning is not None else None
    return _opened(path, lambda name, data: open_on_strings(name, data, wanted))


def read_music(path: str) -> Opened:
    """The file as it was written, set on strings or not; exits as ``read_file`` does."""
    return _opened(path, open_music)


def named_tuning(name: str) -> Tuning:
    """The tuning of that name; exits 2 where there is none."""
    if name not in TUNINGS:
        refuse(f"There is no tuning {name!r}. Choose one of: {', '.join(TUNINGS)}.")
    return TUNINGS[name]


def _opened(path: str, read: Callable[[str, bytes], Opened]) -> Opened:
    try:
        return read(Path(path).name, Path(path).read_bytes())
    except OSError as error:
        refuse(f"{path} cannot be opened: {error.strerror}.")
    except UnreadableScore as unreadable:
        refuse("\n".join(str(problem) for problem in unreadable.problems))


def refuse(message: str):
    """End with exit status 2 and the reasons on standard error."""
    raise CommandError(message, returncode=2)


def print_json(data: dict) -> None:
    json.dump(data, sys.stdout, ensure_ascii=False, indent=2)
    sys.stdout.write("\n")

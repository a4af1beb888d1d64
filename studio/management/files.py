"""What the commands that read a file of music share."""

import json
import sys
from pathlib import Path

from django.core.management.base import CommandError

from pieces.music.score import UnreadableScore
from pieces.music.tuning import TUNINGS
from pieces.opening import Opened, open_on_strings


def read_file(path: str, tuning: str | None = None) -> Opened:
    """The file on strings; exits 2 with every reason on standard error where it cannot be read."""
    if tuning is not None and tuning not in TUNINGS:
        refuse(f"There is no tuning {tuning!r}. Choose one of: {', '.join(TUNINGS)}.")
    try:
        data = Path(path).read_bytes()
    except OSError as error:
        refuse(f"{path} cannot be opened: {error.strerror}.")
    try:
        return open_on_strings(Path(path).name, data, TUNINGS[tuning] if tuning else None)
    except UnreadableScore as unreadable:
        refuse("\n".join(str(problem) for problem in unreadable.problems))


def refuse(message: str):
    """End with exit status 2 and the reasons on standard error."""
    raise CommandError(message, returncode=2)


def print_json(data: dict) -> None:
    json.dump(data, sys.stdout, ensure_ascii=False, indent=2)
    sys.stdout.write("\n")

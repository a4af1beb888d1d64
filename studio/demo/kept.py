"""What is remembered of the loaded demo beside its database: the day and the password."""

import json
import os
import secrets
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path


@dataclass(frozen=True)
class Kept:
    """The day (ISO 8601) the demo was loaded, and the password of both teachers."""

    loaded_on: str
    password: str

    def age(self, today: date) -> int:
        """Days since it was loaded.

        >>> Kept("2026-03-16", "secret").age(date(2026, 3, 19))
        3
        """
        return (today - date.fromisoformat(self.loaded_on)).days


def new_password() -> str:
    """Twelve letters and figures that are not read as one another."""
    return "".join(secrets.choice("abcdefghjkmnpqrstuvwxyz23456789") for _ in range(12))


def read(folder: Path) -> Kept | None:
    """What was kept in ``folder``, None where the demo was not loaded there."""
    try:
        return Kept(**json.loads((folder / "demo.json").read_text()))
    except (FileNotFoundError, ValueError, TypeError):
        return None


def write(folder: Path, kept: Kept) -> None:
    """Keep it, readable by this user only."""
    path = folder / "demo.json"
    path.unlink(missing_ok=True)
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        json.dump(asdict(kept), file)

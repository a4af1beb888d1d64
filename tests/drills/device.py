"""A learner's phone, as far as the server can tell: cookies, a token against forgery, ticks with own UUIDs."""

import json
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection, HTTPException
from http.cookies import SimpleCookie
from itertools import count
from urllib.parse import urlencode
from uuid import uuid4

from django.urls import reverse

from studio.management.serving import HOST
from tests.drills.people import Learner

NOT_REACHED = (OSError, HTTPException, ValueError)  # the server went away, or in the middle of an answer
SECONDS = 30
# Each tick has its own microsecond, so that a row tells which tick it is, whatever its UUID.
_numbers = count(1)
FIRST = datetime.now(UTC).replace(microsecond=0) - timedelta(hours=1)


class NotTaken(ValueError):
    """An answer other than 200."""


class Device:
    def __init__(self, learner: Learner, port: int):
        self.learner = learner
        self._connection = HTTPConnection(HOST, port, timeout=SECONDS)
        self._cookies: SimpleCookie = SimpleCookie()
        self.mark = ""

    def sign_in(self) -> None:
        """By the token of the card, as the page of the card does it."""
        self._ask("GET", reverse("card_sign_in"))
        form = {"token": self.learner.token, "csrfmiddlewaretoken": self._cookies["csrftoken"].value}
        self._ask("POST", reverse("card_sign_in"), urlencode(form), "application/x-www-form-urlencoded")
        self.mark = json.loads(self._ask("GET", reverse("kept_week")))["device"]["learner"]

    def tick(self) -> dict:
        """A tick that nobody made before."""
        given = self.learner.assignment
        return {
            "uuid": str(uuid4()),
            "learner": self.mark,
            "assignment": given.pk,
            "revision": given.revision_id,
            "key": "pair:1-2",
            "day": self.learner.student.studio.today.isoformat(),
            "at": (FIRST + timedelta(microseconds=next(_numbers))).isoformat(),
            "tempo": 50,
            "felt": "clean",
            "minutes": 1,
        }

    def send(self, ticks: list[dict]) -> list[str]:
        """Send ticks; the UUIDs that the server says it keeps. Raises one of ``NOT_REACHED`` else."""
        body = self._ask("POST", reverse("ticks"), json.dumps({"ticks": ticks}), "application/json")
        return json.loads(body)["kept"]

    def bare(self, address: str) -> None:
        self._ask("POST", address, "", "application/json")

    def close(self) -> None:
        self._connection.close()

    def _ask(self, method: str, address: str, body: str | None = None, kind: str = "") -> bytes:
        headers = {"Cookie": "; ".join(f"{name}={morsel.value}" for name, morsel in self._cookies.items())}
        if kind:
            headers |= {"Content-Type": kind}
        if "csrftoken" in self._cookies:
            headers |= {"X-CSRFToken": self._cookies["csrftoken"].value}
        try:
            self._connection.request(method, address, body, headers)
            answer = self._connection.getresponse()
            said = answer.read()
        except NOT_REACHED:
            self._connection.close()
            raise
        for line in answer.headers.get_all("Set-Cookie", []):
            self._cookies.load(line)
        if answer.status not in (200, 302):
            raise NotTaken(f"{address}: {answer.status}")
        return said


def moment(tick: dict) -> datetime:
    """What tells a tick from every other."""
    return datetime.fromisoformat(tick["at"])

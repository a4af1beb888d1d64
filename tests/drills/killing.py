"""An acknowledged tick is never lost: the server is killed again and again while phones write."""

import random
import threading
import time
from collections import Counter
from contextlib import contextmanager
from pathlib import Path
from unittest import mock
from uuid import uuid4

from django.conf import settings
from django.db import connection

from students import practice
from students.models import Tick
from tests.drills.device import NOT_REACHED, Device, moment
from tests.drills.drill import Drill, Outcome, faults
from tests.drills.people import people
from tests.drills.serving import DrillServer

ROUNDS, SHORT_ROUNDS = 100, 4
PHONES = 4
LEAST, MOST = 0.05, 0.4  # seconds of writing after the first acknowledgement of a round


class Phone:
    """Sends until the server is gone; what was not acknowledged is sent again, and some of the rest too."""

    def __init__(self, device: Device, seed: int):
        self.device = device
        self.waiting: list[dict] = []
        self.acknowledged: dict[str, dict] = {}
        self._chance = random.Random(seed)

    def write(self, first: threading.Event) -> None:
        while True:
            if not self.waiting:
                self.waiting = [self.device.tick() for _ in range(self._chance.randint(1, 3))]
            try:
                self._send()
            except NOT_REACHED:
                return
            first.set()

    def finish(self) -> None:
        """Send what is left, and everything that was acknowledged once more."""
        everything = [*self.waiting, *self.acknowledged.values()]
        for at in range(0, len(everything), 50):
            self._keep(everything[at : at + 50])

    def _send(self) -> None:
        again = []
        if self.acknowledged and self._chance.random() < 0.3:
            again = [self._chance.choice(list(self.acknowledged.values()))]
        self._keep(self.waiting + again)
        self.waiting = []

    def _keep(self, ticks: list[dict]) -> None:
        by_uuid = {tick["uuid"]: tick for tick in ticks}
        for uuid in self.device.send(ticks):
            self.acknowledged[uuid] = by_uuid[uuid]


def run(short: bool) -> Outcome:
    rounds = SHORT_ROUNDS if short else ROUNDS
    made = people("Killing Floor Strings", PHONES)
    server = DrillServer(Path(settings.DATA_DIR) / "killing.log")
    chance = random.Random(8)
    with server:
        phones = [Phone(Device(one, server.port), seed) for seed, one in enumerate(made.learners)]
        for phone in phones:
            phone.device.sign_in()
            phone.device.close()
    cut_off, lost = 0, 0
    for _ in range(rounds):
        server.start()
        _write_until_killed(phones, server, chance.uniform(LEAST, MOST))
        cut_off += sum(len(phone.waiting) for phone in phones)
        lost += _lost(made, phones)
    with server:
        for phone in phones:
            phone.finish()
            phone.device.close()
    lost += _lost(made, phones)
    rows = Counter(Tick.objects.of(made.studio).values_list("at", flat=True))
    kept = sum(len(phone.acknowledged) for phone in phones)
    doubled = sum(times - 1 for times in rows.values())
    damage = _damage()
    figures = (
        f"{rounds} kills on {connection.vendor}, {kept} ticks acknowledged, {cut_off} cut off and sent again, "
        f"{lost} lost, {doubled} doubled"
        + (f", integrity {damage or 'ok'}" if connection.vendor == "sqlite" else "")
    )
    return Outcome(
        figures, faults(ticks_lost=lost, ticks_doubled=doubled, damage_to_the_file=int(bool(damage)))
    )


def _write_until_killed(phones: list[Phone], server: DrillServer, seconds: float) -> None:
    first = threading.Event()
    threads = [threading.Thread(target=phone.write, args=(first,)) for phone in phones]
    for thread in threads:
        thread.start()
    first.wait(30)
    time.sleep(seconds)
    server.kill()
    for thread in threads:
        thread.join()


def _lost(made, phones: list[Phone]) -> int:
    rows = set(Tick.objects.of(made.studio).values_list("at", flat=True))
    return sum(moment(tick) not in rows for phone in phones for tick in phone.acknowledged.values())


def _damage() -> str:
    """What SQLite finds wrong with its file."""
    if connection.vendor != "sqlite":
        return ""  # the server of the database was not killed, only its clients
    with connection.cursor() as cursor:
        said = cursor.execute("PRAGMA integrity_check").fetchone()[0]
    return "" if said == "ok" else said


@contextmanager
def acknowledged_before_written():
    """Ticks are answered for at once and written a little later."""
    written = practice.record_tick

    def later(student, *args, **more):
        threading.Timer(0.3, written, (student, *args), more).start()
        return Tick(student=student)

    with mock.patch.object(practice, "record_tick", later):
        yield


@contextmanager
def the_uuid_is_not_looked_at():
    """Whatever is sent again is a new tick."""
    written = practice.record_tick

    def anew(*args, uuid, **more):
        return written(*args, uuid=uuid4(), **more)

    with mock.patch.object(practice, "record_tick", anew):
        yield


DRILL = Drill(
    "kill",
    "an acknowledged tick is never lost",
    run,
    {
        "acknowledged before it is written": acknowledged_before_written,
        "the UUID is not looked at": the_uuid_is_not_looked_at,
    },
)

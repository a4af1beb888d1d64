"""Many at once: a class ticks at the same moment, and nobody meets a locked database."""

import threading
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from unittest import mock

from django.conf import settings
from django.db import connections

from students.models import Tick
from tests.drills.device import Device, moment
from tests.drills.drill import Drill, Outcome, faults
from tests.drills.people import people
from tests.drills.serving import DrillServer

LEARNERS, SHORT_LEARNERS = 50, 20
SECONDS, SHORT_SECONDS = 60, 2
MOST_P99 = 2.0
LEAST_SHARE = 0.5
BARE = "/drill/bare/"


@dataclass
class Load:
    """How long each request took, in seconds, and what went wrong."""

    took: list[float] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)
    seconds: float = 0.0

    @property
    def rate(self) -> float:
        return len(self.took) / self.seconds

    @property
    def p99(self) -> float:
        return sorted(self.took)[int(len(self.took) * 0.99)] if self.took else float("inf")


def run(short: bool) -> Outcome:
    many, seconds = (SHORT_LEARNERS, SHORT_SECONDS) if short else (LEARNERS, SECONDS)
    made = people("Crowded Strings", many)
    log = Path(settings.DATA_DIR) / "crowd.log"
    log.write_text("")
    acknowledged: list[dict] = []

    def one_tick(device):
        tick = device.tick()
        if device.send([tick]) == [tick["uuid"]]:
            acknowledged.append(tick)

    with mock.patch.object(settings, "ROOT_URLCONF", "tests.drills.bare"), DrillServer(log) as server:
        devices = [Device(one, server.port) for one in made.learners]
        for device in devices:
            device.sign_in()
        ticking = _all_at_once(devices, one_tick, seconds)
        bare = _all_at_once(devices, lambda device: device.bare(BARE), seconds)
    locked = log.read_text().count("django.db.utils.OperationalError")
    rows = set(Tick.objects.of(made.studio).values_list("at", flat=True))
    lost = sum(moment(tick) not in rows for tick in acknowledged)
    share = ticking.rate / bare.rate if bare.took else 0.0
    figures = (
        f"{many} learners for {seconds} s: {len(ticking.took)} ticks, {ticking.rate:.0f} a second, "
        f"p99 {ticking.p99:.2f} s, {locked} locked, {lost} lost; a bare read-modify-write "
        f"{bare.rate:.0f} a second, so ticks go at {share:.0%} of it"
    )
    broken = faults(times_locked=locked, requests_failed=len(ticking.failed), ticks_lost=lost)
    if not short:  # a second or two on a busy machine says nothing of speed
        broken += (f"p99 is {ticking.p99:.2f} s",) if ticking.p99 > MOST_P99 else ()
        broken += (f"ticks go at {share:.0%} of the bare rate",) if share < LEAST_SHARE else ()
    return Outcome(figures, broken)


def _all_at_once(devices: list[Device], do, seconds: float) -> Load:
    load = Load()
    start = time.monotonic()

    def one(device):
        while (began := time.monotonic()) < start + seconds:
            try:
                do(device)
                load.took.append(time.monotonic() - began)
            except Exception as error:
                load.failed.append(str(error))

    for device in devices:
        device.close()  # the server may have ended what was idle
    threads = [threading.Thread(target=one, args=(device,)) for device in devices]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    load.seconds = time.monotonic() - start
    return load


@contextmanager
def transactions_begin_as_readers():
    """SQLite's own default: a transaction asks for the lock only when it comes to write."""
    with mock.patch.dict(connections.settings["default"]["OPTIONS"], transaction_mode="DEFERRED"):
        connections.close_all()
        yield
    connections.close_all()


DRILL = Drill(
    "crowd",
    "many at once",
    run,
    {"transactions begin as readers": transactions_begin_as_readers},
    only_on="sqlite",
)

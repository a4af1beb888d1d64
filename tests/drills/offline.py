"""Ticks from devices without a network: replayed, doubled, out of order, by wrong clocks, by other cards."""

import json
import random
from collections import Counter
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from unittest import mock

from django.test import Client
from django.urls import reverse

from students import sent
from students.models import Tick
from tests.drills.device import Device, moment
from tests.drills.drill import Drill, Outcome, faults
from tests.drills.people import GIVEN_BEFORE, People, people

ROUNDS, SHORT_ROUNDS = 200, 4
A_ROUND = 20
# Tempo and minutes together tell each tick from every other, whatever its UUID and its clock.
SLOWEST, TEMPOS = 20, 300
# How far off a clock may be, in days: right, a day late, a day ahead, a year behind, a year ahead.
CLOCKS = (0, 0, 0, -1, -3, 1, -365, 365)


@dataclass
class Phone:
    """What one learner's device sends, by an in-process client."""

    device: Device
    client: Client

    def send(self, ticks: list[dict]) -> dict:
        body = json.dumps({"ticks": ticks})
        return self.client.post(reverse("ticks"), body, content_type="application/json").json()


def run(short: bool) -> Outcome:
    rounds = SHORT_ROUNDS if short else ROUNDS
    chance = random.Random(14)
    made = people("Far Valley Strings", 2)
    phones = [_phone(learner) for learner in made.learners]
    expected: dict[str, tuple[int, date]] = {}
    count = Counter()
    for _ in range(rounds):
        _a_round(made, phones, chance, expected, count)
    rows = list(
        Tick.objects.of(made.studio).values_list("uuid", "student_id", "day", "at", "tempo", "minutes")
    )
    now = datetime.now(UTC)
    kept = {str(uuid): (student, day) for uuid, student, day, *_rest in rows}
    doubled = len(rows) - len({(tempo, minutes) for *_rest, tempo, minutes in rows})
    wrong_day = sum(expected[uuid][1] != day for uuid, (_s, day) in kept.items() if uuid in expected)
    strangers = sum(expected[uuid][0] != who for uuid, (who, _d) in kept.items() if uuid in expected)
    figures = (
        f"{count['sent']} ticks sent as {count['deliveries']} deliveries, {len(rows)} kept; "
        f"{len(expected.keys() - kept.keys())} lost, {doubled} doubled, {wrong_day} on a wrong day, "
        f"{strangers + len(kept.keys() - expected.keys())} for another learner"
    )
    return Outcome(
        figures,
        faults(
            ticks_lost=len(expected.keys() - kept.keys()),
            ticks_doubled=doubled,
            ticks_on_a_wrong_day=wrong_day,
            ticks_of_another_learner=strangers,
            ticks_that_should_be_refused=len(kept.keys() - expected.keys()),
            moments_in_the_future=sum(at > now for _u, _s, _d, at, *_rest in rows),
        ),
    )


def _phone(learner) -> Phone:
    client = Client()
    client.post(reverse("card_sign_in"), {"token": learner.token})
    device = Device(learner, 0)
    device.mark = client.get(reverse("kept_week")).json()["device"]["learner"]
    return Phone(device, client)


def _a_round(made: People, phones: list[Phone], chance: random.Random, expected: dict, count: Counter):
    """Ticks of both devices, each by a clock of its own, delivered up to three times in any order."""
    today = made.studio.today
    deliveries = []
    for phone, other in (phones, phones[::-1]):
        for _ in range(A_ROUND):
            tick = phone.device.tick()
            claimed = today + timedelta(days=chance.choice(CLOCKS))
            tick["day"] = claimed.isoformat()
            tick["at"] = (moment(tick) + (claimed - today)).isoformat()
            tick["minutes"], tick["tempo"] = divmod(count["sent"], TEMPOS)
            tick["tempo"] += SLOWEST
            kind = chance.random()
            if kind < 0.08:
                tick["learner"] = other.device.mark  # left on the device by another card
            elif kind < 0.16:
                tick["assignment"] = other.device.learner.assignment.pk
            else:
                # The rule, told once more: a day from the giving of the piece until today is believed.
                right = claimed if today - GIVEN_BEFORE <= claimed <= today else today
                expected[tick["uuid"]] = (phone.device.learner.student.pk, right)
            deliveries += [(phone, tick)] * chance.randint(1, 3)
            count["sent"] += 1
    # Now and then a device sends what another learner's device made.
    deliveries += [(phones[1 - phones.index(phone)], tick) for phone, tick in chance.sample(deliveries, 4)]
    chance.shuffle(deliveries)
    for phone in phones:
        own = [tick for sender, tick in deliveries if sender is phone]
        while own:
            size = chance.randint(1, 15)
            phone.send(own[:size])
            count["deliveries"] += len(own[:size])
            own = own[size:]


@contextmanager
def every_clock_is_believed():
    with mock.patch.object(sent.Clock, "day", lambda clock, claimed, starts_on: claimed or clock.today):
        yield


@contextmanager
def every_card_has_one_mark():
    mark = "0" * 20
    with (
        mock.patch("students.views.kept.device_mark", lambda card: mark),
        mock.patch.object(sent, "device_mark", lambda card: mark),
    ):
        yield


DRILL = Drill(
    "offline",
    "a tick made offline counts on the right day, once, never another's",
    run,
    {
        "every clock is believed": every_clock_is_believed,
        "every card has one mark": every_card_has_one_mark,
    },
)

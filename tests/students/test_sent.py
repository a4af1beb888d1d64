"""Ticks that a device kept: each once, on a day that can be true, and only the learner's own."""

import json
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece, revise
from students import practice
from students.cards import new_card
from students.models import Tick
from students.records import Terms
from students.sent import MOST_AT_ONCE
from tests.students.test_practice import TUNE

pytestmark = pytest.mark.django_db


@pytest.fixture
def today(cast):
    return cast.studio.today


@pytest.fixture
def assignment(cast, today):
    arrangement = add_piece(cast.studio, read_tab(TUNE), rights="own")
    return practice.assign(
        cast.learner, arrangement, Terms(("A",), 72, today - timedelta(days=5), today + timedelta(days=8))
    )


@pytest.fixture
def device(cast, assignment, sign_in):
    """The learner's device: a client, and the mark that its page was given."""
    return Device(sign_in(student=cast.learner))


class Device:
    def __init__(self, client):
        self.client = client
        self.mark = client.get(reverse("kept_week")).json()["device"]["learner"]

    def send(self, *ticks):
        return self.client.post(
            reverse("ticks"), json.dumps({"ticks": ticks}), content_type="application/json"
        )


@pytest.fixture
def made(assignment, device, today):
    """A tick as the page makes it, with what a test wants different."""

    def one(**different):
        return {
            "uuid": str(uuid4()),
            "learner": device.mark,
            "assignment": assignment.pk,
            "revision": assignment.revision_id,
            "key": "pair:1-2",
            "day": today.isoformat(),
            "at": datetime.now(UTC).isoformat().replace("+00:00", "Z"),
            "tempo": 50,
            "felt": "clean",
            "minutes": 4,
            **different,
        }

    return one


def test_a_tick_made_offline_counts_for_the_day_it_was_made(device, made, today, assignment):
    yesterday = today - timedelta(days=1)
    at = datetime.now(UTC) - timedelta(days=1)
    tick = made(day=yesterday.isoformat(), at=at.isoformat())
    assert device.send(tick).json() == {"kept": [tick["uuid"]], "refused": []}
    kept = Tick.objects.get()
    assert (kept.day, kept.at, kept.tempo, kept.felt, kept.minutes) == (yesterday, at, 50, "clean", 4)
    assert (kept.first, kept.last, kept.kind) == (1, 2, "pair")
    assignment.refresh_from_db()
    assert assignment.stale  # the plan follows


def test_a_replay_is_one_tick(device, made):
    ticks = [made() for _ in range(3)]
    for _ in range(3):
        assert device.send(*ticks).json()["kept"] == [tick["uuid"] for tick in ticks]
    assert Tick.objects.count() == 3


@pytest.mark.parametrize("days", [1, 400, -6, -4000])
def test_a_day_ahead_or_before_the_piece_was_given_is_put_on_the_servers_day(device, made, today, days):
    claimed = today + timedelta(days=days)
    device.send(made(day=claimed.isoformat(), at=f"{claimed}T12:00:00Z"))
    kept = Tick.objects.get()
    assert kept.day == today
    assert abs(datetime.now(UTC) - kept.at) < timedelta(minutes=1)


def test_a_clock_that_runs_ahead_is_not_believed(device, made):
    device.send(made(at=(datetime.now(UTC) + timedelta(hours=3)).isoformat()))
    assert Tick.objects.get().at < datetime.now(UTC)


def test_another_learners_piece_is_refused_for_good(device, made, cast, assignment, today):
    theirs = practice.assign(
        cast.other_learner,
        assignment.arrangement,
        Terms(("A",), 72, today, today + timedelta(days=8)),
    )
    tick = made(assignment=theirs.pk)
    answer = device.send(tick, made()).json()
    assert answer["refused"] == [{"uuid": tick["uuid"], "why": "this piece was not given to you."}]
    assert len(answer["kept"]) == 1
    assert not Tick.objects.filter(student=cast.other_learner).exists()


def test_what_another_card_left_on_the_device_is_refused(device, made, cast):
    tick = made()
    card, _token = new_card(cast.learner)
    session = device.client.session
    session["card"] = card.pk
    session.save()
    assert device.send(tick).json()["refused"][0]["why"] == "it was made with another card."
    assert not Tick.objects.exists()


def test_a_uuid_of_another_learner_neither_shows_nor_changes_anything(device, made, cast, assignment, today):
    practice.assign(
        cast.other_learner, assignment.arrangement, Terms(("A",), 72, today, today + timedelta(8))
    )
    theirs = practice.record_tick(
        cast.other_learner,
        cast.other_learner.tasks.first(),
        uuid=uuid4(),
        day=today,
        tempo=60,
        felt="clean",
        at=datetime.now(UTC),
    )
    assert device.send(made(uuid=str(theirs.uuid))).json()["kept"] == []
    assert device.send(made(undoes=str(theirs.uuid))).json()["kept"] == []
    assert Tick.objects.get() == theirs


def test_taking_back_is_sent_like_a_tick(device, made):
    tick = made()
    back = {"uuid": str(uuid4()), "learner": device.mark, "undoes": tick["uuid"]}
    for _ in range(2):
        assert device.send(tick, back).json()["refused"] == []
    assert Tick.objects.count() == 2
    assert not Tick.objects.standing().exists()


@pytest.mark.parametrize(
    "wrong",
    [
        {"tempo": 9000},
        {"tempo": None},
        {"felt": "great"},
        {"felt": ""},
        {"key": "nothing:1"},
        {"key": ""},
        {"uuid": "no"},
        {"minutes": -1},
        {"day": "soon"},
        {"assignment": "'; drop table"},
        {"tempo": [50]},
        {"learner": {"a": 1}},
    ],
)
def test_what_is_no_tick_is_refused_in_words_and_the_next_is_kept(device, made, wrong):
    answer = device.send(made(**wrong), made()).json()
    assert len(answer["refused"]) == len(answer["kept"]) == 1
    assert answer["refused"][0]["why"]
    assert Tick.objects.count() == 1


@pytest.mark.parametrize("body", ["", "[]", "{", '{"ticks": 3}', '{"ticks": null}', "null", "\x00"])
def test_what_is_no_list_of_ticks_is_answered_in_words(device, body):
    answer = device.client.post(reverse("ticks"), body, content_type="application/json")
    assert answer.status_code == 422
    assert str(MOST_AT_ONCE) in answer.json()["fault"]


@pytest.mark.parametrize("one", [3, None, "tick", [], {}])
def test_a_list_of_something_else_is_refused_one_by_one(device, one):
    assert len(device.send(one).json()["refused"]) == 1


def test_too_many_at_once_are_not_taken(device, made):
    assert device.send(*[made() for _ in range(MOST_AT_ONCE + 1)]).status_code == 422
    assert not Tick.objects.exists()


def test_a_loop_that_is_cut_no_more_is_kept_with_what_its_key_says(device, made):
    device.send(made(key="join:7-8"))
    kept = Tick.objects.get()
    assert (kept.kind, kept.first, kept.last) == ("join", 7, 8)


def test_a_tick_keeps_the_bars_that_were_on_the_screen(device, made, assignment):
    seen = assignment.revision_id
    revise(assignment.arrangement, read_tab(TUNE.replace("A|-3---2---0-----|", "A|-3---5---0-----|")))
    assignment.revision = assignment.arrangement.current
    assignment.save()
    device.send(made(revision=seen))
    assert Tick.objects.get().revision_id == seen
    assignment.refresh_from_db()
    assert assignment.revision_id != seen  # what was given is left alone


def test_a_revision_of_another_piece_is_not_believed(device, made, cast, assignment):
    other = add_piece(cast.studio, read_tab(TUNE), rights="own")
    device.send(made(revision=other.current_id))
    assert Tick.objects.get().revision_id == assignment.revision_id


def test_without_the_token_of_the_page_nothing_is_taken(cast, assignment, sign_in, made):
    client = Client(enforce_csrf_checks=True)
    client.cookies = sign_in(student=cast.learner).cookies
    answer = client.post(reverse("ticks"), json.dumps({"ticks": [made()]}), content_type="application/json")
    assert answer.status_code == 403
    assert not Tick.objects.exists()

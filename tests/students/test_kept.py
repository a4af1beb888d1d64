"""What a device is given to keep, and when it is told to keep nothing."""

import json
from datetime import timedelta

import pytest
from django.contrib.staticfiles import finders
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.cards import new_card
from students.records import Terms
from students.today_page import break_is_due
from students.views.kept import kept_files
from tests.students.test_practice import TUNE

pytestmark = pytest.mark.django_db


@pytest.fixture
def assignment(cast):
    arrangement = add_piece(cast.studio, read_tab(TUNE), rights="own")
    today = cast.studio.today
    cast.learner.minutes = dict.fromkeys(cast.learner.minutes | {"sun": 0}, 10)
    cast.learner.save()
    return practice.assign(cast.learner, arrangement, Terms(("A",), 72, today, today + timedelta(days=10)))


def week_of(client):
    return client.get(reverse("kept_week")).json()


def test_seven_days_are_kept_with_every_loop_planned_for_them(cast, assignment, sign_in):
    week = week_of(sign_in(student=cast.learner))
    first = cast.studio.today
    assert [day["day"] for day in week["days"]] == [f"{first + timedelta(days=n)}" for n in range(7)]
    for n, day in enumerate(week["days"]):
        planned = cast.learner.tasks.filter(day=first + timedelta(days=n))
        assert [loop["key"] for loop in day["loops"]] == [task.chunk.key for task in planned]
        for loop in day["loops"]:
            assert week["bars"][loop["bars"]].count("<svg") > 1


def test_each_loop_brings_its_bars_its_sound_its_tempos_and_its_form(cast, assignment, sign_in):
    week = week_of(sign_in(student=cast.learner))
    loop = week["days"][0]["loops"][0]
    bars, html = week["bars"][loop["bars"]], loop["html"]
    sound = json.loads(bars.split('type="application/json">')[1].split("</script>")[0])
    assert sound["plucks"] and sound["clicks"] and sound["counts"]
    assert sound["counts"][0][1] in bars
    assert f'data-assignment="{loop["assignment"]}" data-key="{loop["key"]}"' in html
    assert 'name="tempo"' in html and 'value="clean"' in html
    assert "csrfmiddlewaretoken" not in html


def test_the_bars_of_a_loop_are_sent_once_however_often_it_returns(cast, assignment, sign_in):
    week = week_of(sign_in(student=cast.learner))
    loops = [loop["bars"] for day in week["days"] for loop in day["loops"]]
    assert len(loops) > len(set(loops)) == len(week["bars"])


def test_what_was_ticked_is_kept_as_ticked(cast, assignment, sign_in):
    client = sign_in(student=cast.learner)
    task = cast.learner.tasks.filter(day=cast.studio.today).first()
    from uuid import uuid4

    from django.utils import timezone

    made = practice.record_tick(
        cast.learner, task, uuid=uuid4(), day=task.day, tempo=50, felt="slips", at=timezone.now()
    )
    loop = week_of(client)["days"][0]["loops"][0]
    assert loop["tick"] == {"uuid": str(made.uuid), "tempo": 50, "felt": "slips"}


def test_a_learner_keeps_only_their_own_week(cast, assignment, sign_in):
    week = week_of(sign_in(student=cast.other_learner))
    assert all(not day["loops"] for day in week["days"])
    assert week["device"]["learner"] != week_of(sign_in(student=cast.learner))["device"]["learner"]


def test_the_page_without_a_network_says_nothing_of_anybody(cast, assignment, sign_in):
    page = sign_in(student=cast.learner).get(reverse("kept_page")).content.decode()
    assert "Juno" not in page and "Eight Stairs" not in page


def test_a_week_is_never_left_in_a_cache_on_the_way(cast, assignment, sign_in):
    answer = sign_in(student=cast.learner).get(reverse("kept_week"))
    assert "no-store" in answer["Cache-Control"]


def test_every_file_that_the_worker_keeps_exists(client):
    assert all(finders.find(address.removeprefix("/static/")) for address in kept_files())
    worker = client.get(reverse("today_worker"))
    assert worker["Content-Type"].startswith("text/javascript")
    named = json.loads(worker.content.decode().split("const NAMED = ")[1].split(";\n")[0])
    assert named["files"] == kept_files()
    assert reverse("today").startswith(reverse("today_worker").rpartition("/")[0])


def test_every_module_that_the_kept_page_needs_is_kept():
    """Follow the imports: a module that is missing offline leaves a dead page."""
    found, todo = set(), ["today.js", "kept.js"]
    while todo:
        name = todo.pop()
        if name not in found:
            found.add(name)
            with open(finders.find(f"studio/{name}"), encoding="utf-8") as file:
                todo += [line.split('"./')[1].split('"')[0] for line in file if 'from "./' in line]
    assert {f"/static/studio/{name}" for name in found} <= set(kept_files())


def test_the_manifest_names_icons_that_exist_and_begins_at_today(client):
    manifest = client.get(reverse("app_manifest")).json()
    assert manifest["start_url"] == reverse("today")
    assert manifest["display"] == "standalone"
    assert {icon["sizes"] for icon in manifest["icons"]} == {"192x192", "512x512"}
    assert all(finders.find(icon["src"].removeprefix("/static/")) for icon in manifest["icons"])


def test_signing_out_tells_the_device_to_keep_nothing(cast, sign_in):
    answer = sign_in(student=cast.learner).post(reverse("sign_out"))
    assert '"storage"' in answer["Clear-Site-Data"]
    assert "Clear-Site-Data" not in sign_in(cast.owner).post(reverse("sign_out"))


@pytest.mark.parametrize("name", ["today", "kept_week", "kept_page"])
def test_a_device_whose_card_was_replaced_is_told_to_keep_nothing(cast, sign_in, name):
    client = sign_in(student=cast.learner)
    new_card(cast.learner)
    answer = client.get(reverse(name))
    assert answer.status_code == 302
    assert '"storage"' in answer["Clear-Site-Data"]


def test_a_break_is_due_once_after_each_half_hour():
    # BAPAM: five minutes of break in each half hour of playing.
    played = [10, 12, 9, 10, 25]
    assert [break_is_due(played[:n]) for n in range(1, 6)] == [False, False, True, False, True]


def test_the_caution_stands_on_the_loop_where_it_is_due(cast, assignment, sign_in):
    page = sign_in(student=cast.learner).get(reverse("today")).content.decode()
    assert "break" not in page
    tasks = cast.learner.tasks.filter(day=cast.studio.today)
    tasks.update(minutes=31)
    client = sign_in(student=cast.learner)
    first = client.get(reverse("today"), {"loop": "1"}).content.decode()
    assert "take a break of 5 minutes after each half hour" in first
    assert "Never play through pain" in first
    if tasks.count() > 1:
        second = client.get(reverse("today"), {"loop": "2"}).content.decode()
        assert "Half an hour is played. Take a break of 5 minutes first." in second

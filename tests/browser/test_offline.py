"""A phone that loses its network: the day goes on, and every tick arrives once."""

import json
import time
from collections import Counter

import pytest
from django.urls import reverse

from students.cards import new_card
from students.models import Tick
from tests.browser.looking import signed_in

pytestmark = pytest.mark.django_db(transaction=True)

THOUSAND = 1000
ADD = """async ([modules, learner, ticks]) => {
  const queue = await import(`${modules}/queue.js`);
  for (const tick of ticks) await queue.add({ learner, ...tick });
}"""
SEND = """async ([modules, device]) => {
  const { send } = await import(`${modules}/device.js`);
  const { sent, refused, failed } = await send(device);
  return { sent, refused, failed: failed && String(failed) };
}"""
WAITING = """async ([modules, learner]) => {
  const { waiting } = await import(`${modules}/queue.js`);
  return (await waiting(learner)).map(({ uuid }) => uuid);
}"""
ON_THIS_DEVICE = """async (modules) => {
  const { waiting } = await import(`${modules}/queue.js`);
  const databases = await indexedDB.databases();
  return { caches: (await caches.keys()).filter((name) => name.includes("week")),
           databases: databases.length, learner: localStorage.getItem("fourbar-learner") };
}"""


@pytest.fixture
def modules(site):
    return f"{site}/static/studio"


def device_of(page):
    return json.loads(page.locator("#device").text_content())


def made(assignment, number):
    """The n-th of many ticks, told apart by its uuid and in order by its minute."""
    return {
        "uuid": f"00000000-0000-4000-8000-{number:012d}",
        "assignment": assignment.pk,
        "revision": assignment.revision_id,
        "key": "pair:1-2",
        "day": assignment.starts_on.isoformat(),
        "at": f"{assignment.starts_on}T00:{number // 60 % 60:02d}:{number % 60:02d}Z",
        "tempo": 40 + number % 100,
        "felt": "clean",
        "minutes": 1,
    }


def until(page, script, seconds=15):
    """Ask the page until it answers yes."""
    end = time.monotonic() + seconds
    while not page.evaluate(script):
        assert time.monotonic() < end, f"never came: {script}"
        page.wait_for_timeout(50)


def kept_offline(page, site):
    """Wait until the worker has charge of the page and the week is kept."""
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    until(page, "caches.match('/today/week/', { cacheName: 'fourbar-week' }).then(Boolean)")


def tick_it(page, number, felt="Clean"):
    page.locator("label", has=page.locator('[name="tempo"]')).first.click()
    page.locator("#tick").get_by_text(felt, exact=True).click()
    page.get_by_role("button", name=f"Tick loop {number}").click()


def test_a_thousand_ticks_cut_off_in_the_middle_are_none_lost_and_none_doubled(phone, given, site, modules):
    page = phone()
    device = device_of(page)
    ticks = [made(given, n) for n in range(THOUSAND)]
    page.evaluate(ADD, [modules, device["learner"], ticks])
    arrived, answered = [], []

    def cut_off(route):
        """The 10th request never leaves; the answers to the 15th and 20th are lost on the way back."""
        arrived.append(json.loads(route.request.post_data)["ticks"])
        if len(arrived) == 10:
            route.abort("internetdisconnected")
        elif len(arrived) in (15, 20):
            route.fetch()
            route.abort("connectionreset")
        else:
            answer = route.fetch()
            answered.append(answer.status)
            route.fulfill(response=answer)
            if len(arrived) == 25:
                page.context.set_offline(True)

    page.route(f"**{reverse('ticks')}", cut_off)
    outcomes = []
    for _ in range(12):
        outcomes.append(page.evaluate(SEND, [modules, device]))
        page.context.set_offline(False)
        if not outcomes[-1]["failed"]:
            break
    assert sum(bool(outcome["failed"]) for outcome in outcomes) >= 3
    assert set(answered) == {200}
    assert page.evaluate(WAITING, [modules, device["learner"]]) == []
    kept = Counter(str(uuid) for uuid in Tick.objects.values_list("uuid", flat=True))
    assert kept == Counter(tick["uuid"] for tick in ticks)
    in_order = [str(uuid) for uuid in Tick.objects.order_by("pk").values_list("uuid", flat=True)]
    assert in_order == [tick["uuid"] for tick in ticks]


def test_two_pages_that_send_at_once_send_each_tick_once(phone, given, site, modules):
    page = phone()
    device = device_of(page)
    other = page.context.new_page()
    other.goto(site + reverse("today"))
    page.evaluate(ADD, [modules, device["learner"], [made(given, n) for n in range(100)]])
    begin = SEND.replace("async (", "(").replace("=> {", "=> { window.outcome = (async () => {", 1)
    begin = begin.rsplit("}", 1)[0] + "})(); }"
    for tab in (page, other):
        tab.evaluate(begin, [modules, device])
    outcomes = [tab.evaluate("window.outcome") for tab in (page, other)]
    assert sum(outcome["sent"] for outcome in outcomes) == Tick.objects.count() == 100


def test_a_day_is_practised_without_a_network_and_sent_when_it_is_back(phone, given, site):
    page = phone()
    kept_offline(page, site)
    loops = given.student.tasks.filter(day=given.starts_on).count()
    page.context.set_offline(True)
    page.goto(site + reverse("today"))
    page.get_by_text("No network").wait_for()
    for number in range(1, loops + 1):
        page.get_by_role("button", name="Hear").click()
        page.locator("rect.edge").wait_for(state="attached")
        tick_it(page, number)
        words = "1 tick is not sent yet" if number == 1 else f"{number} ticks are not sent yet"
        page.get_by_text(words).wait_for()
    page.get_by_text("That is all for today").wait_for()
    assert not Tick.objects.exists()
    page.context.set_offline(False)
    page.get_by_text("No network").wait_for(state="detached")
    page.get_by_text("That is all for today").wait_for()
    assert Tick.objects.filter(student=given.student).count() == loops
    assert not page.locator("#unsent").is_visible()


def test_a_tick_made_offline_can_be_taken_back_offline(phone, given, site):
    page = phone()
    kept_offline(page, site)
    page.context.set_offline(True)
    page.goto(site + reverse("today"))
    tick_it(page, 1, "Some slips")
    page.get_by_role("link", name="Loop 1 of").click()
    page.get_by_text("some slips").wait_for()
    page.get_by_role("button", name="Take back").click()
    page.get_by_role("button", name="Tick loop 1").wait_for()
    page.context.set_offline(False)
    page.get_by_text("No network").wait_for(state="hidden")
    page.get_by_role("button", name="Tick loop 1").wait_for()
    assert Tick.objects.count() == 2
    assert not Tick.objects.standing().exists()


def test_after_signing_out_nothing_of_the_learner_stays_on_the_device(phone, given, site, modules):
    page = phone()
    kept_offline(page, site)
    page.get_by_role("button", name="Sign out").click()
    page.get_by_label("E-mail").wait_for()
    left = page.evaluate(ON_THIS_DEVICE, modules)
    assert left["caches"] == []
    assert left["learner"] is None
    page.context.set_offline(True)
    with pytest.raises(Exception, match="ERR_INTERNET_DISCONNECTED"):
        page.goto(site + reverse("today"))


def test_signing_out_with_ticks_that_cannot_be_sent_is_asked_first(phone, given, site, modules):
    page = phone()
    kept_offline(page, site)
    page.evaluate(ADD, [modules, device_of(page)["learner"], [made(given, 1)]])
    page.route(f"**{reverse('ticks')}", lambda route: route.abort())
    asked = []
    page.once("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    page.get_by_role("button", name="Sign out").click()
    page.get_by_text("1 tick is not sent yet").wait_for()
    assert "will be lost" in asked[0]
    assert len(page.evaluate(WAITING, [modules, device_of(page)["learner"]])) == 1


def test_a_new_card_empties_the_device_at_the_first_contact(phone, given, site, modules):
    page = phone()
    kept_offline(page, site)
    learner = device_of(page)["learner"]
    page.evaluate(ADD, [modules, learner, [made(given, 1)]])
    new_card(given.student)
    page.goto(site + reverse("today"))
    page.get_by_role("button", name="Sign in").wait_for()
    until(page, "caches.has('fourbar-week').then((kept) => !kept)")
    assert page.evaluate(ON_THIS_DEVICE, modules)["caches"] == []
    assert page.evaluate(WAITING, [modules, learner]) == []


def test_what_another_learner_left_unsent_is_never_sent(phone, given, cast, site, modules, sign_in):
    page = phone()
    kept_offline(page, site)
    first = device_of(page)
    page.route(f"**{reverse('ticks')}", lambda route: route.abort())
    page.evaluate(ADD, [modules, first["learner"], [made(given, 1)]])
    page.unroute_all()
    sent = []
    page.on("request", lambda request: request.url.endswith(reverse("ticks")) and sent.append(request))
    page.context.clear_cookies()
    signed_in(page.context, site, sign_in(student=cast.other_learner))
    page.goto(site + reverse("today"))
    page.get_by_text("Nothing is planned today").wait_for()
    kept_offline(page, site)
    assert page.evaluate(WAITING, [modules, first["learner"]]) == []
    assert sent == []
    assert not Tick.objects.exists()
    week = page.evaluate(
        "async () => (await (await caches.open('fourbar-week')).match('/today/week/')).text()"
    )
    assert "pair:1-2" not in week

"""Every page at three widths: nothing that axe faults, nothing that scrolls sideways."""

from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.cards import new_card
from students.records import Terms
from studio.lessons.changes import note_absence
from studio.lessons.models import Lesson
from tests.browser.test_story import TUNE
from tests.lessons.week import joined, slot
from tests.students.steps import tick

pytestmark = pytest.mark.django_db(transaction=True)

WIDTHS = (320, 768, 1280)
TEACHERS_PAGES = (
    ("overview", ()),
    ("lesson_list", ()),
    ("lesson", ("student",)),
    ("lesson_time", ("student",)),
    ("lesson_change", ("student", "today")),
    ("lesson_extra", ("student",)),
    ("my_calendar", ()),
    ("student_calendar", ("student",)),
    ("across", ("arrangement",)),
    ("handout_list", ()),
    ("piece_list", ()),
    ("piece_new", ()),
    ("piece_bring", ()),
    ("tab_guide", ()),
    ("piece_about", ("piece",)),
    ("arrangement", ("arrangement",)),
    ("arrangement_edit", ("arrangement",)),
    ("arrangement_settings", ("arrangement",)),
    ("arrange", ("arrangement",)),
    ("set_for", ("arrangement",)),
    ("shapes", ("arrangement",)),
    ("bar", ("arrangement", "bar")),
    ("student_list", ()),
    ("student_new", ()),
    ("student", ("student",)),
    ("student_about", ("student",)),
    ("student_away", ("student",)),
    ("assign", ("student", "arrangement")),
    ("assign_to", ("arrangement",)),
    ("choose_piece", ("student",)),
)
LEARNERS_PAGES = (("today", ()), ("kept_page", ()), ("my_pieces", ()), ("progress", ()))
OPEN_PAGES = (("sign_in", ()), ("card_sign_in", ()))
STICKING_OUT = """() => [...document.querySelectorAll("body *")]
    .filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".wide, .scroll"))
    .slice(0, 4).map((e) => `${e.tagName}.${e.className}`)"""


@pytest.fixture
def studio_with_work(cast):
    arrangement = add_piece(cast.studio, read_tab(TUNE), rights="own")
    today = cast.studio.today
    cast.learner.minutes = dict.fromkeys(("mon", "tue", "wed", "thu", "fri", "sat", "sun"), 12)
    cast.learner.save()
    given = practice.assign(cast.learner, arrangement, Terms(("A",), 72, today, today + timedelta(days=7)))
    tick(given.tasks.filter(day=today).first(), felt="slips", minutes=5)
    slot(joined(cast.learner), today.weekday(), "16:30", teacher=cast.owner)
    slot(joined(cast.other_learner), today.weekday(), "17:00", teacher=cast.owner)
    Lesson.objects.create(
        studio=cast.studio, student=cast.learner, day=today - timedelta(days=7), promised="Bring the duet."
    )
    note_absence(cast.other_learner, today, owed=True, today=today, by=cast.owner)
    return {
        "student": cast.learner.pk,
        "piece": arrangement.piece_id,
        "arrangement": arrangement.pk,
        "bar": 3,
        "today": today,
    }


def signed_in(context, site, client: Client):
    cookie = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": cookie, "url": site}])


def look_over(page, site, pages, rows, width):
    """Faults of every page, in words; an empty list where there are none."""
    found = []
    page.set_viewport_size({"width": width, "height": 800})
    errors = []
    page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
    page.on(
        "response",
        lambda answer: errors.append(f"{answer.status} {answer.url}") if answer.status > 399 else None,
    )
    for name, names in pages:
        page.goto(site + reverse(name, args=[rows[n] for n in names]))
        result = Axe().run(page)
        found += [f"{name}: {v['id']} {v['nodes'][0]['html'][:120]}" for v in result.response["violations"]]
        if page.evaluate("document.documentElement.scrollWidth") > width:
            found.append(f"{name} scrolls sideways: {page.evaluate(STICKING_OUT)}")
    return list(dict.fromkeys(found + errors))


@pytest.mark.parametrize("width", WIDTHS)
def test_axe_faults_nothing_on_the_teachers_pages(
    cast, studio_with_work, sign_in, site, context, page, width
):
    signed_in(context, site, sign_in(cast.owner))
    assert look_over(page, site, TEACHERS_PAGES, studio_with_work, width) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_axe_faults_nothing_on_the_learners_pages(cast, studio_with_work, site, context, page, width):
    client = Client()
    session = client.session
    session["card"] = new_card(cast.learner)[0].pk
    session.save()
    signed_in(context, site, client)
    assert look_over(page, site, LEARNERS_PAGES, studio_with_work, width) == []


def test_axe_faults_nothing_on_the_open_pages(cast, site, page):
    assert look_over(page, site, OPEN_PAGES, {}, 390) == []


def test_the_pages_hold_in_the_dark(cast, studio_with_work, sign_in, site, browser):
    context = browser.new_context(color_scheme="dark")
    signed_in(context, site, sign_in(cast.owner))
    assert look_over(context.new_page(), site, TEACHERS_PAGES, studio_with_work, 1280) == []
    context.close()

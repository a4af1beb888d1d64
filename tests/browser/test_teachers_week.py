"""The teacher's week in a browser: how long it takes, by keyboard alone, with nothing hidden.

Counted are keys and clicks, text of a note aside: a press of two keys together is one.
"""

import re
from datetime import timedelta
from time import monotonic

import pytest
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.models import Mark
from students.records import Terms
from studio.lessons.models import Lesson
from tests.browser.looking import signed_in
from tests.lessons.week import joined, slot
from tests.students.steps import tick
from tests.tune import TUNE

pytestmark = pytest.mark.django_db(transaction=True)

MOST_PRESSES, MOST_SECONDS = 12, 120
# What has the focus: its name, whether it is ringed, how large it is, and whether anything lies over it.
FOCUSED = """() => {
  const e = document.activeElement, box = e.getBoundingClientRect(), style = getComputedStyle(e);
  const said = (e.getAttribute("aria-label") || e.innerText || e.name || "").replace(/\\s+/g, " ");
  const at = document.elementFromPoint(
    Math.min(innerWidth - 1, Math.max(0, box.x + box.width / 2)),
    Math.min(innerHeight - 1, Math.max(0, box.y + Math.min(box.height / 2, 12))));
  return {
    name: `${e.tagName} ${said.trim().slice(0, 40)}`,
    ringed: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    seen: box.bottom > 0 && box.top < innerHeight && !!at && (e.contains(at) || at.contains(e)),
    inline: style.display === "inline", width: box.width, height: box.height};
}"""


def press_with_alt(page, digit):
    """An access key. The driver's own keyboard leaves out the text by which Chromium knows it."""
    session = page.context.new_cdp_session(page)
    press = {"modifiers": 1, "key": digit, "code": f"Digit{digit}", "text": digit, "unmodifiedText": digit}
    session.send("Input.dispatchKeyEvent", {"type": "keyDown", **press})
    session.send("Input.dispatchKeyEvent", {"type": "keyUp", **press})
    session.detach()


class Hands:
    """A teacher's hands on a page: what they press is counted."""

    def __init__(self, page):
        self.page, self.presses = page, 0

    def access(self, digit):
        self.presses += 1
        press_with_alt(self.page, digit)

    def tap(self, found):
        self.presses += 1
        found.click()


@pytest.fixture
def juno(cast):
    """Juno comes today, Otto after her; she has a section, a week of ticks and an open promise."""
    now = cast.studio.now
    arrangement = add_piece(cast.studio, read_tab(TUNE), rights="own")
    today = cast.studio.today
    for student in (cast.learner, cast.other_learner):
        student.minutes = dict.fromkeys(student.minutes, 12)
        joined(student, today - timedelta(days=60))
    slot(cast.learner, today.weekday(), f"{now:%H:%M}", teacher=cast.owner)
    tomorrow = today + timedelta(days=1)
    slot(cast.other_learner, tomorrow.weekday(), "09:00", teacher=cast.owner)
    start = today - timedelta(days=6)
    given = practice.assign(cast.learner, arrangement, Terms(("A",), 72, start, today))
    for task in given.tasks.filter(day__lt=today):
        tick(task, felt="slips", minutes=4)
    Lesson.objects.create(
        studio=cast.studio,
        student=cast.learner,
        teacher=cast.owner,
        day=today - timedelta(days=7),
        promised="Bring the duet.",
    )
    return cast.learner


@pytest.fixture
def desk(cast, juno, sign_in, site, context, page):
    signed_in(context, site, sign_in(cast.owner))
    page.set_viewport_size({"width": 1280, "height": 800})
    return page


def until(juno):
    return juno.assignments.get().until


def test_the_next_week_is_assigned_in_few_presses_and_little_time(juno, desk, site, cast):
    began, hands = monotonic(), Hands(desk)
    desk.goto(site + reverse("student", args=[juno.pk]))
    hands.access("1")
    desk.get_by_role("heading", name="Next week, proposed").wait_for()
    hands.tap(desk.get_by_role("button", name="Assign", exact=True))
    desk.get_by_text("Juno Pell: the next week is assigned").wait_for()
    took = monotonic() - began
    print(f"{hands.presses} presses, {took:.1f} s of which all is the machine's")
    assert hands.presses < MOST_PRESSES
    assert took < MOST_SECONDS
    assert until(juno) > cast.studio.today


def test_a_whole_lesson_is_kept_in_few_presses(juno, desk, site, cast):
    """Open, tick the promise, mark a section, write, assign, and on to the next learner."""
    hands = Hands(desk)
    desk.goto(site + reverse("student", args=[juno.pk]))
    hands.access("1")
    hands.tap(desk.get_by_role("button", name="Kept"))
    desk.get_by_role("button", name="Kept", pressed=True).wait_for()
    hands.tap(desk.get_by_role("textbox", name="Note for Juno Pell"))
    desk.keyboard.type("Count aloud.")
    hands.tap(desk.get_by_role("group", name="Mark section A").get_by_role("button", name="at tempo"))
    desk.get_by_text("Marked at tempo").wait_for()
    assert desk.get_by_role("textbox", name="Note for Juno Pell").input_value() == "Count aloud."
    hands.tap(desk.get_by_role("button", name="Assign", exact=True))
    desk.get_by_text("the next week is assigned").wait_for()
    hands.access("0")
    desk.get_by_role("heading", name="Otto Brand", exact=True).wait_for()
    print(f"{hands.presses} presses")
    assert hands.presses < MOST_PRESSES
    assert Lesson.objects.get(student=juno, day=cast.studio.today).note == "Count aloud."
    assert not Lesson.objects.filter(student=juno, kept_on=None).exclude(promised="").exists()


def tab_to(page, wanted, faults, *, most=60):
    """Press Tab until what is wanted has the focus; keep what is wrong on the way."""
    for _ in range(most):
        page.keyboard.press("Tab")
        focused = page.evaluate(FOCUSED)
        if focused["name"].startswith("BODY"):
            continue  # round the end of the page
        if not focused["ringed"] or not focused["seen"]:
            faults.append(focused)
        if not focused["inline"] and min(focused["width"], focused["height"]) < 24:
            faults.append(focused)
        if re.fullmatch(wanted, focused["name"]):
            return
    raise AssertionError(f"No {wanted} within {most} presses of Tab")


@pytest.mark.parametrize("width", [1280, 390])
def test_the_main_job_goes_by_keyboard_alone_and_the_focus_is_never_hidden(juno, desk, site, cast, width):
    desk.set_viewport_size({"width": width, "height": 700})
    faults = []
    desk.goto(site + reverse("student", args=[juno.pk]))
    tab_to(desk, "A Open lesson.*", faults)
    desk.keyboard.press("Enter")
    desk.get_by_role("heading", name="Next week, proposed").wait_for()
    tab_to(desk, "BUTTON at tempo", faults)
    desk.keyboard.press("Enter")
    desk.get_by_text("Marked at tempo").wait_for()
    # The page changed beneath the keys, and the focus stayed where it was.
    assert desk.evaluate(FOCUSED)["name"] == "BUTTON at tempo"
    tab_to(desk, "TEXTAREA note", faults)
    desk.keyboard.type("Thumb rests.")
    tab_to(desk, "BUTTON Assign", faults)
    desk.keyboard.press("Enter")
    desk.get_by_text("the next week is assigned").wait_for()
    tab_to(desk, "A Next lesson.*", faults)
    desk.keyboard.press("Enter")
    desk.get_by_role("heading", name="Otto Brand", exact=True).wait_for()
    assert faults == []
    assert Mark.objects.get(student=juno).standing == "at tempo"
    assert until(juno) > cast.studio.today


def test_the_next_lesson_is_one_key_away_on_every_page_of_the_desk(juno, desk, site):
    pages = [
        ("overview", ()),
        ("lesson_list", ()),
        ("piece_list", ()),
        ("student_list", ()),
        ("handout_list", ()),
    ]
    for name, arguments in [*pages, ("student", [juno.pk]), ("lesson", [juno.pk])]:
        desk.goto(site + reverse(name, args=arguments))
        press_with_alt(desk, "0")
        own = arguments == [juno.pk]
        desk.get_by_role("heading", name="Otto Brand" if own else "Juno Pell", level=1, exact=True).wait_for()


def test_without_script_the_week_is_assigned_all_the_same(juno, cast, sign_in, site, browser):
    context = browser.new_context(java_script_enabled=False)
    signed_in(context, site, sign_in(cast.owner))
    page = context.new_page()
    page.goto(site + reverse("lesson", args=[juno.pk]))
    page.get_by_role("button", name="Kept").click()
    page.get_by_role("button", name="Kept", pressed=True).wait_for()
    page.get_by_role("group", name="Mark section A").get_by_role("button", name="learning").click()
    page.get_by_text("Marked learning").wait_for()
    page.get_by_role("button", name="Assign", exact=True).click()
    page.get_by_text("the next week is assigned").wait_for()
    context.close()

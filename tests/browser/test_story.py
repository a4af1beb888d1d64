"""The main job in a real browser: from typing a piece to the handout on paper."""

from datetime import timedelta
from io import BytesIO

import pytest
from django.urls import reverse

from students import cards
from students.models import Tick
from tests.tune import TUNE

pytestmark = pytest.mark.django_db(transaction=True)

PHONE = {"width": 390, "height": 844}
LAPTOP = {"width": 1280, "height": 900}


@pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["phone", "laptop"])
def test_a_piece_goes_in_and_a_learners_week_comes_out(cast, site, page, browser, size):
    page.set_viewport_size(size)
    student = cast.learner
    student.minutes = dict.fromkeys(student.minutes | {"sun": 0}, 20)
    student.save()

    # The teacher signs in and types a piece; what is wrong is said while it is typed.
    page.goto(site)
    page.get_by_label("E-mail").fill("ines@lantern.example")
    page.get_by_label("Password").fill("a long enough password")
    page.get_by_role("button", name="Sign in").click()
    page.goto(site + reverse("piece_new"))
    page.get_by_label("Counted tab").fill(TUNE.replace("A|-3---2", "A|-3---z"))
    page.get_by_text("bar 1").first.wait_for()
    page.get_by_label("Counted tab").fill(TUNE)
    page.get_by_text("Every bar adds up").wait_for()
    page.get_by_label("Rights").select_option("own")
    page.get_by_role("button", name="Keep and work up").click()

    # It is worked up: bars, hard spots, something to confirm. The teacher decides one thing.
    page.get_by_role("heading", name="Eight Stairs").wait_for()
    assert page.locator("svg.strip [id^=b]").count() > 4
    page.get_by_role("button", name="Right", exact=True).first.click()
    page.get_by_role("link", name="Bar 3").first.click()
    page.get_by_label("How hard it is, 0 to 10").fill("9")
    page.get_by_role("button", name="Keep").click()
    page.get_by_text("Bar 3 is 9 of 10").wait_for()

    # It is given to a learner, with the plan seen first.
    page.get_by_role("link", name="Assign").click()
    page.get_by_role("link", name="Juno Pell").click()
    page.get_by_text("Does it fit?").wait_for()
    page.get_by_role("button", name="Assign", exact=False).first.click()
    page.get_by_role("heading", name="Juno Pell").wait_for()
    today = cast.studio.today
    before = list(student.tasks.filter(day__gt=today).values_list("day", "chunk__key", "from_tempo"))
    assert student.tasks.filter(day=today).exists()

    # The learner signs in by card, on a phone of their own, and ticks every loop of today.
    _card, token = cards.new_card(student)
    phone = browser.new_context(viewport=PHONE)
    theirs = phone.new_page()
    theirs.goto(f"{site}{reverse('card_sign_in')}#{token}")
    theirs.get_by_role("button", name="Sign in as Juno Pell").click()
    loops = student.tasks.filter(day=today).count()
    for number in range(1, loops + 1):
        theirs.get_by_role("button", name=f"Tick loop {number}").wait_for()
        theirs.locator("label", has=theirs.locator('[name="tempo"]')).first.click()
        theirs.get_by_text("Broke down").click()
        theirs.get_by_role("button", name=f"Tick loop {number}").click()
    theirs.get_by_text("That is all for today").wait_for()
    assert Tick.objects.filter(student=student, felt="broke").count() == loops
    phone.close()

    # The plan followed, and the teacher sees it, marks a section and prints the week.
    page.goto(site + reverse("lesson", args=[student.pk]))
    after = list(student.tasks.filter(day__gt=today).values_list("day", "chunk__key", "from_tempo"))
    assert after != before
    page.get_by_role("group", name="Mark section A").get_by_role("button", name="learning").click()
    page.get_by_text("Marked learning").wait_for()
    page.get_by_role("textbox", name="Note for Juno Pell").fill("Say the count first.")
    page.get_by_role("button", name="Assign", exact=True).click()
    page.get_by_role("heading", name="Who needs me first").wait_for()
    answer = page.request.get(site + reverse("week_pdf", args=[student.pk]))
    assert answer.ok
    assert BytesIO(answer.body()).read(5) == b"%PDF-"
    assert student.assignments.get().until > today + timedelta(days=1)

"""Arranging in a real browser: levels side by side, a key, and a level kept for each bar."""

import pytest
from django.urls import reverse

from pieces.models import Arrangement
from pieces.music.tab import read_tab
from pieces.workup import add_piece
from tests.browser.looking import signed_in

pytestmark = pytest.mark.django_db(transaction=True)

MELODY = """title: Two Lanterns
tuning: ukulele high G
meter: 4/4
tempo: 72
key: C

A|-3---2---0-----|-0-------2-3---|-2---0---------|-3-------------|
E|---------------|---------------|---------3-----|---------------|
C|---------------|---------------|---------------|---------------|
G|---------------|---------------|---------------|---------------|
   1   2   3   4   1   2   3 & 4   1   2   3   4   1   2   3   4
"""


@pytest.fixture
def arranging(cast, sign_in, site, context, page):
    """The Arrange page of a tune without chords."""
    arrangement = add_piece(cast.studio, read_tab(MELODY), rights="own", arrangement="melody alone")
    signed_in(context, site, sign_in(cast.owner))
    page.goto(site + reverse("arrangement", args=[arrangement.pk]))
    page.get_by_role("link", name="Arrange").click()
    return page


def test_a_tune_is_arranged_bar_by_bar_and_kept(arranging):
    page = arranging
    page.set_viewport_size({"width": 1280, "height": 900})
    page.get_by_text("These chords are a proposal").wait_for()

    # A chord is changed, and two bars are made fuller than the rest.
    page.get_by_role("textbox", name="Chords").fill("C | Am | G7 | C")
    page.get_by_role("button", name="Look again").click()
    page.get_by_role("heading", name="2 Melody with open or thumb notes").wait_for()
    assert page.get_by_text("These chords are a proposal").count() == 0
    page.get_by_role("button", name="Choose for every bar").nth(1).click()
    for bar in (1, 4):
        page.get_by_role("group", name=f"Bar {bar}", exact=True).get_by_role(
            "radio", name="full chords"
        ).check()
    page.get_by_role("button", name="Look at it whole").click()
    page.get_by_role("heading", name="As chosen").wait_for()
    page.get_by_role("button", name="Keep as chosen").click()

    page.get_by_text("Kept as another arrangement").wait_for()
    kept = Arrangement.objects.latest("pk").to_score()
    most = [max(len(event.notes) for event in bar.events) for bar in kept.bars]
    assert most[0] > 2 and most[3] > 2
    assert most[1] == most[2] == 2
    assert [bar.chords[0].symbol for bar in kept.bars] == ["C", "Am", "G7", "C"]


@pytest.mark.parametrize(("width", "in_a_row"), [(390, 1), (800, 2), (1280, 4)])
def test_the_levels_of_a_bar_stand_side_by_side_or_one_under_the_other(arranging, width, in_a_row):
    arranging.set_viewport_size({"width": width, "height": 900})
    cells = arranging.get_by_role("group", name="Bar 1", exact=True).locator(".level")
    tops = [cells.nth(n).bounding_box()["y"] for n in range(4)]
    assert sum(abs(top - tops[0]) < 1 for top in tops) == in_a_row
    assert arranging.evaluate("document.documentElement.scrollWidth") == width


def test_each_level_and_bar_can_be_heard_and_stopped(arranging):
    page = arranging
    errors = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    for hear in (
        page.locator('[data-hear="l3"]:not([data-bar])'),
        page.get_by_label("Hear bar 2, full chords"),
    ):
        hear.click()
        assert hear.inner_text() == "Stop"
        hear.click()
        assert hear.inner_text() == "Hear"
    first, second = page.get_by_label("Hear bar 1, alone"), page.get_by_label("Hear bar 1, with thumb")
    first.click()
    second.click()
    assert (first.inner_text(), second.inner_text()) == ("Hear", "Stop")
    page.wait_for_selector("rect.edge", state="attached")
    assert errors == []


def test_without_script_no_button_promises_sound_and_a_level_can_still_be_kept(arranging, context, browser):
    address, cookies = arranging.url, context.cookies()
    plain = browser.new_context(java_script_enabled=False)
    plain.add_cookies(cookies)
    page = plain.new_page()
    page.goto(address)
    assert page.locator("[data-hear]").count() > 4
    assert page.locator("[data-hear]:visible").count() == 0
    page.get_by_role("button", name="Keep this level").first.click()
    page.get_by_text("Kept as another arrangement").wait_for()
    plain.close()

"""Every page at three widths: nothing that axe faults, nothing that scrolls sideways."""

import pytest
from django.test import Client

from students.cards import new_card
from tests.browser.looking import LEARNERS_PAGES, OPEN_PAGES, TEACHERS_PAGES, WIDTHS, look_over, signed_in

pytestmark = pytest.mark.django_db(transaction=True)


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

"""No page asks anybody but the studio for anything."""

import pytest
from django.test import Client
from django.urls import reverse

from students.cards import new_card
from tests.browser.looking import LEARNERS_PAGES, OPEN_PAGES, TEACHERS_PAGES, signed_in

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def elsewhere(context, site):
    """Addresses outside the studio that were asked for, refused by us here or by the page's own policy."""
    asked = []

    def judge(route):
        address = route.request.url
        if address.startswith((f"{site}/", "data:", "blob:")):
            route.continue_()
        else:
            asked.append(address)
            route.abort()

    def listen(message):
        if "Content Security Policy" in message.text:
            asked.append(message.text)

    context.route("**/*", judge)
    context.on("console", listen)
    return asked


def visit(page, site, pages, rows):
    for name, names in pages:
        page.goto(site + reverse(name, args=[rows[n] for n in names]))
        page.wait_for_load_state("networkidle")


def test_the_teachers_pages_ask_nobody_else(cast, studio_with_work, sign_in, site, context, page, elsewhere):
    signed_in(context, site, sign_in(cast.owner))
    visit(page, site, TEACHERS_PAGES, studio_with_work)
    assert elsewhere == []


def test_the_learners_and_the_open_pages_ask_nobody_else(
    cast, studio_with_work, site, context, page, elsewhere
):
    visit(page, site, OPEN_PAGES, {})
    client = Client()
    session = client.session
    session["card"] = new_card(cast.learner)[0].pk
    session.save()
    signed_in(context, site, client)
    visit(page, site, LEARNERS_PAGES, studio_with_work)
    assert elsewhere == []


@pytest.mark.parametrize("where", ["/sign-in/", ""])
def test_a_picture_from_elsewhere_would_be_noticed(site, page, elsewhere, where):
    page.goto(f"{site}{where}" if where else "about:blank")
    page.set_content('<img src="https://pictures.example/a.png">')
    page.wait_for_timeout(300)
    (noticed,) = elsewhere
    assert "https://pictures.example/a.png" in noticed

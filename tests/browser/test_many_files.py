"""Many files at once in a real browser: they are read by themselves, also after a reload."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from pieces.models import Batch, Piece
from tests.browser.looking import signed_in
from tests.pieces.test_batches import FILES

pytestmark = pytest.mark.django_db(transaction=True)


def bring(page, site, files):
    page.goto(site + reverse("piece_bring"))
    chosen = [
        {"name": name, "mimeType": "text/plain", "buffer": text.encode()} for name, text in files.items()
    ]
    page.get_by_label("File, or several at once").set_input_files(chosen)
    page.get_by_role("button", name="Read").click()


@pytest.mark.parametrize("width", [320, 1280])
def test_files_are_read_reported_and_kept_in_one_go(cast, sign_in, site, context, page, width):
    page.set_viewport_size({"width": width, "height": 800})
    signed_in(context, site, sign_in(cast.owner))
    bring(page, site, FILES)
    page.get_by_text("3 read, 2 ask something, 2 refused.").wait_for()
    assert [v["id"] for v in Axe().run(page).response["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.get_by_label("Key").select_option(index=1)
    page.get_by_label("Part").select_option("all")
    page.get_by_role("button", name="Read again").click()
    page.get_by_text("6 read, 2 refused.").wait_for()
    page.get_by_role("button", name="Keep 6 pieces").click()
    page.get_by_text("6 pieces kept.").wait_for()
    assert Piece.objects.count() == 6


def test_a_closed_page_goes_on_where_it_was(cast, sign_in, site, context, page):
    signed_in(context, site, sign_in(cast.owner))
    page.route("**/read/", lambda route: route.abort())
    bring(page, site, FILES)
    page.get_by_text("0 of 7 looked at").wait_for()
    page.close()
    again = context.new_page()
    again.goto(site + reverse("batch", args=[Batch.objects.get().pk]))
    again.get_by_text("2 refused.").wait_for()

"""The teacher's pages in every state a reader may set: large text, forced colours, no motion.

Asked is WCAG 2.2: 1.4.4 and 1.4.10 (text at 200%, nothing scrolls sideways), 1.4.11 (controls keep
an edge), 2.3.3 (no motion), 2.5.8 (targets of 24 pixels, links within a sentence aside).
"""

import pytest
from django.urls import reverse

from tests.browser.looking import STICKING_OUT, TEACHERS_PAGES, signed_in

pytestmark = pytest.mark.django_db(transaction=True)

SMALL_TARGETS = """() => [...document.querySelectorAll("a, button, input, select, textarea, summary")]
  .filter((e) => e.checkVisibility() && !e.closest(".skip, svg") && e.type !== "hidden")
  .map((e) => [e.closest("label")?.contains(e) && e.type !== "text" ? e.closest("label") : e, e])
  .filter(([box, e]) => getComputedStyle(e).display !== "inline"
      && Math.min(box.getBoundingClientRect().width, box.getBoundingClientRect().height) < 24)
  .map(([, e]) => `${e.outerHTML.slice(0, 90)} ${Math.round(e.getBoundingClientRect().height)}`)"""
WITHOUT_EDGE = """() => [...document.querySelectorAll(".btn, .choice button, textarea, select, input")]
  .filter((e) => e.checkVisibility() && !["hidden", "checkbox", "radio"].includes(e.type))
  .filter((e) => parseFloat(getComputedStyle(e).borderTopWidth) < 1
      || getComputedStyle(e).borderTopColor === getComputedStyle(document.body).backgroundColor)
  .map((e) => e.outerHTML.slice(0, 90))"""
# Text in the colour of the page, on the plate that forced colours lay behind it, cannot be seen.
UNSEEN_TEXT = """() => [...document.querySelectorAll(".btn, .tab b, .key b, .choice button, a")]
  .filter((e) => e.checkVisibility() && getComputedStyle(e).forcedColorAdjust !== "none"
      && getComputedStyle(e).color === getComputedStyle(document.body).backgroundColor)
  .map((e) => e.outerHTML.slice(0, 90))"""
MOVING = """() => [...document.querySelectorAll("body *")]
  .filter((e) => getComputedStyle(e).animationName !== "none"
      || parseFloat(getComputedStyle(e).transitionDuration) > 0)
  .map((e) => e.outerHTML.slice(0, 90))"""


def on_every_page(page, site, rows, asked):
    """What ``asked`` finds on each page, by name; nothing where all is well."""
    found = {}
    for name, names in TEACHERS_PAGES:
        page.goto(site + reverse(name, args=[rows[n] for n in names]))
        if faults := page.evaluate(asked):
            found[name] = faults
    return found


@pytest.fixture
def desk(cast, sign_in, site, context, page):
    signed_in(context, site, sign_in(cast.owner))
    return page


@pytest.mark.parametrize("width", [390, 1280])
def test_no_target_is_too_small_to_hit(desk, site, studio_with_work, width):
    desk.set_viewport_size({"width": width, "height": 800})
    assert on_every_page(desk, site, studio_with_work, SMALL_TARGETS) == {}


@pytest.mark.parametrize("width", [640, 1280])
def test_text_at_twice_its_size_scrolls_nothing_sideways(
    cast,
    sign_in,
    site,
    browser_type,
    browser_type_launch_args,
    studio_with_work,
    width,
):
    """A reader whose own text is of 32 pixels: the browser's setting, not a style of the page."""
    settings = [*browser_type_launch_args["args"], "--blink-settings=defaultFontSize=32"]
    reader = browser_type.launch(**{**browser_type_launch_args, "args": settings})
    context = reader.new_context(viewport={"width": width, "height": 900})
    signed_in(context, site, sign_in(cast.owner))
    page = context.new_page()
    found = on_every_page(page, site, studio_with_work, STICKING_OUT)
    assert page.evaluate("parseFloat(getComputedStyle(document.documentElement).fontSize)") == 32
    assert found == {}
    reader.close()


def test_controls_keep_an_edge_and_their_words_in_forced_colours(
    cast, sign_in, site, browser, studio_with_work
):
    context = browser.new_context(forced_colors="active", viewport={"width": 1280, "height": 800})
    signed_in(context, site, sign_in(cast.owner))
    page = context.new_page()
    assert on_every_page(page, site, studio_with_work, WITHOUT_EDGE) == {}
    assert on_every_page(page, site, studio_with_work, UNSEEN_TEXT) == {}
    context.close()


def test_nothing_moves_for_who_wants_no_motion(cast, sign_in, site, browser, studio_with_work):
    context = browser.new_context(reduced_motion="reduce")
    signed_in(context, site, sign_in(cast.owner))
    assert on_every_page(context.new_page(), site, studio_with_work, MOVING) == {}
    context.close()

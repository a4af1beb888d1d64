"""Looking a page over: what axe faults, what sticks out, what the console says."""

from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse

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
    ("piece_brought", ("brought",)),
    ("studio", ()),
    ("sections", ("arrangement",)),
    ("take_out", ("arrangement",)),
    ("bar_editor", ("arrangement", "bar")),
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
    ("teachers", ()),
    ("my_sessions", ()),
    ("audit", ()),
)
LEARNERS_PAGES = (("today", ()), ("kept_page", ()), ("my_pieces", ()), ("progress", ()))
OPEN_PAGES = (("sign_in", ()), ("card_sign_in", ()))
STICKING_OUT = """() => [...document.querySelectorAll("body *")]
    .filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".wide, .scroll"))
    .slice(0, 4).map((e) => `${e.tagName}.${e.className}`)"""


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

"""The bar editor in a real browser: by keyboard alone, by touch, and without a connection."""

import re
from fractions import Fraction

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse

from pieces.models import Arrangement, Revision
from pieces.music.tab import read_tab
from pieces.workup import add_piece
from tests.browser.looking import signed_in
from tests.students.test_editing import edit
from tests.tune import TUNE

pytestmark = pytest.mark.django_db(transaction=True)

KEPT = re.compile("Everything is kept")


@pytest.fixture
def arrangement(cast):
    return add_piece(cast.studio, read_tab(TUNE), rights="own")


@pytest.fixture
def editor(cast, arrangement, sign_in, site, context, page):
    """The page on bar 1, which has G, C, E and A strings at 0 0 0 3, then 2, then 0 and a held count."""
    signed_in(context, site, sign_in(cast.owner))
    page.goto(site + reverse("bar_editor", args=[arrangement.pk, 1]))
    page.get_by_role("grid").wait_for()
    return page


def press(page, *keys):
    for key in keys:
        page.keyboard.press(key)


def tab_to_the_grid(page):
    for _ in range(40):
        if page.evaluate("document.activeElement.closest('[role=grid]') !== null"):
            return
        press(page, "Tab")
    raise AssertionError("The grid cannot be reached by Tab.")


def bar(arrangement, number=1):
    """Onset, duration and places of each event, as the server has it now."""
    score = Arrangement.objects.get(pk=arrangement.pk).to_score()
    return [
        (str(e.onset), str(e.duration), [(n.string, n.fret) for n in e.notes])
        for e in score.bar(number).events
    ]


def wait_kept(page):
    page.get_by_text(KEPT).wait_for()


def spoken(page):
    return page.evaluate("document.activeElement.getAttribute('aria-label')")


def test_a_bar_is_edited_by_keyboard_alone(editor, arrangement):
    tab_to_the_grid(editor)
    assert spoken(editor) == "Count 1, string 1: fret 3"
    press(editor, "ArrowRight", "ArrowDown")
    assert spoken(editor) == "Count 2, string 2: empty"
    press(editor, "1", "2")  # within a moment: fret 12
    assert spoken(editor) == "Count 2, string 2: fret 12"
    press(editor, "ArrowUp", "x")  # what was on string 1 goes
    press(editor, "ArrowRight", "r")  # count 3 is silent
    press(editor, "ArrowRight", "7", "d", "ArrowRight", "5")  # count 4 in two
    assert spoken(editor) == "Count 4 and, string 1: fret 5"
    wait_kept(editor)
    assert bar(arrangement) == [
        ("0", "1/4", [(4, 0), (3, 0), (2, 0), (1, 3)]),
        ("1/4", "1/4", [(2, 12)]),
        ("1/2", "1/4", []),
        ("3/4", "1/8", [(1, 7)]),
        ("7/8", "1/8", [(1, 5)]),
    ]
    assert "string 2 fret 12" in editor.locator("[data-part=words]").inner_text()
    assert editor.locator("[data-part=engraved] svg").count() == 1
    assert Revision.objects.filter(arrangement=arrangement).count() == 2


def test_what_was_done_is_undone_and_done_again(editor, arrangement):
    before = bar(arrangement)
    tab_to_the_grid(editor)
    press(editor, "5", "h", "ArrowRight", "t", "j")
    wait_kept(editor)
    after = bar(arrangement)
    press(editor, *["z"] * 4)
    wait_kept(editor)
    assert bar(arrangement) == before
    press(editor, "Control+Shift+Z", "y", "y", "y")
    wait_kept(editor)
    assert bar(arrangement) == after


def test_a_fret_above_nine_needs_no_haste(editor, arrangement):
    tab_to_the_grid(editor)
    press(editor, "9", "+", "+", "+", "-")
    assert spoken(editor) == "Count 1, string 1: fret 11"
    wait_kept(editor)
    assert bar(arrangement)[0][2][-1] == (1, 11)


def test_undoing_goes_back_to_the_bar_in_which_it_was_done(editor, arrangement):
    tab_to_the_grid(editor)
    press(editor, "5", "n", "z")
    assert editor.get_by_role("heading", level=1).inner_text() == "Bar 1"
    assert spoken(editor) == "Count 1, string 1: fret 3"
    wait_kept(editor)
    assert bar(arrangement)[0][2][-1] == (1, 3)


def test_a_key_on_the_screen_can_be_pressed_by_keyboard_too(editor, arrangement):
    tab_to_the_grid(editor)
    editor.get_by_role("button", name="Rest").focus()
    press(editor, "Enter")
    assert editor.evaluate("document.activeElement.dataset.do") == "rest"
    wait_kept(editor)
    assert bar(arrangement)[0][2] == []


def test_a_triplet_and_a_held_count(editor, arrangement):
    tab_to_the_grid(editor)
    press(editor, "ArrowRight", "t", "ArrowRight", "3", "ArrowRight", "5", "ArrowRight", "h")
    assert spoken(editor) == "Count 3, string 1: fret 5, held"
    wait_kept(editor)
    score = Arrangement.objects.get(pk=arrangement.pk).to_score()
    second, third = score.bar(1).events[2:4]
    assert (second.duration, second.tuplet) == (Fraction(1, 12), (3, 2))
    assert third.duration == Fraction(1, 12) + Fraction(1, 4) + Fraction(1, 4)


def test_a_bar_is_copied_to_others_by_keyboard_and_the_copy_is_undone(editor, arrangement):
    one, two = bar(arrangement), bar(arrangement, 2)
    tab_to_the_grid(editor)
    press(editor, "c", "Space", "Tab", "Tab", "Space", "Enter")
    editor.get_by_text("Copied to bars 2, 4.").wait_for()
    wait_kept(editor)
    assert bar(arrangement, 2) == bar(arrangement, 4) == one
    press(editor, "z")
    wait_kept(editor)
    assert bar(arrangement, 2) == two


def test_the_keys_go_from_bar_to_bar_and_say_where_they_are(editor):
    tab_to_the_grid(editor)
    press(editor, "n")
    assert editor.get_by_role("heading", level=1).inner_text() == "Bar 2"
    assert spoken(editor).startswith("Count 1, string 1")
    press(editor, "End", "ArrowRight")
    assert editor.get_by_role("heading", level=1).inner_text() == "Bar 3"
    press(editor, "b", "b", "b")
    editor.get_by_text("This is the first bar.").wait_for()


def test_it_works_by_touch(cast, arrangement, sign_in, site, browser):
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    signed_in(context, site, sign_in(cast.owner))
    page = context.new_page()
    page.goto(site + reverse("bar_editor", args=[arrangement.pk, 1]))
    page.locator("[data-at='1'][data-string='3']").tap()
    page.get_by_role("button", name="4", exact=True).tap()
    page.locator("[data-at='2'][data-string='1']").tap()
    page.get_by_role("button", name="Hold").tap()
    wait_kept(page)
    assert bar(arrangement)[1:] == [("1/4", "3/4", [(3, 4), (1, 2)])]
    context.close()


def test_nothing_is_lost_without_a_connection(editor, context, arrangement):
    before = bar(arrangement)
    tab_to_the_grid(editor)
    context.set_offline(True)
    press(editor, "5", "n", "7")
    editor.get_by_text("No connection to the studio. 2 edits are kept on this device").wait_for()
    assert bar(arrangement) == before
    context.set_offline(False)
    wait_kept(editor)
    assert bar(arrangement)[0][2][-1] == (1, 5)
    assert bar(arrangement, 2)[0][2][-1] == (1, 7)


def test_what_was_edited_without_a_connection_outlives_the_page(editor, context, site, arrangement):
    tab_to_the_grid(editor)
    context.set_offline(True)
    press(editor, "5")
    editor.get_by_text("No connection").wait_for()
    editor.close()
    context.set_offline(False)
    page = context.new_page()
    page.goto(site + reverse("bar_editor", args=[arrangement.pk, 3]))
    wait_kept(page)
    assert bar(arrangement)[0][2][-1] == (1, 5)


def test_a_bar_that_a_colleague_changed_meanwhile_is_not_overwritten(cast, editor, context, arrangement):
    edit(arrangement, cast.teacher, number=1, fret=9)
    tab_to_the_grid(editor)
    press(editor, "5")
    editor.get_by_text("Bar 1 was changed by somebody else").wait_for()
    assert bar(arrangement)[0][2][-1] == (1, 9)
    editor.get_by_role("button", name="Take theirs").click()
    assert editor.locator("[data-at='0'][data-string='1']").inner_text() == "9"
    tab_to_the_grid(editor)
    press(editor, "6")
    wait_kept(editor)
    assert bar(arrangement)[0][2][-1] == (1, 6)


def test_what_the_teacher_insists_on_goes_over_what_a_colleague_wrote(cast, editor, arrangement):
    edit(arrangement, cast.teacher, number=1, fret=9)
    tab_to_the_grid(editor)
    press(editor, "5")
    editor.get_by_role("button", name="Keep mine").click()
    wait_kept(editor)
    assert bar(arrangement)[0][2][-1] == (1, 5)


def test_an_editor_that_was_signed_out_goes_on_after_signing_in(
    cast, editor, context, site, sign_in, arrangement
):
    tab_to_the_grid(editor)
    context.clear_cookies()
    press(editor, "5")
    editor.get_by_text("You are signed out. One edit stays on this device").wait_for()
    signed_in(context, site, sign_in(cast.owner))
    other = context.new_page()
    other.goto(site + reverse("piece_list"))
    wait_kept(editor)
    assert bar(arrangement)[0][2][-1] == (1, 5)


COUNT_SOUNDS = """
window.sounds = [];
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (at) {
  window.sounds.push(this.buffer.duration);
  return start.call(this, at);
};
"""


def test_each_change_is_heard_at_once_unless_the_sound_is_off(
    cast, arrangement, sign_in, site, context, page
):
    context.add_init_script(COUNT_SOUNDS)
    signed_in(context, site, sign_in(cast.owner))
    page.goto(site + reverse("bar_editor", args=[arrangement.pk, 1]))
    tab_to_the_grid(page)
    press(page, "5")
    assert page.evaluate("window.sounds.length") == 4  # the four strings of count 1
    press(page, "s", "6")
    assert page.evaluate("window.sounds.length") == 4
    press(page, "p")
    assert page.evaluate("window.sounds.length") == 10  # the bar has six notes


def test_done_sends_what_waits_and_goes_back_to_the_piece(editor, site, arrangement):
    tab_to_the_grid(editor)
    press(editor, "5")
    editor.get_by_role("button", name="Done").click()
    editor.get_by_text("Kept as revision 2.").wait_for()
    assert bar(arrangement)[0][2][-1] == (1, 5)


@pytest.mark.parametrize("width", [320, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_faults_nothing_in_the_editor_and_when_taking_out(
    cast, arrangement, sign_in, site, browser, width, scheme
):
    context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme)
    signed_in(context, site, sign_in(cast.owner))
    page = context.new_page()
    for name, more in (("bar_editor", [2]), ("take_out", [])):
        page.goto(site + reverse(name, args=[arrangement.pk, *more]))
        if name == "bar_editor":
            tab_to_the_grid(page)
            press(page, "c")
        faults = [f"{v['id']} {v['nodes'][0]['html'][:150]}" for v in Axe().run(page).response["violations"]]
        assert faults == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    context.close()

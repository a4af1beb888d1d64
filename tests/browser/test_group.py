"""A piece for a group, in a real browser: made, given in one go, practised by one, compared."""

from datetime import timedelta

import pytest
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students.models import WEEKDAYS, Group, Student
from studio.lessons.models import Performance
from studio.lessons.programme import add_item
from tests.browser.looking import look_over, signed_in
from tests.students.steps import LONG_TUNE, give

pytestmark = pytest.mark.django_db(transaction=True)

PHONE, LAPTOP = 390, 1280


@pytest.fixture
def three(cast):
    """Juno and Otto on the ukulele with practice on every day, Wren on the mandolin."""
    wren = Student.objects.create(studio=cast.studio, name="Wren Ashby", instrument="mandolin")
    for student in (cast.learner, cast.other_learner, wren):
        student.minutes = dict.fromkeys(WEEKDAYS, 12)
        student.save()
    return wren


@pytest.mark.parametrize("width", [PHONE, LAPTOP])
def test_a_group_is_made_and_given_a_piece_in_one_go(
    cast, three, sign_in, site, context, page, browser, width
):
    add_piece(cast.studio, read_tab(LONG_TUNE), rights="own")
    page.set_viewport_size({"width": width, "height": 900})
    signed_in(context, site, sign_in(cast.owner))

    # The teacher makes a group of three.
    page.goto(site + reverse("student_list"))
    page.get_by_role("link", name="Groups").click()
    page.get_by_role("link", name="New group").click()
    page.get_by_label("Name of the group").fill("Saturday strings")
    for name in ("Juno Pell", "Otto Brand", "Wren Ashby"):
        page.get_by_label(name).check()
    page.get_by_role("button", name="Keep").click()
    page.get_by_text("Nothing was given to this group yet.").wait_for()

    # Two can play the piece as it stands; the third is said to need another arrangement.
    page.get_by_role("link", name="Give a piece").click()
    page.get_by_role("link", name="melody and thumb").click()
    page.get_by_text("No arrangement of this piece fits mandolin.").wait_for()
    page.get_by_label("B", exact=True).check()
    page.get_by_label("Date").fill((cast.studio.today + timedelta(days=21)).isoformat())
    page.get_by_role("button", name="Plan again").click()
    page.get_by_role("button", name="Give to 2 learners").click()
    page.get_by_text("Given to Juno Pell, Otto Brand.").wait_for()
    assert page.get_by_text("nothing ticked yet").count() == 2
    assert three.assignments.count() == 0

    # One of them practises on a phone of their own.
    client = sign_in(student=cast.learner)
    phone = browser.new_context(viewport={"width": PHONE, "height": 844})
    signed_in(phone, site, client)
    theirs = phone.new_page()
    theirs.goto(site + reverse("today"))
    theirs.locator("label", has=theirs.locator('[name="tempo"]')).first.click()
    theirs.get_by_text("Clean", exact=True).click()
    theirs.get_by_role("button", name="Tick loop 1").click()
    theirs.get_by_role("link", name="Loop 1 of").and_(theirs.locator('[aria-label*="ticked"]')).wait_for()
    phone.close()

    # The teacher sees who has begun.
    page.reload()
    page.get_by_text("1 of ").first.wait_for()
    assert page.get_by_text("nothing ticked yet").count() == 1


@pytest.mark.parametrize("width", [320, 768, LAPTOP])
def test_axe_faults_nothing_on_the_pages_of_groups_and_performances(
    cast, three, sign_in, site, context, page, width
):

    arrangement = add_piece(cast.studio, read_tab(LONG_TUNE), rights="own")
    today = cast.studio.today
    group = Group.objects.create(studio=cast.studio, name="Saturday strings")
    group.members.set([cast.learner, cast.other_learner, three])
    give(cast.learner, arrangement, starts=today, until=today + timedelta(days=30), performance=True)
    cast.learner.assignments.update(group=group)
    concert = Performance.objects.create(
        studio=cast.studio, title="Spring concert", day=today + timedelta(days=30)
    )
    add_item(concert, arrangement, group=group)
    add_item(concert, arrangement, student=cast.learner)
    signed_in(context, site, sign_in(cast.owner))
    rows = {
        "group": group.pk,
        "arrangement": arrangement.pk,
        "performance": concert.pk,
        "student": cast.learner.pk,
    }
    pages = (
        ("group_list", ()),
        ("group_new", ()),
        ("group", ("group",)),
        ("group_about", ("group",)),
        ("group_choose", ("group",)),
        ("group_assign", ("group", "arrangement")),
        ("performance_list", ()),
        ("performance_new", ()),
        ("performance", ("performance",)),
        ("performance_about", ("performance",)),
        ("student", ("student",)),
        ("overview", ()),
    )
    assert look_over(page, site, pages, rows, width) == []

"""The owner's choices for the studio, and that the way of counting reaches every page."""

import pytest
from django.urls import reverse

from pieces.music.counting import SYLLABLES
from pieces.music.tab import read_tab
from pieces.print_options import PrintOptions
from pieces.workup import add_piece, workup_of
from students.handouts import week_pages
from studio.accounts.models import Studio
from tests.tune import TUNE

pytestmark = pytest.mark.django_db

USUAL = {
    "name": "Lantern Row Strings",
    "time_zone": "Europe/London",
    "paper": "a4",
    "way": "1 & 2 &",
    "own": "",
}


@pytest.fixture
def desk(cast, sign_in):
    return sign_in(cast.owner)


def keep(desk, **changed):
    return desk.post(reverse("studio"), {**USUAL, **changed})


def test_only_the_owner_may_change_the_studio(cast, sign_in):
    assert sign_in(cast.teacher).get(reverse("studio")).status_code == 403
    assert sign_in(cast.owner).get(reverse("studio")).status_code == 200


def test_every_way_of_counting_is_offered_with_what_it_sounds_like(desk):
    page = desk.get(reverse("studio")).content.decode()
    for way in SYLLABLES:
        assert way.replace("&", "&amp;") in page
    assert "2 la li" in page  # a triplet


def test_what_is_kept_is_the_studio_of_the_actor_and_no_other(desk, cast):
    keep(desk, name="Lantern Row", paper="letter", time_zone="America/Halifax", way="1 ta te ta")
    cast.studio.refresh_from_db()
    assert (cast.studio.name, cast.studio.paper) == ("Lantern Row", "letter")
    assert (cast.studio.time_zone, cast.studio.syllables) == ("America/Halifax", "1 ta te ta")
    assert Studio.objects.get(pk=cast.elsewhere.pk).name == "Mill Lane Music"


@pytest.mark.parametrize(
    ("own", "said"),
    [
        ("", "Write at least one beat"),
        ("one and", "is no beat"),
        ("1 2 3", "without numbers"),
        ("1", "is no beat"),
        ("1 (la) li", "without numbers or brackets"),
    ],
)
def test_own_words_that_cannot_be_counted_are_refused_in_words(desk, cast, own, said):
    answer = keep(desk, way="own", own=own)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    cast.studio.refresh_from_db()
    assert cast.studio.syllables == "1 & 2 &"


@pytest.mark.parametrize("field", ["time_zone", "paper", "way"])
def test_a_choice_that_is_not_there_is_refused(desk, cast, field):
    assert keep(desk, **{field: "Middle/Earth"}).status_code == 422


def test_the_teachers_own_words_reach_strips_workup_bar_page_and_paper(desk, cast, sign_in):
    arrangement = add_piece(cast.studio, read_tab(TUNE), rights="own")
    bar = next(n for n, count in workup_of(arrangement).counts.items() if "&" in count)
    keep(desk, way="own", own="1 und, 1 tri plet")
    arrangement.refresh_from_db()
    cast.studio.refresh_from_db()
    assert "und" in workup_of(arrangement).counts[bar]
    for name, args in (("arrangement", ()), ("bar", (bar,))):
        page = desk.get(reverse(name, args=[arrangement.pk, *args])).content.decode()
        assert ">und</text>" in page
        assert " und " in page.partition("<title>Bar")[2]  # what a screen reader says
        assert ">&amp;</text>" not in page
    outline = desk.get(reverse("bar", args=[arrangement.pk, bar])).content.decode()
    assert "Count 1" in outline and "und" in outline


def test_the_week_on_paper_counts_as_the_studio_does(cast, desk):
    from datetime import timedelta

    from students.practice import assign
    from students.records import Terms

    arrangement = add_piece(cast.studio, read_tab(TUNE), rights="own")
    keep(desk, way="own", own="1 und")
    cast.studio.refresh_from_db()
    today = cast.studio.today
    assign(cast.learner, arrangement, Terms(("A",), 72, today, today + timedelta(days=7)))
    cast.learner.refresh_from_db()
    assert "und" in week_pages(cast.learner, today, PrintOptions())[0]


def test_own_words_count_compound_meters_in_two_where_that_is_chosen(desk, cast):
    keep(desk, way="own", own="1 and, 1 and a", felt_beats="on")
    page = desk.get(reverse("studio")).content.decode()
    assert "6/8: 1 a 2 and a" in page

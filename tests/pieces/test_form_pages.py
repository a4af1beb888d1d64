"""The form of a piece on its pages: near repeats, how sure, the order, and the teacher's own cuts."""

from datetime import timedelta

import pytest
from django.urls import reverse

from pieces.models import Arrangement
from pieces.music.tab import read_tab
from pieces.workup import add_piece, workup_of
from students.practice import assign, keep_planned
from students.records import Terms

pytestmark = pytest.mark.django_db

# Four bars, then the same but for the last beat of the third.
TUNE = """title: Mill Steps
tuning: ukulele high G
meter: 4/4
tempo: 72

A|-3---2---0---2-|-0---0---2-----|-3---2---0---3-|-0-------------|
E|---------------|---------------|---------------|---------------|
C|---------------|---------------|---------------|---------------|
G|---------------|---------------|---------------|---------------|
   1   2   3   4   1   2   3   4   1   2   3   4   1   2   3   4
A|-3---2---0---2-|-0---0---2-----|-3---2---0---5-|-0-------------|
E|---------------|---------------|---------------|---------------|
C|---------------|---------------|---------------|---------------|
G|---------------|---------------|---------------|---------------|
   1   2   3   4   1   2   3   4   1   2   3   4   1   2   3   4
"""


@pytest.fixture
def desk(cast, sign_in):
    return sign_in(cast.owner)


@pytest.fixture
def arrangement(cast):
    return add_piece(cast.studio, read_tab(TUNE), rights="own")


def cut(desk, arrangement, **letters):
    blank = {f"bar-{n}": "" for n in range(1, 9)}
    return desk.post(
        reverse("sections", args=[arrangement.pk]),
        {**blank, **{f"bar-{k[1:]}": v for k, v in letters.items()}},
    )


def test_a_near_repeat_is_said_beside_its_bar(desk, arrangement):
    page = desk.get(reverse("arrangement", args=[arrangement.pk])).content.decode()
    assert "as bar 1 but the last beat" in page
    assert "As bar 1 but the last beat" in desk.get(reverse("bar", args=[arrangement.pk, 7])).content.decode()


def test_how_sure_a_section_is_stands_with_it(desk, arrangement):
    page = desk.get(reverse("arrangement", args=[arrangement.pk])).content.decode()
    assert "Sure." in page or "Fairly sure." in page or "A guess." in page
    cut(desk, arrangement, b1="A", b5="B")
    page = desk.get(reverse("arrangement", args=[arrangement.pk])).content.decode()
    assert "A guess." not in page


def test_the_teachers_cuts_and_letters_win(desk, arrangement):
    assert cut(desk, arrangement, b1="A", b3="b", b5="A", b7="C").status_code == 302
    found = [(s.letter, s.first, s.last) for s in workup_of(Arrangement.objects.get()).sections]
    assert found == [("A", 1, 2), ("B", 3, 4), ("A", 5, 6), ("C", 7, 8)]


def test_a_prime_may_be_typed_as_it_is_printed(desk, arrangement):
    cut(desk, arrangement, b1="A", b5="A′")
    assert [s.letter for s in workup_of(Arrangement.objects.get()).sections] == ["A", "A'"]


@pytest.mark.parametrize(
    ("letters", "said"),
    [
        ({"b5": "A"}, "give bar 1 a letter"),
        ({"b1": "A", "b5": "7"}, "7 is no section letter"),
        ({"b1": "A", "b5": "A"}, "A begins at bar 1 already, and bars 5 to 8 are not played the same"),
        ({"b1": "ABCDE"}, "at most 4"),
    ],
)
def test_cuts_that_cannot_be_are_refused_in_words_and_stay_typed(desk, arrangement, letters, said):
    answer = cut(desk, arrangement, **letters)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert said in page.replace("&#x27;", "'")
    assert not arrangement.overrides.exists()


def test_back_to_what_was_found(desk, arrangement):
    before = workup_of(arrangement).sections
    cut(desk, arrangement, b1="A", b4="B")
    desk.post(reverse("sections", args=[arrangement.pk]), {"do": "found"})
    assert workup_of(Arrangement.objects.get()).sections == before


def test_the_order_is_told_only_where_there_are_repeats(desk, cast, arrangement):
    assert (
        "Played in this order" not in desk.get(reverse("arrangement", args=[arrangement.pk])).content.decode()
    )
    repeated = TUNE.replace("|-0-------------|\nE", "|-0-----------:|\nE", 1)
    again = add_piece(cast.studio, read_tab(repeated), rights="own")
    page = desk.get(reverse("arrangement", args=[again.pk])).content.decode()
    assert "Played in this order: 1 to 4, 1 to 8." in page


def test_whoever_plays_it_goes_on_with_the_same_bars_after_a_new_cut(desk, cast, arrangement):
    today = cast.studio.today
    given = assign(cast.learner, arrangement, Terms(("A",), 72, today, today + timedelta(days=7)))
    cut(desk, arrangement, b1="C", b3="D", b7="E")
    keep_planned(cast.learner, today + timedelta(days=1))
    given.refresh_from_db()
    assert given.letters == ["C", "D"] or given.letters == ["C", "D", "E"]
    assert given.tasks.filter(day__gte=today + timedelta(days=1)).exists()

"""Difficulty as the studio's learners found it: gathered once a day, shown, and planned by."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse

from pieces.models import NeededTime
from pieces.music.difficulty import Evidence, Rating, correct_ratings
from pieces.music.tab import read_tab
from pieces.workup import add_piece, decide, revise, workup_of
from students.evidence import corrected_scores, needed_by_bar
from students.models import Student, Tick
from students.practice import assign, propose
from students.records import Terms
from tests.tune import TUNE

pytestmark = pytest.mark.django_db


@pytest.fixture
def arrangement(cast):
    return add_piece(cast.studio, read_tab(TUNE), rights="own")


def learner(cast, arrangement, name, *, bar, minutes, planned=4, other=0):
    """Somebody who needed ``minutes`` where ``planned`` were expected, and ``other`` loops as planned."""
    student = Student.objects.create(studio=cast.studio, name=name)
    today = cast.studio.today
    given = assign(student, arrangement, Terms(("A",), 72, today, today + timedelta(days=7)))
    shared = {
        "studio": cast.studio, "student": student, "assignment": given, "revision": given.revision,
        "section": "A", "day": today, "tempo": 60, "felt": "clean",
    }  # fmt: skip
    Tick.objects.create(
        uuid=uuid.uuid4(), key=f"bar:{bar}", kind="bar", first=bar, last=bar,
        minutes=minutes, planned=planned, **shared,
    )  # fmt: skip
    for _ in range(other):
        Tick.objects.create(
            uuid=uuid.uuid4(),
            key="section:A",
            kind="section",
            first=1,
            last=4,
            minutes=4,
            planned=4,
            **shared,
        )
    return student


def the_next_day():
    """What was gathered today is forgotten, as it is tomorrow."""
    NeededTime.objects.all().delete()


def test_bars_that_are_the_same_share_what_learners_needed():
    ratings = {1: Rating(5.0, (), None), 2: Rating(5.0, (), None), 3: Rating(5.0, (), None)}
    found = correct_ratings(ratings, {1: 1, 2: 1, 3: 3}, {1: [Evidence(4, 8)] * 4})
    assert set(found) == {1, 2}
    assert found[1].score == found[2].score == 6.0


def test_what_the_teacher_said_is_not_corrected():
    ratings = {1: Rating(5.0, (), None)}
    assert correct_ratings(ratings, {1: 1}, {1: [Evidence(4, 8)] * 4}, judged={1}) == {}


def test_a_bar_that_took_learners_long_is_harder_for_the_next(cast, arrangement):
    for n in range(6):
        learner(cast, arrangement, f"Learner {n}", bar=1, minutes=9, other=8)
    the_next_day()
    workup = workup_of(arrangement)
    scores = corrected_scores(arrangement, workup, cast.studio.today)
    assert scores[1] > workup.ratings[1].score
    loops = {
        c.first: c
        for c in propose(cast.learner, arrangement, terms(cast)).chunks
        if c.kind in ("bar", "pair")
    }
    assert loops[1].rating == max(scores[1], workup.ratings[loops[1].last].score)


def terms(cast):
    return Terms(("A",), 72, cast.studio.today, cast.studio.today + timedelta(days=7))


def test_a_slow_learner_makes_no_bar_hard(cast, arrangement):
    """Who takes twice as long for everything says little of one bar."""
    slow = learner(cast, arrangement, "Slow", bar=1, minutes=8)
    given = slow.assignments.get()
    for tick in list(slow.ticks.all()) * 30:
        tick.pk, tick.uuid, tick.kind, tick.key = None, uuid.uuid4(), "section", "section:A"
        tick.save()
    the_next_day()
    expected, needed = needed_by_bar(given.arrangement, cast.studio.today)["1"][0]
    assert needed == 8
    assert expected > 6.5


def test_evidence_is_gathered_once_a_day_in_few_queries(cast, arrangement, django_assert_max_num_queries):
    for n in range(5):
        learner(cast, arrangement, f"Learner {n}", bar=2, minutes=6, other=3)
    tomorrow = cast.studio.today + timedelta(days=1)
    with django_assert_max_num_queries(8):
        first = needed_by_bar(arrangement, tomorrow)
    with django_assert_max_num_queries(1):
        assert needed_by_bar(arrangement, tomorrow) == first
    assert len(first["2"]) == 5


def test_ticks_on_a_bar_that_was_edited_since_say_nothing_of_it(cast, arrangement):
    learner(cast, arrangement, "Before", bar=1, minutes=9)
    edited = TUNE.replace("A|-3---2---0-----|", "A|-5---2---0-----|", 1)
    revise(arrangement, read_tab(edited), typed=edited)
    assert needed_by_bar(arrangement, cast.studio.today).get("1") is None


def test_a_running_assignment_keeps_the_difficulties_it_was_given_with(cast, arrangement):
    given = assign(cast.learner, arrangement, terms(cast))
    keys = set(given.chunks.values_list("key", flat=True))
    for n in range(8):
        learner(cast, arrangement, f"Learner {n}", bar=1, minutes=12, other=8)
    the_next_day()
    given.refresh_from_db()
    assert given.scores == {}
    assert set(given.chunks.values_list("key", flat=True)) == keys
    again = assign(cast.learner, arrangement, terms(cast))
    assert again.scores["1"] > workup_of(arrangement).ratings[1].score


def test_both_numbers_are_shown_on_the_bar_and_among_the_hard_spots(cast, arrangement, sign_in):
    desk = sign_in(cast.owner)
    bar = max(workup_of(arrangement).ratings, key=lambda n: workup_of(arrangement).ratings[n].score)
    for n in range(4):
        learner(cast, arrangement, f"Learner {n}", bar=bar, minutes=9, other=8)
    the_next_day()
    needed_by_bar(arrangement, cast.studio.today)
    page = desk.get(reverse("bar", args=[arrangement.pk, bar])).content.decode()
    assert f"{workup_of(arrangement).ratings[bar].score} computed" in page
    assert "4 learners needed" in page
    assert "4 learners needed" in desk.get(reverse("arrangement", args=[arrangement.pk])).content.decode()
    decide(arrangement, f"difficulty:{bar}", 2.0)
    assert "computed</small>" not in desk.get(reverse("bar", args=[arrangement.pk, bar])).content.decode()

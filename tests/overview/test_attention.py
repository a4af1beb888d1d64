"""The Overview says who needs the teacher and where to go, in a number of queries that never grows."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.models import WEEKDAYS, PlannedTask, Student
from studio.overview.overview_page import overview_page
from tests.students.steps import LONG_TUNE, give, tick

pytestmark = pytest.mark.django_db


@pytest.fixture
def arrangement(cast):
    return add_piece(cast.studio, read_tab(LONG_TUNE), rights="own")


@pytest.fixture
def only_juno(cast):
    """A studio of one learner, who has minutes on every day."""
    cast.other_learner.left_on = cast.studio.today
    cast.other_learner.save()
    cast.learner.minutes = dict.fromkeys(WEEKDAYS, 15)
    cast.learner.save()
    return cast.learner


def begun(student, arrangement, days_ago, **more):
    """Given so many days ago, for a week from today."""
    today = student.studio.today
    return give(
        student,
        arrangement,
        starts=today - timedelta(days=days_ago),
        until=today + timedelta(days=7),
        **more,
    )


def first_need(cast):
    (row,) = overview_page(cast.studio)["needs"]
    return row["need"]


def links(sign_in, cast):
    page = sign_in(cast.owner).get(reverse("overview")).content.decode()
    return re.findall(r'class="btn main" href="([^"]+)"', page)


def test_a_bar_that_does_not_move_leads_to_the_lesson(cast, only_juno, arrangement, sign_in):
    begun(only_juno, arrangement, 4)
    task = only_juno.tasks.exclude(chunk__kind__in=["section", "run"]).select_related("chunk").first()
    for ago in (3, 2, 1):
        day = cast.studio.today - timedelta(days=ago)
        tick(task, felt="slips", tempo=60, on=day)
    need = first_need(cast)
    assert need.head.endswith("not moved off 60 for 3 days.")
    assert links(sign_in, cast) == [reverse("lesson", args=[only_juno.pk])]


def test_days_without_a_tick_are_said_with_the_day_of_the_last(cast, only_juno, arrangement):
    begun(only_juno, arrangement, 5)
    last = cast.studio.today - timedelta(days=5)
    tick(PlannedTask.objects.filter(day=last).first())
    need = first_need(cast)
    assert need.head == f"No practice since {last:%A}."
    assert need.text.startswith("4 days were planned.")


def test_who_is_ahead_is_sent_to_the_next_section_of_the_piece(cast, only_juno, arrangement, sign_in):
    assignment = begun(only_juno, arrangement, 1)
    practice.mark_section(assignment, "A", "secure", day=cast.studio.today)
    practice.keep_planned(only_juno, cast.studio.today)
    assert first_need(cast).head == "Ahead: ready for section B."
    assert links(sign_in, cast) == [reverse("assign", args=[only_juno.pk, arrangement.pk])]


def test_a_plan_that_does_not_fit_leads_to_the_piece_it_is_about(cast, only_juno, arrangement, sign_in):
    other = add_piece(cast.studio, read_tab(LONG_TUNE.replace("Two Yards", "Three Yards")), rights="own")
    begun(only_juno, arrangement, 0)
    today = cast.studio.today
    give(
        only_juno, other, letters=("A", "B"), starts=today, until=today + timedelta(days=3), performance=True
    )
    need = first_need(cast)
    assert need.head == "Performs in 3 days and the plan does not fit."
    assert links(sign_in, cast) == [reverse("assign", args=[only_juno.pk, other.pk])]


def test_a_learner_without_a_piece_is_sent_to_choose_one(cast, only_juno, sign_in):
    assert links(sign_in, cast) == [reverse("choose_piece", args=[only_juno.pk])]


def test_who_cannot_tick_is_sent_to_the_cards(cast, only_juno, arrangement, sign_in):
    begun(only_juno, arrangement, 4)
    assert first_need(cast).head == "Cannot tick yet."
    assert links(sign_in, cast) == [reverse("student", args=[only_juno.pk]) + "#cards"]


def test_a_lesson_that_passed_leads_to_what_comes_next(cast, only_juno, arrangement, sign_in):
    today = cast.studio.today
    give(only_juno, arrangement, starts=today - timedelta(days=2), until=today - timedelta(days=1))
    practice.keep_planned(only_juno, today)
    tick(only_juno.tasks.first(), on=today)
    assert first_need(cast).head == "Nothing new was given at the lesson yesterday."
    assert links(sign_in, cast) == [reverse("assign", args=[only_juno.pk, arrangement.pk])]


def test_those_after_the_first_six_are_there_too_and_counted(cast, arrangement, sign_in):
    for number in range(8):
        Student.objects.create(studio=cast.studio, name=f"Learner {number}", teacher=cast.owner)
    page = sign_in(cast.owner).get(reverse("overview")).content.decode()
    assert "4 more" in page  # ten without a piece, six shown
    assert page.count("Nothing is assigned.") == 10


@pytest.mark.parametrize("learners", [3, 30])
def test_the_number_of_queries_does_not_grow_with_the_learners(
    cast, arrangement, learners, django_assert_num_queries
):
    grow(cast, arrangement, learners)
    overview_page(cast.studio)  # the workup is then at hand, as it is in a running studio
    with django_assert_num_queries(QUERIES):
        overview_page(cast.studio)


QUERIES = 14


def grow(cast, arrangement, learners):
    """A studio of so many learners: two stuck, one done, one silent, one without a piece, and so on."""
    Student.objects.of(cast.studio).update(left_on=cast.studio.today)
    for number in range(learners):
        student = Student.objects.create(studio=cast.studio, name=f"Learner {number}", teacher=cast.owner)
        if number % 5 == 4:
            continue
        assignment = begun(student, arrangement, 5)
        task = student.tasks.exclude(chunk__kind__in=["section", "run"]).first()
        if number % 5 in (0, 1):
            for ago in (3, 2, 1):
                tick(task, felt="slips", tempo=60, on=cast.studio.today - timedelta(days=ago))
        if number % 5 == 2:
            practice.mark_section(assignment, "A", "secure", day=cast.studio.today)
            practice.keep_planned(student, cast.studio.today)


# The five questions of a view are asked of every address in tests/test_roles.py.


def test_another_studios_learners_are_not_on_the_list(cast, arrangement):
    names = {row["need"].name for row in overview_page(cast.studio)["needs"]}
    assert cast.foreign_learner.name not in names

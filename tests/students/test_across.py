"""A piece across its learners: which bars hold them up, and how long each took."""

from datetime import date

import pytest
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.across_page import Needed, across_page, worst_bars
from students.models import WEEKDAYS, Student
from tests.students.steps import LONG_TUNE, day, give, tick


@pytest.fixture
def arrangement(cast):
    return add_piece(cast.studio, read_tab(LONG_TUNE), rights="own")


def given_to(student, arrangement, **more):
    student.minutes = dict.fromkeys(WEEKDAYS, 40)
    student.save()
    return give(student, arrangement, until=day(28), **more)


def small_loop(given):
    return given.tasks.filter(chunk__kind__in=["bar", "pair"]).order_by("day", "order").first()


def whole(given):
    return given.tasks.filter(chunk__key="section:A").first()


def on(*numbers):
    return {date(2026, 3, number) for number in numbers}


def test_the_worst_bar_is_the_one_that_holds_up_most_learners_then_most_days():
    held = [{3: on(1, 2, 3, 4), 7: on(1)}, {7: on(2), 8: on(2)}, {8: on(1, 2)}]
    assert worst_bars(held, most=1) == [8]
    assert worst_bars(held, most=2) == [7, 8]
    assert worst_bars([], most=4) == []


@pytest.mark.django_db
def test_each_learners_days_are_counted_up_to_the_goal(cast, arrangement):
    juno, otto = given_to(cast.learner, arrangement), given_to(cast.other_learner, arrangement)
    for number in (1, 2, 3):
        tick(small_loop(juno), on=day(number), felt="slips")
    tick(whole(juno), on=day(4), tempo=72)
    tick(whole(juno), on=day(5), tempo=72)
    tick(small_loop(otto), on=day(1), felt="broke")
    page = across_page(arrangement)
    lines = {line.assignment.student.name: line for line in page["lines"]}
    assert lines["Juno Pell"].days == 5
    assert lines["Juno Pell"].sections[0] == Needed(4, reached=True)
    assert lines["Otto Brand"].sections[0] == Needed(1, reached=False)
    assert lines["Juno Pell"].sections[1] is None
    first = small_loop(juno).chunk.first
    (bar,) = [bar for bar in page["worst"] if bar["number"] == first]
    assert bar["said"] == "2 of 2 learners, 2 days on average."
    assert "<svg" in bar["strip"]


@pytest.mark.django_db
def test_a_teachers_mark_ends_the_days_that_were_needed(cast, arrangement):
    juno = given_to(cast.learner, arrangement)
    for number in (1, 2, 8):
        tick(small_loop(juno), on=day(number), felt="slips")
    practice.mark_section(juno, "A", "at tempo", day=day(3))
    assert across_page(arrangement)["lines"][0].sections[0] == Needed(2, reached=True)


@pytest.mark.django_db
def test_the_page_is_for_the_desk_and_links_from_the_piece(cast, arrangement, sign_in):
    desk = sign_in(cast.owner)
    address = reverse("across", args=[arrangement.pk])
    assert address in desk.get(reverse("arrangement", args=[arrangement.pk])).text
    assert "Nobody has been given this arrangement yet." in desk.get(address).text
    juno = given_to(cast.learner, arrangement)
    assert "No bar has held anybody up yet." in desk.get(address).text
    tick(small_loop(juno), felt="broke")
    assert "1 of 1 learners, 1 day on average." in desk.get(address).text


@pytest.mark.django_db
def test_the_queries_do_not_grow_with_the_learners(cast, arrangement, django_assert_max_num_queries):
    for n in range(6):
        student = Student.objects.create(studio=cast.studio, name=f"Learner {n}")
        tick(small_loop(given_to(student, arrangement)), felt="slips")
    with django_assert_max_num_queries(10):
        across_page(arrangement)

"""The demo studio, loaded once: each kind of learner shows as meant, whatever the weekday."""

from datetime import date, timedelta

import pytest
from django.db import transaction
from django.test import Client

from students.models import SectionStanding, Student, Tick
from studio.accounts.models import Studio
from studio.demo.loading import load_demo
from studio.demo.people import OWNER, PEOPLE
from studio.lessons.models import LessonSlot, Performance
from studio.overview.overview_page import overview_page

pytestmark = pytest.mark.django_db

WEDNESDAY = date(2026, 3, 18)


@pytest.fixture(scope="module")
def loaded(django_db_setup, django_db_blocker):
    """The demo as of a Wednesday; taken back when the module is done."""
    with pytest.MonkeyPatch.context() as patch, django_db_blocker.unblock(), transaction.atomic():
        patch.setattr(Studio, "today", property(lambda _studio: WEDNESDAY))
        yield load_demo("not for any real studio", WEDNESDAY)
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def needs(loaded):
    """What the Overview says first, by learner."""
    return {shown["need"].name: shown["need"] for shown in overview_page(loaded.studio)["needs"]}


def named(name):
    return Student.objects.get(name=name)


def test_ten_learners_of_every_level_both_hands_and_four_instruments(loaded):
    students = Student.objects.of(loaded.studio)
    assert students.count() == 10
    assert set(students.values_list("level", flat=True)) == {"beginner", "intermediate", "advanced"}
    assert set(students.values_list("hand", flat=True)) == {"left", "right"}
    assert students.values("instrument").distinct().count() == 4


def test_a_performance_in_nine_days_that_does_not_fit_comes_first(loaded, needs):
    need = next(iter(needs.values()))
    assert (need.name, need.action) == ("Otto Brand", "fit")
    assignment = named("Otto Brand").assignments.running().get()
    assert (assignment.performance, assignment.until) == (True, WEDNESDAY + timedelta(days=9))


def test_the_evening_has_a_programme_for_one_and_for_a_group(loaded):
    evening = Performance.objects.get(studio=loaded.studio)
    assert evening.day == WEDNESDAY + timedelta(days=9)
    assert sorted(len(item.players) for item in evening.programme.all()) == [1, 1, 2]


def test_the_learner_who_is_stuck_is_shown_with_the_bar(needs):
    assert needs["Juno Pell"].action == "lesson"
    assert needs["Juno Pell"].bar in (2, 3)


def test_the_learner_who_stopped_six_days_ago_is_listed(needs):
    last = named("Ravi Sandor").ticks.latest("day").day
    assert last == WEDNESDAY - timedelta(days=6)
    assert "Ravi Sandor" in needs


def test_one_of_the_pair_practises_and_the_other_has_stopped(loaded, needs):
    yesterday = WEDNESDAY - timedelta(days=1)
    assert named("Isla Marrow").ticks.latest("day").day == yesterday
    assert "Tamsin Quay" in needs and "Isla Marrow" not in needs


def test_the_learner_who_is_ahead_has_everything_secure(needs):
    standings = SectionStanding.objects.filter(student=named("Nell Farrow"), assignment__ended_on=None)
    assert {row.standing for row in standings} <= {"secure", "due again"}
    assert "Ahead" in needs["Nell Farrow"].head


def test_the_new_learner_waits_for_a_piece_and_a_card(needs):
    assert needs["Wenna Tarn"].action == "choose"
    assert not named("Wenna Tarn").cards.exists()


def test_a_piece_that_was_put_away_is_due_again(loaded):
    due = SectionStanding.objects.filter(due_on__lte=WEDNESDAY).exclude(assignment__ended_on=None)
    assert due.exists()


def test_ticks_go_back_eight_weeks_and_end_yesterday(loaded):
    ticks = Tick.objects.of(loaded.studio).standing()
    assert ticks.count() > 400
    assert ticks.earliest("day").day == WEDNESDAY - timedelta(days=55)
    assert ticks.latest("day").day == WEDNESDAY - timedelta(days=1)
    assert set(ticks.values_list("felt", flat=True)) == {"clean", "slips", "broke"}


def test_nobody_ticks_before_joining_or_beyond_a_day_s_minutes(loaded):
    for person in PEOPLE:
        student = named(person.name)
        days = {}
        for tick in student.ticks.all():
            assert tick.day >= student.joined_on
            days[tick.day] = days.get(tick.day, 0) + tick.planned
        assert all(minutes <= max(person.minutes.values()) for minutes in days.values())


def test_lessons_are_spread_over_the_week_and_some_are_today(loaded):
    weekdays = set(LessonSlot.objects.of(loaded.studio).values_list("weekday", flat=True))
    assert len(weekdays) >= 4
    assert WEDNESDAY.weekday() in weekdays


def test_consent_stands_for_every_child_and_for_no_adult(loaded):
    for person in PEOPLE:
        assert (named(person.name).consent_on is not None) == person.is_child


def test_the_owner_can_sign_in_and_every_learner_s_page_opens(loaded):
    client = Client()
    client.force_login(loaded.owner, backend="django.contrib.auth.backends.ModelBackend")
    assert loaded.owner.email == OWNER[1]
    assert loaded.owner.check_password("not for any real studio")
    pages = ["/overview/", "/lessons/", "/pieces/", "/learners/"]
    pages += [f"/learners/{student.pk}/" for student in Student.objects.of(loaded.studio)]
    assert {page: client.get(page, follow=True).status_code for page in pages} == dict.fromkeys(pages, 200)

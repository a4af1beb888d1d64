"""The guardian's page: one learner in plain words, and nobody and nothing else."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from studio.lessons.models import Lesson
from tests.lessons.week import slot
from tests.students.steps import LONG_TUNE, give, tick

pytestmark = pytest.mark.django_db


@pytest.fixture
def family(cast, sign_in):
    """Juno and Otto have the same piece; both have notes; the guardian of Juno is signed in."""
    arrangement = add_piece(cast.studio, read_tab(LONG_TUNE), rights="own")
    today = cast.studio.today
    for student in (cast.learner, cast.other_learner):
        student.note = f"For teachers only, of {student.name}."
        student.consent_on = date(2026, 1, 8)
        student.save()
        given = give(student, arrangement, starts=today, until=today + timedelta(days=9))
        tick(given.tasks.filter(day=today).first(), felt="slips", minutes=7)
        practice.keep_planned(student, today)
        Lesson.objects.create(
            studio=cast.studio,
            student=student,
            teacher=cast.owner,
            day=today - timedelta(days=5),
            note=f"Well counted, {student.name}.",
            promised=f"A new string for {student.name}.",
        )
    return sign_in(student=cast.learner, holder="guardian")


def test_it_says_in_plain_words_how_it_goes(family, cast):
    slot(cast.learner, (cast.studio.today + timedelta(days=3)).weekday(), "16:30")
    page = family.get(reverse("progress")).text
    assert "Two Yards" in page
    assert "being learned" in page
    assert "Well counted, Juno Pell." in page
    assert "<b>1</b> day of practice in the last 4 weeks, <b>7</b> minutes in all." in page
    assert "next lesson" in page
    assert "Consent of a parent or guardian: given on Thursday 8 January 2026" in page


def test_it_shows_nothing_of_another_learner_and_nothing_that_is_for_teachers(family):
    page = family.get(reverse("progress")).text
    for secret in ("Otto", "For teachers only", "A new string", "Calder"):
        assert secret not in page


def test_nothing_can_be_changed_on_it(family):
    page = family.get(reverse("progress")).text
    assert page.count("<form") == 1
    assert f'action="{reverse("sign_out")}"' in page
    assert family.post(reverse("progress")).status_code == 405


def test_a_guardian_gets_no_further(family, cast):
    for name, arguments in (("today", ()), ("my_pieces", ()), ("student", (cast.learner.pk,))):
        assert family.get(reverse(name, args=arguments)).status_code == 403


def test_a_consent_that_is_missing_is_said_to_the_guardian_only(family, cast, sign_in):
    cast.learner.consent_on = None
    cast.learner.save()
    said = "No consent of a parent or guardian is noted yet"
    assert said in family.get(reverse("progress")).text
    assert said not in sign_in(student=cast.learner).get(reverse("progress")).text

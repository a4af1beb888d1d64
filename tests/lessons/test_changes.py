"""Absence, moving and making up: what the teacher does, and what follows."""

from datetime import date, time, timedelta

import pytest
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.lesson_days import next_lesson
from students.records import Terms
from studio.lessons import changes
from studio.lessons.models import Lesson
from tests.lessons.week import THURSDAY, joined, on_thursday, slot  # noqa: F401
from tests.tune import TUNE

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("on_thursday")]
NEXT = THURSDAY + timedelta(days=7)
AFTER = THURSDAY + timedelta(days=14)
SATURDAY = NEXT + timedelta(days=2)


@pytest.fixture
def juno(cast):
    slot(joined(cast.learner), 3, "16:30", teacher=cast.owner)
    return cast.learner


@pytest.fixture
def given(juno):
    arrangement = add_piece(juno.studio, read_tab(TUNE), rights="own")
    return practice.assign(juno, arrangement, Terms(("A",), 60, THURSDAY, NEXT))


def until(assignment) -> date:
    assignment.refresh_from_db()
    return assignment.until


def test_what_is_assigned_runs_on_where_its_lesson_is_missed(juno, given):
    lesson = changes.note_absence(juno, NEXT, owed=True, today=THURSDAY, by=None)
    assert until(given) == next_lesson(juno, THURSDAY) == AFTER
    changes.take_back(lesson, THURSDAY)
    assert until(given) == next_lesson(juno, THURSDAY) == NEXT
    assert not Lesson.objects.exists()


def test_what_is_assigned_goes_where_its_lesson_goes(juno, given):
    changes.move_lesson(juno, NEXT, SATURDAY, time(10), 30, today=THURSDAY, by=None)
    assert until(given) == next_lesson(juno, THURSDAY) == SATURDAY
    changes.take_back(Lesson.objects.get(day=NEXT), THURSDAY)
    assert until(given) == NEXT
    assert not Lesson.objects.exists()


def test_a_performance_stays_on_its_day(juno, given):
    given.performance = True
    given.save()
    changes.note_absence(juno, NEXT, owed=True, today=THURSDAY, by=None)
    assert until(given) == NEXT


def test_a_lesson_is_owed_until_it_has_a_day(juno):
    missed = changes.note_absence(juno, NEXT, owed=True, today=THURSDAY, by=None)
    assert list(Lesson.objects.owed()) == [missed]
    instead = changes.plan_lesson(juno, SATURDAY, time(10), 30, makes_up_for=missed, today=THURSDAY, by=None)
    assert not Lesson.objects.owed().exists()
    changes.take_back(instead, THURSDAY)
    assert list(Lesson.objects.owed()) == [missed]


def test_one_that_is_not_to_be_made_up_is_not_owed(juno):
    changes.note_absence(juno, NEXT, owed=False, today=THURSDAY, by=None)
    assert not Lesson.objects.owed().exists()


def test_what_was_written_in_a_lesson_outlives_a_change_that_is_taken_back(juno):
    Lesson.objects.create(studio=juno.studio, student=juno, day=THURSDAY, note="Count aloud.")
    lesson = changes.note_absence(juno, THURSDAY, owed=True, today=THURSDAY, by=None)
    changes.take_back(lesson, THURSDAY)
    lesson.refresh_from_db()
    assert (lesson.note, lesson.state, lesson.owed) == ("Count aloud.", "held", False)


def test_the_lessons_page_shows_the_week_with_what_was_changed(juno, cast, sign_in):
    desk = sign_in(cast.owner)
    change = reverse("lesson_change", args=[juno.pk, NEXT])
    assert "Absent, to be made up" in desk.get(change).text
    assert desk.post(change, {"do": "owed"}).url.endswith(f"?week={NEXT}")
    page = desk.get(reverse("lesson_list"), {"week": NEXT}).text
    assert "Absent, still to be made up." in page
    owed = Lesson.objects.get()
    extra = f"{reverse('lesson_extra', args=[juno.pk])}?for={owed.pk}"
    assert extra.replace("&", "&amp;") in page
    when = {"day": SATURDAY, "starts": "10:00", "minutes": 30}
    desk.post(extra, when)
    page = desk.get(reverse("lesson_list"), {"week": NEXT}).text
    assert "Absent; instead Sat 28 March, 10:00." in page
    assert "instead of Thu 26 March." in page
    assert "To be made up" not in page


@pytest.mark.parametrize(
    ("sent", "fault"),
    [
        ({"day": THURSDAY - timedelta(days=1)}, "This day is past."),
        ({"day": NEXT}, "Juno Pell has a lesson on that day already."),
        ({"day": THURSDAY + timedelta(days=400)}, "Plan at most a year ahead."),
        ({"minutes": 1}, "A lesson lasts from 5 minutes to four hours."),
    ],
)
def test_a_time_that_cannot_be_is_said_and_nothing_is_kept(juno, cast, sign_in, sent, fault):
    when = {"day": SATURDAY, "starts": "10:00", "minutes": 30, "do": "move", **sent}
    for address in (
        reverse("lesson_change", args=[juno.pk, THURSDAY]),
        reverse("lesson_extra", args=[juno.pk]),
    ):
        answer = sign_in(cast.owner).post(address, when)
        assert answer.status_code == 422
        assert fault in answer.text
    assert not Lesson.objects.exists()


def test_two_lessons_at_the_same_time_are_said_but_allowed(juno, cast, sign_in):
    slot(joined(cast.other_learner), 5, "10:15", teacher=cast.owner)
    desk = sign_in(cast.owner)
    when = {"day": SATURDAY, "starts": "10:00", "minutes": 30, "do": "move"}
    page = desk.post(reverse("lesson_change", args=[juno.pk, NEXT]), when, follow=True).text
    assert "At the same time: Otto Brand (10:15)." in page
    assert Lesson.objects.get(day=SATURDAY).state == "planned"


def test_a_day_without_a_lesson_and_no_day_at_all_are_not_found(juno, cast, sign_in):
    desk = sign_in(cast.owner)
    assert desk.get(reverse("lesson_change", args=[juno.pk, SATURDAY])).status_code == 404
    assert desk.get(f"/lessons/{juno.pk}/on/2026-13-40/").status_code == 404


def test_a_lesson_that_is_not_owed_is_not_made_up(juno, cast, sign_in):
    held = Lesson.objects.create(studio=juno.studio, student=juno, day=THURSDAY)
    address = f"{reverse('lesson_extra', args=[juno.pk])}?for={held.pk}"
    assert sign_in(cast.owner).get(address).status_code == 404


def test_what_was_promised_is_on_top_until_it_is_ticked_as_kept(juno, cast, sign_in):
    desk = sign_in(cast.owner)
    first = Lesson.objects.create(
        studio=juno.studio, student=juno, day=THURSDAY - timedelta(days=14), promised="Bring a spare string."
    )
    Lesson.objects.create(
        studio=juno.studio, student=juno, day=THURSDAY - timedelta(days=7), promised="Play for Grandpa."
    )
    page = desk.get(reverse("lesson", args=[juno.pk])).text
    assert (
        page.index("Play for Grandpa.") < page.index("Bring a spare string.") < page.index("Since last time")
    )
    kept = reverse("promise_kept", args=[juno.pk, first.pk])
    assert 'aria-pressed="true"' in desk.post(kept, follow=True).text
    first.refresh_from_db()
    assert first.kept_on == THURSDAY
    Lesson.objects.filter(pk=first.pk).update(kept_on=THURSDAY - timedelta(days=1))
    assert "Bring a spare string." not in desk.get(reverse("lesson", args=[juno.pk])).text


def test_a_tick_by_mistake_is_taken_back(juno, cast, sign_in):
    lesson = Lesson.objects.create(
        studio=juno.studio, student=juno, day=THURSDAY - timedelta(days=7), promised="Play for Grandpa."
    )
    desk = sign_in(cast.owner)
    for kept_on in (THURSDAY, None):
        desk.post(reverse("promise_kept", args=[juno.pk, lesson.pk]))
        lesson.refresh_from_db()
        assert lesson.kept_on == kept_on


def test_a_promise_of_another_learner_is_not_found(juno, cast, sign_in):
    lesson = Lesson.objects.create(
        studio=juno.studio, student=cast.other_learner, day=THURSDAY, promised="A song."
    )
    answer = sign_in(cast.owner).post(reverse("promise_kept", args=[juno.pk, lesson.pk]))
    assert answer.status_code == 404


def test_writing_the_note_of_a_planned_lesson_holds_it(juno, cast, sign_in):
    changes.move_lesson(juno, THURSDAY, THURSDAY, time(18), 30, today=THURSDAY, by=None)
    sign_in(cast.owner).post(reverse("lesson", args=[juno.pk]), {"note": "Well counted.", "promised": ""})
    assert Lesson.objects.get().state == "held"


def test_where_nothing_is_assigned_the_first_thing_is_to_give_a_piece(juno, cast, sign_in):
    page = sign_in(cast.owner).get(reverse("lesson", args=[juno.pk])).text
    assert f'class="btn main" href="{reverse("choose_piece", args=[juno.pk])}"' in page
    assert "disabled" not in page
    assert "Assign and print" not in page


def test_assigning_says_until_when_and_prints_in_a_tab_of_its_own(juno, given, cast, sign_in):
    desk = sign_in(cast.owner)
    assert 'formtarget="_blank"' in desk.get(reverse("lesson", args=[juno.pk])).text
    address, sent = reverse("assign_next", args=[juno.pk]), {"note": "", "promised": ""}
    page = desk.post(address, {**sent, "do": "assign"}, follow=True).text
    assert "Juno Pell: the next week is assigned, to Thursday 26 March." in page
    printed = desk.post(address, {**sent, "do": "print"})
    assert printed.url.split("?")[0] == reverse("week_pdf", args=[juno.pk])

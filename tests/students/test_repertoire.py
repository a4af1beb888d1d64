"""Pieces that were put away stay playable, until they are let go."""

from datetime import timedelta

import pytest
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.models import WEEKDAYS
from students.repertoire import keep, let_go, repertoire
from tests.students.steps import LONG_TUNE, MONDAY, day, give, practise, tick

pytestmark = pytest.mark.django_db


@pytest.fixture
def learner(cast):
    cast.learner.minutes = dict.fromkeys(WEEKDAYS, 12)
    cast.learner.save()
    return cast.learner


@pytest.fixture
def old_piece(cast, learner):
    """A piece of two sections, secure by the teacher's mark and put away."""
    arrangement = add_piece(cast.studio, read_tab(LONG_TUNE), rights="own")
    assignment = give(learner, arrangement, letters=("A", "B"))
    for letter in assignment.letters:
        practice.mark_section(assignment, letter, "secure", day=MONDAY)
    practice.keep_planned(learner, MONDAY)
    practice.end_assignment(assignment, MONDAY)
    practice.keep_planned(learner, MONDAY)
    assignment.refresh_from_db()
    return assignment


@pytest.fixture
def new_piece(cast, learner):
    other = add_piece(cast.studio, read_tab(LONG_TUNE.replace("Two Yards", "Three Yards")), rights="own")
    return give(learner, other, until=MONDAY + timedelta(days=28))


def returning(learner, assignment):
    return list(learner.tasks.filter(chunk__assignment=assignment, day__gt=MONDAY).order_by("day"))


def due_on(assignment):
    return min(assignment.standings.values_list("due_on", flat=True))


def test_a_piece_put_away_comes_back_once_through_when_it_is_due(learner, old_piece, new_piece):
    (task,) = returning(learner, old_piece)
    assert task.day == due_on(old_piece)
    assert (task.chunk.kind, task.passes) == ("run", 1)
    assert task.assignment == new_piece


def test_it_comes_back_where_nothing_else_is_being_learned(learner, old_piece):
    due = due_on(old_piece)
    practice.keep_planned(learner, due)
    (task,) = learner.tasks.filter(day__gte=due)
    assert task.day == due
    assert task.chunk.assignment == old_piece


def test_what_was_played_when_due_rests_longer_the_next_time(learner, old_piece):
    due = due_on(old_piece)
    practise(learner, due)
    practice.keep_planned(learner, due + timedelta(days=1))
    old_piece.refresh_from_db()
    assert due_on(old_piece) - due > due - MONDAY
    assert not learner.tasks.filter(day__gt=due).exists()


def test_a_return_that_broke_down_is_back_within_days(learner, old_piece):
    due = due_on(old_piece)
    practice.keep_planned(learner, due)
    tick(learner.tasks.get(day=due), felt="broke")
    tomorrow = due + timedelta(days=1)
    practice.keep_planned(learner, tomorrow)
    assert due_on(old_piece) - due < due - MONDAY


def test_a_missed_return_stays_planned_until_it_is_played(learner, old_piece):
    due = due_on(old_piece)
    for late in (0, 1, 5):
        today = due + timedelta(days=late)
        practice.keep_planned(learner, today)
        assert learner.tasks.filter(day=today, chunk__assignment=old_piece).exists()


def test_what_is_let_go_never_comes_back_and_keeps_its_ticks(learner, old_piece, new_piece):
    let_go(old_piece, MONDAY)
    practice.keep_planned(learner, day(1))
    assert returning(learner, old_piece) == []
    assert set(old_piece.standings.values_list("standing", "due_on")) == {("secure", None)}
    assert old_piece.marks.count() == 2


def test_what_is_kept_after_all_comes_back_again(learner, old_piece, new_piece):
    let_go(old_piece, MONDAY)
    keep(old_piece)
    practice.keep_planned(learner, day(1))
    assert len(returning(learner, old_piece)) == 1


def test_a_piece_given_again_goes_on_from_what_was_done_and_leaves_the_repertoire(learner, old_piece):
    again = give(learner, old_piece.arrangement, letters=("A", "B"), starts=day(1), until=day(12))
    assert again.pk == old_piece.pk
    assert set(again.standings.values_list("standing", flat=True)) == {"secure"}
    assert repertoire(learner, day(1)) == []


def test_the_list_says_what_is_due_and_when_it_is_planned(learner, old_piece, new_piece):
    (line,) = repertoire(learner, day(1))
    assert line.due == line.planned == due_on(old_piece)
    assert line.said.endswith("once through.")


def test_the_list_says_so_where_no_day_has_room(learner, old_piece):
    learner.minutes = dict.fromkeys(WEEKDAYS, 0)
    learner.save()
    late = due_on(old_piece) + timedelta(days=1)
    learner.assignments.planned().update(stale=True)
    practice.keep_planned(learner, late)
    (line,) = repertoire(learner, late)
    assert "no day before the next lesson has a minute to spare" in line.said


def test_a_piece_that_was_not_secure_does_not_come_back_and_says_why(learner, new_piece):
    practise(learner, MONDAY)
    practice.end_assignment(new_piece, day(1))
    practice.keep_planned(learner, day(1))
    (line,) = repertoire(learner, day(1))
    assert line.due is None
    assert "Not secure" in line.said


# The five questions of a view.


def test_the_teacher_lets_go_and_keeps_from_the_learners_page(cast, sign_in, old_piece):
    desk = sign_in(cast.owner)
    page = desk.get(reverse("student", args=[cast.learner.pk])).content.decode()
    assert "Let go" in page
    address = reverse("repertoire", args=[old_piece.pk])
    assert desk.post(address, {"do": "let-go"}).url == reverse("student", args=[cast.learner.pk])
    old_piece.refresh_from_db()
    assert old_piece.let_go
    desk.post(address, {"do": "keep"})
    old_piece.refresh_from_db()
    assert not old_piece.let_go


def test_another_teacher_of_the_studio_may_do_it_too(cast, sign_in, old_piece):
    answer = sign_in(cast.teacher).post(reverse("repertoire", args=[old_piece.pk]), {"do": "let-go"})
    assert answer.status_code == 302


def test_another_studio_does_not_find_it(cast, sign_in, old_piece):
    answer = sign_in(cast.foreigner).post(reverse("repertoire", args=[old_piece.pk]), {"do": "let-go"})
    assert answer.status_code == 404


def test_a_learner_may_not_let_go(cast, sign_in, old_piece):
    answer = sign_in(student=cast.learner).post(reverse("repertoire", args=[old_piece.pk]))
    assert answer.status_code == 403


def test_it_is_not_done_by_looking(cast, sign_in, old_piece):
    assert sign_in(cast.owner).get(reverse("repertoire", args=[old_piece.pk])).status_code == 405

"""One piece for many: each with own days, level and arrangement, and who is how far."""

from datetime import timedelta

import pytest
from django.urls import reverse

from pieces.music.instruments import set_for
from pieces.music.tab import read_tab
from pieces.music.tuning import TUNINGS
from pieces.workup import add_arrangement, add_piece
from students import practice
from students.groups import pieces_of
from students.models import WEEKDAYS, Group, Student
from tests.students.steps import LONG_TUNE, practise, tick

pytestmark = pytest.mark.django_db


@pytest.fixture
def arrangement(cast):
    return add_piece(cast.studio, read_tab(LONG_TUNE), rights="own")


@pytest.fixture
def trio(cast):
    """Juno and Otto on the ukulele, Wren on the mandolin; Otto has twice the minutes."""
    wren = Student.objects.create(studio=cast.studio, name="Wren Ashby", instrument="mandolin")
    for student, minutes in ((cast.learner, 10), (cast.other_learner, 20), (wren, 10)):
        student.minutes = dict.fromkeys(WEEKDAYS, minutes)
        student.save()
    group = Group.objects.create(studio=cast.studio, name="Saturday strings")
    group.members.set([cast.learner, cast.other_learner, wren])
    return group


@pytest.fixture
def desk(cast, sign_in):
    return sign_in(cast.owner)


def address(group, arrangement):
    return reverse("group_assign", args=[group.pk, arrangement.pk])


def give(desk, group, arrangement, **more):
    """Give section A to everybody who can play the arrangement."""
    choices = {
        f"of_{student.pk}": arrangement.pk if student.instrument == "ukulele high G" else ""
        for student in group.members.all()
    }
    form = {"letters": ["A"], "goal": 72, "purpose": "lesson", "do": "assign", **choices, **more}
    return desk.post(address(group, arrangement), form)


def test_a_group_is_made_of_learners_of_the_studio(cast, desk):
    page = desk.get(reverse("group_new")).content.decode()
    assert cast.learner.name in page
    assert cast.foreign_learner.name not in page
    form = {"name": "Monday trio", "members": [cast.learner.pk, cast.other_learner.pk]}
    made = desk.post(reverse("group_new"), form)
    group = Group.objects.get()
    assert made.url == reverse("group", args=[group.pk])
    assert list(group.members.values_list("name", flat=True)) == ["Juno Pell", "Otto Brand"]


def test_a_learner_of_another_studio_cannot_be_put_into_a_group(cast, desk):
    answer = desk.post(reverse("group_new"), {"name": "Mixed", "members": [cast.foreign_learner.pk]})
    assert answer.status_code == 200
    assert not Group.objects.exists()


def test_a_group_without_members_is_refused_in_words(desk):
    page = desk.post(reverse("group_new"), {"name": "Nobody"}).content.decode()
    assert "Choose who is in the group." in page


def test_everybody_is_given_the_piece_on_their_own_days(cast, desk, trio, arrangement):
    assert give(desk, trio, arrangement).url == reverse("group", args=[trio.pk])
    juno, otto = (s.assignments.get() for s in (cast.learner, cast.other_learner))
    assert juno.group == otto.group == trio
    most = {
        s: max(
            sum(t.minutes for t in s.tasks.filter(day=day)) for day in s.tasks.values_list("day", flat=True)
        )
        for s in (cast.learner, cast.other_learner)
    }
    assert most[cast.learner] <= 10 < most[cast.other_learner] <= 20


def test_each_goes_to_their_own_next_lesson_unless_a_date_is_given(cast, desk, trio, arrangement):
    cast.learner.slots.create(
        studio=cast.studio, weekday=(cast.studio.today.weekday() + 3) % 7, starts="16:00"
    )
    give(desk, trio, arrangement)
    today = cast.studio.today
    assert cast.learner.assignments.get().until == today + timedelta(days=3)
    assert cast.other_learner.assignments.get().until == today + timedelta(days=7)
    day = today + timedelta(days=20)
    give(desk, trio, arrangement, until=day.isoformat(), purpose="performance")
    assert {s.assignments.get().until for s in (cast.learner, cast.other_learner)} == {day}


def test_who_plays_another_instrument_is_offered_the_arrangement_that_fits(cast, desk, trio, arrangement):
    page = desk.get(address(trio, arrangement)).content.decode()
    assert "No arrangement of this piece fits mandolin." in page
    assert "Give to 2 learners" in page
    moved = set_for(arrangement.to_score(), TUNINGS["mandolin"]).score
    for_mandolin = add_arrangement(arrangement.piece, moved, name="for the mandolin")
    page = desk.get(address(trio, arrangement)).content.decode()
    assert "No arrangement" not in page
    assert "Give to 3 learners" in page
    wren = Student.objects.get(name="Wren Ashby")
    give(desk, trio, arrangement, **{f"of_{wren.pk}": for_mandolin.pk})
    assert wren.assignments.get().arrangement == for_mandolin


def test_an_arrangement_that_does_not_fit_cannot_be_chosen(cast, desk, trio, arrangement):
    wren = Student.objects.get(name="Wren Ashby")
    answer = give(desk, trio, arrangement, **{f"of_{wren.pk}": arrangement.pk})
    assert answer.status_code == 200
    assert not wren.assignments.exists()


def test_who_is_left_out_gets_nothing(cast, desk, trio, arrangement):
    give(desk, trio, arrangement, **{f"of_{cast.learner.pk}": ""})
    assert not cast.learner.assignments.exists()
    assert cast.other_learner.assignments.exists()


def test_looking_at_the_plans_gives_nothing_yet(cast, desk, trio, arrangement):
    page = give(desk, trio, arrangement, do="plan").content.decode()
    assert page.count("Fits:") == 2
    assert not cast.learner.assignments.exists()


def test_what_a_member_did_of_the_piece_before_stays_done(cast, desk, trio, arrangement):
    today = cast.studio.today
    terms = practice.Terms(("A",), 72, today, today + timedelta(days=7))
    practice.assign(cast.learner, arrangement, terms)
    tick(cast.learner.tasks.first())
    give(desk, trio, arrangement, letters=["A", "B"])
    assert cast.learner.assignments.get().ticks.count() == 1


def test_the_page_says_who_is_ahead_and_who_behind(cast, desk, trio, arrangement):
    give(desk, trio, arrangement)
    assignment = cast.other_learner.assignments.get()
    practise(cast.other_learner, cast.studio.today)
    practice.mark_section(assignment, "A", "secure", day=cast.studio.today)
    practice.keep_planned(cast.other_learner, cast.studio.today)
    (piece,) = pieces_of(trio)
    assert [(line.student.name, line.place.where) for line in piece.lines] == [
        ("Otto Brand", "ahead"),
        ("Juno Pell", "behind"),
    ]
    page = desk.get(reverse("group", args=[trio.pk])).content.decode()
    assert "1 of 1 section at tempo." in page


def test_a_faulty_form_says_what_is_wrong_and_gives_nothing(cast, desk, trio, arrangement):
    page = give(desk, trio, arrangement, letters=[], purpose="performance").content.decode()
    assert "Choose at least one section." in page
    assert "A performance needs its date." in page
    assert not cast.learner.assignments.exists()


# The five questions of a view; roles, methods and foreign rows are asked in tests/test_roles.py too.


def test_a_second_teacher_may_give_to_a_group(cast, sign_in, trio, arrangement):
    give(sign_in(cast.teacher), trio, arrangement)
    assert cast.learner.assignments.exists()


def test_another_studios_group_and_piece_are_not_found(cast, sign_in, trio, arrangement):
    stranger = sign_in(cast.foreigner)
    assert stranger.get(reverse("group", args=[trio.pk])).status_code == 404
    assert stranger.post(address(trio, arrangement)).status_code == 404
    foreign = add_piece(cast.elsewhere, read_tab(LONG_TUNE), rights="own")
    assert sign_in(cast.owner).get(address(trio, foreign)).status_code == 404


def test_learners_and_guardians_see_no_group(cast, sign_in, trio):
    for holder in ("learner", "guardian"):
        client = sign_in(student=cast.learner, holder=holder)
        assert client.get(reverse("group", args=[trio.pk])).status_code == 403


def test_a_group_is_not_put_or_deleted(cast, desk, trio):
    assert desk.delete(reverse("group", args=[trio.pk])).status_code == 405

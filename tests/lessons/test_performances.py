"""A performance: its programme in order, the time it takes, and how ready everything is."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.models import WEEKDAYS, Group
from students.planning.performing import backward_from
from studio.lessons.models import Performance
from studio.lessons.programme import add_item, move_item, programme_page
from tests.students.steps import LONG_TUNE, give, practise

pytestmark = pytest.mark.django_db


@pytest.fixture
def concert(cast):
    return Performance.objects.create(
        studio=cast.studio, title="Spring concert", day=cast.studio.today + timedelta(days=40)
    )


@pytest.fixture
def learner(cast):
    cast.learner.minutes = dict.fromkeys(WEEKDAYS, 20)
    cast.learner.save()
    return cast.learner


@pytest.fixture
def pieces(cast):
    """Three pieces: two on the ukulele, the second with a capo, and one that is long."""
    first = read_tab(LONG_TUNE)
    second = replace(first, title="Three Yards", tuning=first.tuning.with_capo(2))
    third = read_tab(LONG_TUNE.replace("Two Yards", "Four Yards").replace("tempo: 72", "tempo: 60"))
    return [add_piece(cast.studio, score, rights="own") for score in (first, second, third)]


@pytest.fixture
def desk(cast, sign_in):
    return sign_in(cast.owner)


def lines(concert):
    return programme_page(concert, concert.studio.today)["lines"]


def prepare(learner, arrangement, concert, letters=("A", "B")):
    return give(
        learner,
        arrangement,
        letters=letters,
        starts=learner.studio.today,
        until=concert.day,
        performance=True,
    )


def test_times_follow_from_tempo_and_bars(learner, concert, pieces):
    for arrangement in (pieces[0], pieces[2]):
        add_item(concert, arrangement, student=learner)
    # Worked by hand: 32 beats at 72 are 26.7 s, at 60 they are 32 s.
    assert [(line.starts, line.lasts) for line in lines(concert)] == [("0:00", "0:27"), ("0:27", "0:32")]
    assert programme_page(concert, concert.studio.today)["music"] == "0:59"


def test_a_piece_lasts_as_long_as_the_players_own_goal_makes_it(learner, concert, pieces):
    give(learner, pieces[0], goal=60, starts=concert.studio.today, until=concert.day)
    add_item(concert, pieces[0], student=learner)
    assert [(line.tempo, line.lasts) for line in lines(concert)] == [(60, "0:32")]


def test_the_capo_is_said_to_whoever_has_to_move_it(cast, learner, concert, pieces):
    add_item(concert, pieces[0], student=learner)
    add_item(concert, pieces[2], student=cast.other_learner)
    add_item(concert, pieces[1], student=learner)
    add_item(concert, pieces[0], student=learner)
    said = [line.players[0].retune for line in lines(concert)]
    assert said == ["", "", "Capo on fret 2. 1 piece in between.", "Capo off. There is no piece in between."]


def test_a_piece_that_was_never_given_is_said_to_be_so(learner, concert, pieces):
    add_item(concert, pieces[0], student=learner)
    (line,) = lines(concert)
    assert line.players[0].readiness.state == "not given"


def test_readiness_goes_from_on_the_way_to_ready_with_its_reasons(learner, concert, pieces):
    add_item(concert, pieces[0], student=learner)
    assignment = prepare(learner, pieces[0], concert)
    before = lines(concert)[0].players[0].readiness
    assert before.state == "on the way"
    assert before.reasons[0] == "Section A has not been played yet."
    today = concert.studio.today
    for letter in ("A", "B"):
        practice.mark_section(assignment, letter, "secure", day=today)
    practice.keep_planned(learner, today)
    after = lines(concert)[0].players[0].readiness
    assert (after.state, after.reasons) == ("ready", ("Every section is secure.",))


def test_a_section_that_was_left_out_is_named(learner, concert, pieces):
    add_item(concert, pieces[0], student=learner)
    prepare(learner, pieces[0], concert, letters=("A",))
    reasons = lines(concert)[0].players[0].readiness.reasons
    assert "Section B was never given." in reasons


def test_a_piece_that_is_planned_for_another_day_says_so(learner, concert, pieces):
    add_item(concert, pieces[0], student=learner)
    until = concert.studio.today + timedelta(days=6)
    give(learner, pieces[0], starts=concert.studio.today, until=until)
    last = lines(concert)[0].players[0].readiness.reasons[-1]
    assert last == f"It is planned to {until.day} {until:%B}, not for this day."


def test_what_is_not_learned_two_weeks_before_is_late(learner, concert, pieces):
    add_item(concert, pieces[0], student=learner)
    prepare(learner, pieces[0], concert)
    soon = concert.day - timedelta(days=10)
    player = programme_page(concert, soon)["lines"][0].players[0]
    assert player.readiness.state == "late"


def test_the_plan_runs_the_piece_daily_at_the_end_and_rests_before(learner, concert, pieces):
    prepare(learner, pieces[0], concert)
    dates = backward_from(concert.day, concert.studio.today)
    eve = learner.tasks.filter(day=dates.rest_on)
    assert [task.chunk.kind for task in eve] == ["run"]
    for number in range((dates.rest_on - dates.run_from).days):
        day = dates.run_from + timedelta(days=number)
        assert learner.tasks.filter(day=day, chunk__kind="run").count() == 1
        assert sum(task.minutes for task in learner.tasks.filter(day=day)) <= 20


def test_planning_twice_toward_a_performance_changes_nothing(learner, concert, pieces):
    prepare(learner, pieces[0], concert)
    today = concert.studio.today
    practise(learner, today)
    practice.keep_planned(learner, today + timedelta(days=1))
    once = list(learner.tasks.values_list("day", "order", "chunk__key", "minutes", "to_tempo"))
    practice.replan(learner, today + timedelta(days=1))
    assert list(learner.tasks.values_list("day", "order", "chunk__key", "minutes", "to_tempo")) == once


def test_a_piece_of_a_group_says_how_ready_each_member_is(cast, learner, concert, pieces):
    group = Group.objects.create(studio=cast.studio, name="Saturday strings")
    group.members.set([learner, cast.other_learner])
    add_item(concert, pieces[0], group=group)
    prepare(learner, pieces[0], concert)
    (line,) = lines(concert)
    assert {p.student.name: p.readiness.state for p in line.players} == {
        "Juno Pell": "on the way",
        "Otto Brand": "not given",
    }


def test_a_piece_on_another_instrument_than_the_players_is_said_to_be_so(cast, learner, concert, pieces):
    learner.instrument = "mandolin"
    learner.save()
    add_item(concert, pieces[0], student=learner)
    reasons = lines(concert)[0].players[0].readiness.reasons
    assert reasons == ("This is for ukulele high G; Juno Pell plays mandolin.",)


def test_pieces_change_places_and_stay_within_the_programme(learner, concert, pieces):
    items = [add_item(concert, arrangement, student=learner) for arrangement in pieces]
    move_item(concert, items[2], -1)
    assert [item.pk for item in concert.programme.all()] == [items[0].pk, items[2].pk, items[1].pk]
    move_item(concert, items[0], -1)
    assert concert.programme.first().pk == items[0].pk


def test_the_number_of_queries_does_not_grow_with_the_programme(cast, learner, concert, pieces):
    for arrangement in pieces:
        add_item(concert, arrangement, student=learner)
        prepare(learner, arrangement, concert)
    lines(concert)
    with CaptureQueriesContext(connection) as short:
        lines(concert)
    for arrangement in pieces:
        add_item(concert, arrangement, student=learner)
        add_item(concert, arrangement, student=cast.other_learner)
    with CaptureQueriesContext(connection) as long:
        lines(concert)
    assert len(long) == len(short)


# The five questions of a view; roles, methods and foreign rows are asked in tests/test_roles.py too.


def test_a_teacher_makes_a_performance_and_its_programme(cast, desk, learner, pieces):
    day = cast.studio.today + timedelta(days=30)
    made = desk.post(reverse("performance_new"), {"title": "At the mill", "day": day.isoformat()})
    concert = Performance.objects.get()
    assert made.url == reverse("performance", args=[concert.pk])
    for arrangement in pieces[:2]:
        form = {"do": "add", "arrangement": arrangement.pk, "by": f"s{learner.pk}"}
        assert desk.post(made.url, form).status_code == 302
    page = desk.get(made.url).content.decode()
    assert page.index("Two Yards") < page.index("Three Yards")
    assert "Capo on fret 2." in page
    assert "rest on" in page
    second = concert.programme.last()
    desk.post(made.url, {"do": f"earlier {second.pk}"})
    page = desk.get(made.url).content.decode()
    assert page.index("Three Yards") < page.index("Two Yards")
    desk.post(made.url, {"do": f"out {second.pk}"})
    assert concert.programme.count() == 1


def test_a_piece_is_given_for_the_day_from_the_programme(desk, learner, concert, pieces):
    add_item(concert, pieces[0], student=learner)
    address = reverse("assign", args=[learner.pk, pieces[0].pk]) + f"?perform={concert.day}"
    assert address in desk.get(reverse("performance", args=[concert.pk])).content.decode()
    page = desk.get(address).content.decode()
    assert f'value="{concert.day}"' in page
    assert '<option value="performance" selected>' in page
    assert "run daily from" in page


def test_a_performance_that_is_called_off_leaves_what_was_given(desk, learner, concert, pieces):
    add_item(concert, pieces[0], student=learner)
    prepare(learner, pieces[0], concert)
    desk.post(reverse("performance_about", args=[concert.pk]), {"do": "call-off"})
    assert not Performance.objects.exists()
    assert learner.assignments.running().exists()


def test_an_empty_choice_is_refused_in_words(desk, concert):
    page = desk.post(reverse("performance", args=[concert.pk]), {"do": "add"}).content.decode()
    assert "Choose a piece." in page
    assert "Choose who plays it." in page


def test_a_second_teacher_may_change_the_programme(cast, sign_in, learner, concert, pieces):
    form = {"do": "add", "arrangement": pieces[0].pk, "by": f"s{learner.pk}"}
    sign_in(cast.teacher).post(reverse("performance", args=[concert.pk]), form)
    assert concert.programme.count() == 1


def test_another_studio_finds_neither_the_performance_nor_its_pieces_or_learners(
    cast, sign_in, desk, concert, pieces
):
    address = reverse("performance", args=[concert.pk])
    assert sign_in(cast.foreigner).get(address).status_code == 404
    foreign = add_piece(cast.elsewhere, read_tab(LONG_TUNE), rights="own")
    form = {"do": "add", "arrangement": foreign.pk, "by": f"s{cast.foreign_learner.pk}"}
    assert desk.post(address, form).status_code == 200
    assert not concert.programme.exists()


def test_a_piece_of_another_programme_is_not_moved_from_here(cast, desk, learner, concert, pieces):
    other = Performance.objects.create(studio=cast.studio, title="Other", day=concert.day)
    item = add_item(other, pieces[0], student=learner)
    assert desk.post(reverse("performance", args=[concert.pk]), {"do": f"out {item.pk}"}).status_code == 404


def test_learners_may_not_look_and_nobody_may_put(cast, sign_in, desk, concert):
    address = reverse("performance", args=[concert.pk])
    assert sign_in(student=cast.learner).get(address).status_code == 403
    assert desk.put(address).status_code == 405

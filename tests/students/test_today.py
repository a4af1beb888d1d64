"""Today as plain pages and forms, before any script: shown, ticked, taken back, done."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.models import Tick
from students.records import Terms
from tests.students.test_practice import TUNE

pytestmark = pytest.mark.django_db


@pytest.fixture
def tasks(cast):
    """What the learner is to play today."""
    arrangement = add_piece(cast.studio, read_tab(TUNE), rights="own")
    cast.learner.minutes = dict.fromkeys(cast.learner.minutes | {"sun": 0}, 20)
    cast.learner.save()
    today = cast.studio.today
    practice.assign(cast.learner, arrangement, Terms(("A",), 72, today, today + timedelta(days=10)))
    return list(cast.learner.tasks.filter(day=today))


@pytest.fixture
def learner(cast, sign_in, tasks):
    return sign_in(student=cast.learner)


def given(task, **different):
    return {"uuid": str(uuid4()), "task": task.pk, "tempo": task.to_tempo, "felt": "clean", **different}


def shown(client, **asked):
    return client.get(reverse("today"), asked).content.decode()


def test_nothing_is_chosen_beforehand(learner):
    assert "checked" not in shown(learner)


def test_the_loop_brings_its_sound_as_data_and_no_script_of_the_page_is_inline(learner):
    page = shown(learner)
    assert 'id="playing" type="application/json"' in page
    scripts = [part.split(">")[0] for part in page.split("<script")[1:]]
    assert all('src="' in script or "application/json" in script for script in scripts)
    assert "style=" not in page


def test_hear_and_click_are_hidden_until_a_script_finds_that_sound_can_work(learner):
    assert '<div class="sound" id="sound" hidden>' in shown(learner)


def test_a_form_without_script_is_ticked_and_the_next_loop_comes(learner, tasks):
    answer = learner.post(reverse("tick"), given(tasks[0]), follow=True)
    assert Tick.objects.get().key == tasks[0].chunk.key
    assert "Tick loop 2" in answer.content.decode()


def test_a_form_that_says_too_little_is_answered_in_words_and_ticks_nothing(learner, tasks):
    answer = learner.post(reverse("tick"), given(tasks[0], felt=""))
    assert answer.status_code == 422
    assert "Say how it went." in answer.content.decode()
    assert not Tick.objects.exists()


def test_another_learners_task_is_not_found(cast, sign_in, tasks):
    other = sign_in(student=cast.other_learner)
    assert other.post(reverse("tick"), given(tasks[0])).status_code == 404
    assert not Tick.objects.exists()


def test_another_learners_tick_cannot_be_taken_back(cast, learner, sign_in, tasks):
    learner.post(reverse("tick"), given(tasks[0]))
    made = Tick.objects.get()
    other = sign_in(student=cast.other_learner)
    assert other.post(reverse("untick"), {"uuid": str(made.uuid)}).status_code == 404
    assert Tick.objects.standing().count() == 1


def test_a_tick_is_taken_back_without_script(learner, tasks):
    learner.post(reverse("tick"), given(tasks[0]))
    assert "Take back" in shown(learner, loop=1)
    learner.post(reverse("untick"), {"uuid": str(Tick.objects.get().uuid)})
    assert "Tick loop 1" in shown(learner)


def test_a_day_that_is_done_says_so_and_no_more(learner, tasks):
    for task in tasks:
        learner.post(reverse("tick"), given(task))
    page = shown(learner)
    assert "That is all for today." in page
    assert "<form" not in page.split('<nav class="foot"')[0]


@pytest.mark.parametrize("asked", ["0", "99", "-1", "one", "²", ""])
def test_a_loop_that_is_not_there_is_the_next_one(learner, asked):
    assert "Tick loop 1" in shown(learner, loop=asked)

"""What is stuck is broken down in the stored plan too, and the teacher is told of the bar."""

import pytest

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.models import WEEKDAYS, Chunk
from students.planning.stuck import pinpoint
from students.records import history_of, records_of
from studio.lessons.lesson_page import lesson_page
from tests.students.steps import LONG_TUNE, day, give, tick

pytestmark = pytest.mark.django_db

STUCK_AT = 44


@pytest.fixture
def assignment(cast):
    """Four days on which every loop with bar 3 stood at one tempo and all others went as planned."""
    learner = cast.learner
    learner.minutes = dict.fromkeys(WEEKDAYS, 20)
    learner.save()
    given = give(learner, add_piece(cast.studio, read_tab(LONG_TUNE), rights="own"), until=day(15))
    for n in range(6):
        practice.keep_planned(learner, day(n))
        for task in learner.tasks.filter(day=day(n)):
            held = 3 in task.chunk.data["bars"] and task.chunk.kind != "drill"
            tick(task, **({"felt": "slips", "tempo": STUCK_AT} if held else {}))
    practice.keep_planned(learner, day(6))
    return given


def held(assignment):
    ticks, marks = records_of(assignment.student)
    return pinpoint(history_of(assignment, assignment.revision, ticks, marks))


def test_the_bar_alone_is_in_the_stored_plan_and_can_be_ticked(assignment):
    assert "bar:3" in {one.key for one in held(assignment)}
    task = assignment.student.tasks.filter(day__gte=day(6), chunk__key="bar:3").first()
    assert task.why.startswith("Stuck at 44 for ")
    assert task.why.endswith("bar 3 alone first.")
    assert tick(task, tempo=40).key == "bar:3"


def test_planning_the_same_day_again_keeps_one_row_of_it(assignment):
    learner = assignment.student
    learner.assignments.update(stale=True)
    practice.keep_planned(learner, day(6))
    assert Chunk.objects.filter(assignment=assignment, key="bar:3").count() == 1


def test_the_stored_loop_holds_nothing_it_would_be_broken_down_into(assignment):
    assert not [chunk.key for chunk in assignment.chunks.all() if "apart" in chunk.data]


def test_the_lesson_names_the_bar_once(assignment):
    stuck = lesson_page(assignment.student, day(6))["stuck"]
    assert [spot["stuck"].key for spot in stuck].count("bar:3") == 1

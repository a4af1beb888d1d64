"""What is stored of standings is what ticks and marks say, and can be made again from them."""

import pytest
from django.core.management import CommandError, call_command

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.models import WEEKDAYS, SectionStanding
from tests.students.steps import LONG_TUNE, day, give, practise

pytestmark = pytest.mark.django_db


@pytest.fixture
def lived(cast):
    """Three weeks of two pieces up to today: ticked, marked, one of them put away."""
    student, today = cast.learner, cast.studio.today
    student.minutes = dict.fromkeys(WEEKDAYS, 20)
    student.save()
    shift = (today - day(0)).days - 21
    first = add_piece(cast.studio, read_tab(LONG_TUNE), rights="own")
    second = add_piece(cast.studio, read_tab(LONG_TUNE.replace("Two Yards", "Three Yards")), rights="own")
    old = give(student, first, letters=("A", "B"), starts=day(shift), until=day(shift + 14))
    for number in range(14):
        felt = "slips" if number % 5 == 3 else "clean"
        practise(student, day(shift + number), felt=felt, tempo=72 if number > 9 else None)
    practice.mark_section(old, "B", "secure", day=day(shift + 13))
    practice.keep_planned(student, day(shift + 13))
    practice.end_assignment(old, day(shift + 13))
    give(student, second, starts=day(shift + 14), until=day(shift + 30))
    for number in range(14, 22):
        practise(student, day(shift + number))
    practice.keep_planned(student, today)
    return student


def stored():
    return list(
        SectionStanding.objects.order_by("assignment", "section").values_list(
            "assignment", "section", "standing", "why", "due_on"
        )
    )


def test_rebuilt_from_ticks_and_marks_they_are_what_was_stored(lived):
    before = stored()
    assert len({standing for _pk, _letter, standing, _why, _due in before}) > 1
    assert any(due for *_rest, due in before)
    call_command("rebuild_standings")
    assert stored() == before


def test_what_was_lost_comes_back_from_ticks_and_marks(lived):
    before = stored()
    SectionStanding.objects.all().delete()
    call_command("rebuild_standings")
    assert stored() == before


def test_the_check_is_content_with_what_practice_stored(lived, capsys):
    call_command("rebuild_standings", check=True)
    assert "what ticks and marks say" in capsys.readouterr().out


def test_the_check_names_what_was_changed_by_hand_and_leaves_it(lived):
    SectionStanding.objects.filter(section="A").update(standing="new")
    with pytest.raises(CommandError, match="Juno Pell, Two Yards, section A"):
        call_command("rebuild_standings", check=True)
    assert SectionStanding.objects.filter(section="A", standing="new").exists()


@pytest.mark.sqlite  # asks SQLite how it would read
def test_whether_a_tick_was_taken_back_is_looked_up_and_not_searched_for(cast):
    assert "ticks_taken_back" in cast.learner.ticks.standing().explain()

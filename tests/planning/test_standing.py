from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from students.planning.chunks import build_chunks
from students.planning.history import History, MarkRecord
from students.planning.standing import STANDINGS, standing_of
from tests.planning.made_up import TODAY, calendar, history, loops_from, sections_of, tick, tune

CHUNKS = build_chunks(tune(0, 2, 3, 5), sections_of(4), {}, goal=76)


def day(n):
    """So many days before today."""
    return TODAY - timedelta(days=n)


def standing(*ticks, marks=(), on=TODAY, **more):
    return standing_of("A", CHUNKS, History(ticks, tuple(marks)), on, **more)


def whole(n, tempo=76, felt="clean"):
    return tick("section:A", day(n), tempo, felt)


def test_a_section_nobody_played_is_new():
    assert standing().name == "new"


def test_a_section_is_learning_from_its_first_loop_on():
    assert standing(tick("pair:1-2", day(3), 56)).name == "learning"


def test_a_section_is_at_tempo_once_it_went_clean_at_its_goal():
    assert standing(whole(1)).name == "at tempo"
    assert standing(whole(1, felt="slips")).name == "learning"
    assert standing(whole(1, tempo=72)).name == "learning"


def test_a_loop_at_the_goal_does_not_bring_its_section_to_tempo():
    assert standing(tick("pair:1-2", day(3), 76), tick("pair:3-4", day(2), 76)).name == "learning"


def test_a_section_is_secure_once_it_went_so_on_two_different_days():
    assert standing(whole(1), whole(1)).name == "at tempo"
    assert standing(whole(2), whole(1)).name == "secure"


def test_a_secure_section_is_due_again_when_its_recall_has_run_down():
    found = standing(whole(202), whole(200))
    assert found.name == "due again"
    assert found.memory.recall(TODAY) <= 0.9
    assert found.since == found.memory.due


def test_one_clean_pass_makes_what_is_due_again_secure():
    assert standing(whole(202), whole(200), whole(0, tempo=60)).name == "secure"


def test_a_teachers_mark_outweighs_ticks_until_a_later_lesson():
    mark = MarkRecord("A", day(5), "learning")
    ticks = whole(8), whole(7), whole(3), whole(2)
    assert standing(*ticks, marks=[mark]).name == "learning"
    assert standing(*ticks, marks=[mark], lessons=[day(1)]).name == "secure"
    assert standing(*ticks[:3], marks=[mark], lessons=[day(1)]).name == "at tempo"


def test_marking_another_section_later_shows_that_there_was_a_later_lesson():
    marks = [MarkRecord("A", day(5), "learning"), MarkRecord("B", day(1), "secure")]
    assert standing(whole(3), whole(2), marks=marks).name == "secure"


def test_what_was_ticked_before_a_mark_does_not_overrule_it_later():
    mark = MarkRecord("A", day(5), "learning")
    assert standing(whole(8), whole(7), marks=[mark], lessons=[day(1)]).name == "learning"


def test_a_secure_mark_holds_after_slips():
    mark = MarkRecord("A", day(3), "secure")
    assert standing(whole(1, felt="broke"), marks=[mark]).name == "secure"


def test_ticks_and_marks_after_the_day_asked_about_are_not_looked_at():
    assert standing(whole(2), whole(1), on=day(2)).name == "at tempo"
    assert standing(marks=[MarkRecord("A", day(0), "secure")], on=day(1)).name == "new"


@pytest.mark.parametrize(
    ("found", "evidence"),
    [
        (standing(), "Section A has not been played yet."),
        (standing(tick("pair:1-2", day(3), 56)), "1 of its loops played, not yet whole."),
        (standing(whole(1, tempo=66)), "Clean at 66 on Thursday 12 March; the goal is 76."),
        (standing(whole(2), whole(1)), "Clean at 76 on Wednesday 11 March."),
        (standing(marks=[MarkRecord("A", day(1), "secure")]), "Marked secure on Thursday 12 March."),
    ],
)
def test_a_standing_lists_its_evidence(found, evidence):
    assert evidence in found.why


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.integers(0, 10**6), st.data())
def test_a_clean_tick_more_never_makes_a_standing_worse(seed, data):
    chance = Random(seed)
    chunks = loops_from(seed, 8)
    past = history(chance, chunks, calendar(chance).days)
    chunk = data.draw(st.sampled_from(chunks))
    tempo = data.draw(st.sampled_from((chunk.start, chunk.goal)))
    section = chunk.section or "A"
    more = replace(tick(chunk.key, TODAY, tempo, section=section), kind=chunk.kind)
    lessons = data.draw(st.lists(st.integers(0, 6).map(day), max_size=2))
    later = data.draw(st.sampled_from((0, 1, 30, 400)))
    on = TODAY + timedelta(days=later)
    for letter in {c.section for c in chunks if c.section}:
        before = standing_of(letter, chunks, past, on, lessons=lessons)
        after = standing_of(letter, chunks, History((*past.ticks, more), past.marks), on, lessons=lessons)
        assert STANDINGS.index(after.name) >= STANDINGS.index(before.name)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_standings_come_out_the_same_from_the_records_in_any_order(seed):
    chance = Random(seed)
    chunks = loops_from(seed, 8)
    past = history(chance, chunks, calendar(chance).days)
    shuffled = list(past.ticks)
    chance.shuffle(shuffled)
    for letter in {c.section for c in chunks if c.section}:
        found = standing_of(letter, chunks, past, TODAY)
        again = standing_of(letter, chunks, History(tuple(shuffled), past.marks[::-1]), TODAY)
        assert (found.name, found.since, found.memory) == (again.name, again.since, again.memory)

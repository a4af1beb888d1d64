"""Planning against the world: published series, handbooks, and the trade's own habits."""

from datetime import UTC, date, datetime, timedelta

import pytest
from fsrs import Card, Rating, Scheduler
from fsrs.scheduler import DEFAULT_PARAMETERS

from pieces.music.difficulty import rate_bar
from pieces.music.form import bar_classes
from pieces.music.sections import find_sections
from students.planning.cautions import ADDED_A_DAY, BREAK, HALF_HOUR, break_caution, cautions, most_minutes
from students.planning.chunks import build_chunks
from students.planning.days import Calendar, Learner, plan_days
from students.planning.history import History
from students.planning.loads import due
from students.planning.retention import Memory, remember
from students.planning.tempo import MARKS
from tests.outside.tunes import essen_tunes

FRIDAY = date(2026, 3, 13)


def a_week(minutes=15, days=6):
    dates = [FRIDAY + timedelta(days=n) for n in range(days)]
    return Calendar(dict.fromkeys(dates, minutes), FRIDAY + timedelta(days=days))


def loops_of(tune, goal=90):
    ratings = {bar.number: rate_bar(bar, tempo=goal, tuning=tune.tuning) for bar in tune.bars}
    return build_chunks(tune, find_sections(tune), ratings, goal=goal)


# --- The metronome -------------------------------------------------------------------------


def test_the_marks_are_the_39_of_the_traditional_metronome():
    # The traditional series, as printed on pendulum metronomes (horn-list archive).
    printed = """40 42 44 46 48 50 52 54 56 58 60 63 66 69 72 76 80 84 88 92 96 100 104 108 112 116
        120 126 132 138 144 152 160 168 176 184 192 200 208"""
    assert list(MARKS) == [int(mark) for mark in printed.split()]
    assert len(MARKS) == 39


def test_every_mark_up_to_104_has_its_double():
    # A property of the series, same source.
    assert all(2 * mark in MARKS for mark in MARKS if mark <= 104)


# --- Forgetting ----------------------------------------------------------------------------


def test_the_pinned_library_gives_its_own_published_intervals():
    # fsrs 6.3.2, its published tests: each review at its due date, fuzz off.
    ratings = [Rating(n) for n in (3, 3, 3, 3, 3, 3, 1, 1, 3, 3, 3, 3, 3)]
    scheduler, card = Scheduler(enable_fuzzing=False), Card()
    now, days = datetime(2022, 11, 29, 12, 30, tzinfo=UTC), []
    for rating in ratings:
        card, _ = scheduler.review_card(card, rating, now)
        days.append((card.due - card.last_review).days)
        now = card.due
    assert days == [0, 2, 11, 46, 163, 498, 0, 0, 2, 4, 7, 12, 21]


@pytest.mark.parametrize("stability", [0.5, 2.3, 14.0, 60.0])
@pytest.mark.parametrize("nights", [0, 1, 7, 30])
def test_recall_follows_the_published_forgetting_curve(stability, nights):
    # R = (1 + F t/S)^-0.1542 with F = 0.9^(1/-0.1542) - 1 = 0.980346: the library's source.
    decay = DEFAULT_PARAMETERS[20]
    assert decay == 0.1542
    factor = 0.9 ** (1 / -decay) - 1
    assert factor == pytest.approx(0.980346, abs=1e-6)
    memory = Memory(FRIDAY, FRIDAY + timedelta(days=1), stability)
    expected = (1 + factor * nights / stability) ** -decay
    assert memory.recall(FRIDAY + timedelta(days=nights)) == pytest.approx(expected)


def test_a_section_is_due_when_recall_is_nine_in_ten():
    # By the curve's definition, recall is .9 after as many days as the stability.
    memory = remember({FRIDAY: Rating.Good, FRIDAY + timedelta(days=2): Rating.Good})
    assert (memory.due - memory.last).days == round(memory.stability)
    assert memory.recall(memory.due) == pytest.approx(0.9, abs=0.01)


# --- Returns -------------------------------------------------------------------------------


def test_the_first_return_comes_after_one_night():
    # Simmons, Journal of Research in Music Education 59(4), 2011: accuracy gained only
    # with 24 hours between sessions, not with 5 minutes or 6 hours.
    assert due(100, 142, anew=True) == 101


@pytest.mark.parametrize("nights", [10, 20, 35])
def test_later_returns_come_after_about_a_fifth_of_the_time_left(nights):
    # Cepeda et al. 2008: the best gap is about 0.2 of the time to the test, at weeks.
    gap = due(100, 100 + nights, anew=False) - 100
    assert gap / nights == pytest.approx(0.2, abs=0.05)


# --- Cautions: BAPAM, ten tips for healthy practice ---------------------------------------


def test_a_break_of_five_minutes_each_half_hour():
    assert (BREAK, HALF_HOUR) == (5, 30)
    assert "5 minutes after each half hour" in break_caution(31)


def test_ten_minutes_a_day_may_be_added_for_three_days_then_it_is_held_for_the_week():
    assert ADDED_A_DAY == 10
    assert [most_minutes(20, n) - 20 for n in range(1, 8)] == [10, 20, 30, 30, 30, 30, 30]
    growing = [30, 40, 50, 50, 50, 50, 50]
    dates = [FRIDAY + timedelta(days=n) for n in range(7)]
    calendar = Calendar(dict(zip(dates, growing, strict=True)), FRIDAY + timedelta(days=7))
    assert not [text for text in cautions(calendar, FRIDAY, usual=20) if "Add at most" in text]
    faster = Calendar({**calendar.minutes, dates[3]: 60}, calendar.lesson)
    said = cautions(faster, FRIDAY, usual=20)
    assert "60 minutes on Monday 16 March" in said[0]
    assert "Add at most 10 minutes a day for three days" in said[0]


def test_whoever_is_cautioned_is_told_never_to_play_through_pain():
    assert "pain" in cautions(a_week(45), FRIDAY)[-1]


# --- Teachers' habits: common practice, no source -----------------------------------------


@pytest.mark.parametrize("tune", essen_tunes()[::20], ids=lambda tune: tune.title)
def test_one_or_two_bars_are_learned_then_joined_then_the_section_is_played(tune):
    seen = []
    plan = plan_days(loops_of(tune), a_week(20, 40), Learner("beginner"), History(), FRIDAY)
    for day in plan.days:
        for task in day.tasks:
            if task.new:
                seen.append(task)
    for at, task in enumerate(seen):
        before = {number for earlier in seen[:at] for number in (earlier.first, earlier.last)}
        if task.kind in ("bar", "pair"):
            assert task.last - task.first <= 1
        if task.kind == "section" and task.last - task.first > 1:
            assert before, "a section of more than two bars is not met first"
    assert plan.fit.fits or plan.fit.missing


@pytest.mark.parametrize("tune", essen_tunes()[::20], ids=lambda tune: tune.title)
def test_four_bars_on_a_first_day_are_plenty_for_a_beginner(tune):
    plan = plan_days(loops_of(tune), a_week(30, 12), Learner("beginner"), History(), FRIDAY)
    classes = bar_classes(tune)
    new = {classes[n] for task in plan.days[0].tasks for n in (task.first, task.last)}
    assert 1 <= len(new) <= 4


@pytest.mark.parametrize("tune", essen_tunes()[::10], ids=lambda tune: tune.title)
def test_no_tune_of_the_world_breaks_a_day(tune):
    calendar = a_week(12, 13)
    plan = plan_days(loops_of(tune), calendar, Learner("intermediate"), History(), FRIDAY)
    assert all(day.minutes <= 12 for day in plan.days)
    assert all(sum(task.new for task in day.tasks) <= 3 for day in plan.days)

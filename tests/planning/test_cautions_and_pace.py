from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from students.planning.cautions import NEVER_THROUGH_PAIN, break_caution, cautions
from students.planning.days import add_minutes
from students.planning.history import History
from students.planning.pace import evidence_by_bar, pace_of
from tests.planning.made_up import TODAY, daily, tick


def timed(*pairs, key="bar:3"):
    """Ticks that took so many minutes of so many planned."""
    return History(tuple(tick(key, TODAY, 60, minutes=real, planned=planned) for real, planned in pairs))


def test_a_steady_quarter_of_an_hour_needs_no_caution():
    assert cautions(daily(15, 10), TODAY) == ()


def test_a_day_over_half_an_hour_asks_for_breaks_and_never_through_pain():
    said = cautions(daily(40, 5), TODAY)
    assert said == (break_caution(40), NEVER_THROUGH_PAIN)


def test_growing_faster_than_ten_minutes_a_day_is_said_on_the_day():
    assert cautions(daily(30, 5), TODAY, usual=20) == ()
    first, *_ = cautions(daily(31, 5), TODAY, usual=20)
    assert first.startswith("31 minutes on Friday 13 March, after 20 a day.")


def test_what_was_usual_is_read_from_the_week_before():
    calendar = daily(12, 14, TODAY - timedelta(days=7))
    assert cautions(calendar, TODAY) == ()
    grown = add_minutes(calendar, 12, TODAY)
    assert cautions(grown, TODAY)[0].startswith("24 minutes on Friday 13 March, after 12 a day.")


def test_a_learner_not_measured_goes_at_the_estimate():
    assert pace_of(History()).pace == 1
    assert pace_of(History((tick("bar:3", TODAY, 60),))).loops == 0


def test_one_slow_loop_moves_the_pace_a_little_and_many_a_lot():
    one, many = pace_of(timed((4, 2))).pace, pace_of(timed(*[(4, 2)] * 40)).pace
    assert 1 < one < 1.1
    assert 1.7 < many < 2


@given(st.lists(st.tuples(st.floats(0.1, 200), st.floats(0.5, 20)), max_size=30))
def test_pace_lies_between_one_and_what_was_seen(pairs):
    ratios = [min(3, max(1 / 3, real / planned)) for real, planned in pairs]
    pace = pace_of(timed(*pairs)).pace
    assert min([1, *ratios]) - 1e-9 <= pace <= max([1, *ratios]) + 1e-9
    assert 0.5 <= pace <= 2


def test_a_bar_that_is_slow_for_a_learner_who_is_not_counts_against_the_bar():
    evidence = evidence_by_bar([timed(*[(2, 2)] * 30), timed((6, 2))])
    expected, needed = evidence[1][1]
    assert needed == 6 and 2 < expected < 2.3


def test_a_slow_learner_does_not_make_every_bar_hard():
    (expected, needed), *_ = evidence_by_bar([timed(*[(4, 2)] * 200)])[1]
    assert needed / expected < 1.1

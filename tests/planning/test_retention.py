from datetime import date, timedelta

from fsrs import Rating
from hypothesis import given, settings
from hypothesis import strategies as st

from students.planning.retention import LONGEST_BEFORE_PERFORMANCE, ratings_by_day, remember
from tests.planning.made_up import TODAY, tick

offsets = st.dictionaries(st.integers(0, 200), st.sampled_from(list(Rating)), min_size=1, max_size=12)


def on_days(ratings):
    return {TODAY + timedelta(days=n): rating for n, rating in sorted(ratings.items())}


def test_a_day_counts_by_its_best_tick():
    ticks = [tick("section:A", TODAY, 76, "broke"), tick("section:A", TODAY, 60)]
    assert ratings_by_day(ticks, 72) == {TODAY: Rating.Good}


def test_nothing_is_remembered_of_what_was_never_played():
    assert remember({}) is None


@settings(max_examples=100, deadline=None, derandomize=True)
@given(offsets)
def test_recall_starts_full_and_only_runs_down(ratings):
    memory = remember(on_days(ratings))
    recalls = [memory.recall(memory.last + timedelta(days=n)) for n in (0, 1, 2, 7, 30, 365)]
    assert recalls[0] == 1
    assert recalls == sorted(recalls, reverse=True)
    assert recalls[-1] > 0


@settings(max_examples=100, deadline=None, derandomize=True)
@given(offsets)
def test_before_a_performance_nothing_rests_longer_than_four_weeks(ratings):
    memory = remember(on_days(ratings), performance=date(2027, 1, 1))
    assert 1 <= (memory.due - memory.last).days <= LONGEST_BEFORE_PERFORMANCE == 28


@settings(max_examples=100, deadline=None, derandomize=True)
@given(offsets, st.integers(1, 90))
def test_playing_it_clean_once_more_puts_off_when_it_is_due(ratings, gap):
    before = remember(on_days(ratings))
    again = before.last + timedelta(days=gap)
    after = remember({**on_days(ratings), again: Rating.Good})
    assert after.due > before.due or after.due > again
    assert after.stability >= before.stability


@settings(max_examples=50, deadline=None, derandomize=True)
@given(offsets)
def test_the_same_days_give_the_same_memory(ratings):
    assert remember(on_days(ratings)) == remember(on_days(ratings))

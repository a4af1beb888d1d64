"""How a loop goes by chance: always within what was asked, and the same for the same seed."""

from random import Random

from hypothesis import given
from hypothesis import strategies as st

from studio.demo.people import Habits
from studio.demo.playing import Loop, play


def loop(**more):
    asked = {"piece": "Two Lanterns", "bars": (3,), "kind": "bar", "rating": 5.8, "from_tempo": 46}
    return Loop(**{**asked, "to_tempo": 56, "minutes": 4, "new": False, **more})


@given(st.integers(), st.floats(0, 1))
def test_no_visit_goes_faster_than_asked_or_slower_than_it_began(seed, ease):
    outcome = play(loop(), Habits(ease=ease), Random(seed))
    assert 46 <= outcome.tempo <= 56
    assert outcome.minutes >= 1


@given(st.integers())
def test_the_same_seed_plays_the_same(seed):
    assert play(loop(), Habits(ease=0.5), Random(seed)) == play(loop(), Habits(ease=0.5), Random(seed))


@given(st.integers())
def test_a_bar_that_sticks_never_goes_clean_beyond_its_tempo(seed):
    habits = Habits(ease=1.0, sticks={("Two Lanterns", 3): 50})
    outcome = play(loop(bars=(2, 3), kind="pair"), habits, Random(seed))
    assert (outcome.tempo, outcome.felt) == (50, "slips")


def test_an_easy_hand_goes_clean_more_often_than_a_heavy_one():
    def clean(ease):
        return sum(play(loop(), Habits(ease=ease), Random(n)).tempo == 56 for n in range(400))

    assert clean(0.9) > clean(0.5) > clean(0.1)

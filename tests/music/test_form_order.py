"""Repeats and endings unfolded, by the usual reading of the signs (common practice, no source)."""

from dataclasses import replace

from pieces.music.form import unfold
from pieces.music.score import Bar, Score


def piece(count, *, pickup=None, **signs):
    """Full bars 1 to ``count``; signs by bar: ``b3={"repeats": 2}``."""
    bars = [Bar.of("4/4", pickup, 0)] if pickup else []
    bars += [Bar.of("4/4", "1", number) for number in range(1, count + 1)]
    return Score(bars=tuple(replace(bar, **signs.get(f"b{bar.number}", {})) for bar in bars))


OPEN, TWICE = {"opens_repeat": True}, {"repeats": 2}
FIRST, SECOND = {"endings": (1,), "repeats": 2}, {"endings": (2,)}


def test_without_signs_bars_are_played_as_they_stand():
    assert unfold(piece(3)) == (1, 2, 3)
    assert unfold(Score()) == ()


def test_a_repeat_without_an_opening_goes_back_to_the_start():
    assert unfold(piece(3, b2=TWICE)) == (1, 2, 1, 2, 3)


def test_a_repeat_without_an_opening_goes_back_to_the_last_repeat():
    assert unfold(piece(4, b2=TWICE, b4=TWICE)) == (1, 2, 1, 2, 3, 4, 3, 4)


def test_a_repeat_goes_back_to_its_opening():
    assert unfold(piece(4, b2=OPEN, b3=TWICE)) == (1, 2, 3, 2, 3, 4)


def test_a_passage_can_be_played_three_times():
    assert unfold(piece(2, b1={"repeats": 3})) == (1, 1, 1, 2)


def test_first_and_second_endings_are_played_in_their_passes():
    assert unfold(piece(4, b2=FIRST, b3=SECOND)) == (1, 2, 1, 3, 4)


def test_endings_of_two_bars_stay_together():
    score = piece(6, b2={"endings": (1,)}, b3=FIRST, b4=SECOND, b5=SECOND)
    assert unfold(score) == (1, 2, 3, 1, 4, 5, 6)


def test_an_ending_for_two_passes_is_played_in_both():
    score = piece(4, b2={"endings": (1, 2), "repeats": 2}, b3={"endings": (3,)})
    assert unfold(score) == (1, 2, 1, 2, 1, 3, 4)


def test_a_part_after_endings_repeats_from_its_own_start():
    score = piece(6, b2=FIRST, b3=SECOND, b5=FIRST, b6=SECOND)
    assert unfold(score) == (1, 2, 1, 3, 4, 5, 4, 6)


def test_a_second_ending_that_opens_the_next_repeat_is_played():
    score = piece(4, b2=FIRST, b3={"endings": (2,)}, b4={"opens_repeat": True, "repeats": 2})
    assert unfold(score) == (1, 2, 1, 3, 4, 4)


def test_a_first_ending_without_a_second_falls_away_on_the_way_out():
    assert unfold(piece(3, b2=FIRST)) == (1, 2, 1, 3)


def test_a_pickup_is_repeated_only_where_the_last_bar_leaves_room_for_it():
    score = piece(2, pickup="1/4", b2=TWICE)
    assert unfold(score) == (0, 1, 2, 1, 2)
    short = replace(Bar.of("4/4", "3/4", 2), repeats=2)
    assert unfold(replace(score, bars=(*score.bars[:2], short))) == (0, 1, 2, 0, 1, 2)


def test_a_damaged_count_of_passes_ends():
    assert len(unfold(piece(1, b1={"repeats": 10**9}))) == 32

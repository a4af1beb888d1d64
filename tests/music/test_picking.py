"""The picking hand: common practice, no source, unless a check says otherwise."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pieces.music import picking
from pieces.music.picking import STYLES, assign_picking, crosses, home_finger, plan_picking
from pieces.music.score import Bar, Event, Meter, Note
from pieces.music.tuning import TUNINGS

UKE = TUNINGS["ukulele high G"]
GUITAR = TUNINGS["guitar"]
FOUR = Meter(4, 4)


def bar_of(*moments, step=Fraction(1, 8), tuning=UKE, **more):
    """A bar of even notes; each moment is a string, or a tuple of strings struck together."""
    events = []
    for at, strings in enumerate(moments):
        strings = strings if isinstance(strings, tuple) else (strings,)
        events.append(Event(at * step, step, tuple(Note.at(tuning, s, 0) for s in strings), **more))
    return Bar(1, FOUR, tuple(events))


def letters(bars):
    return " ".join("".join(note.pick for note in event.notes) for bar in bars for event in bar.events)


def test_each_finger_keeps_to_its_own_string_when_there_is_time():
    bar = bar_of(4, 3, 2, 1)
    assert letters(assign_picking([bar], UKE, "thumb", tempo=60)) == "p p p p"
    assert letters(assign_picking([bar], UKE, "thumb and two", tempo=60)) == "p p i m"
    assert letters(assign_picking([bar], UKE, "thumb and three", tempo=60)) == "p i m a"


def test_on_six_strings_the_thumb_has_the_three_low_ones():
    bar = bar_of(6, 5, 4, 3, 2, 1, tuning=GUITAR)
    assert letters(assign_picking([bar], GUITAR, "thumb and three", tempo=60)) == "p p p i m a"


def test_repeated_notes_alternate_at_speed_and_not_when_slow():
    bar = bar_of(1, 1, 1, 1)
    slow = letters(assign_picking([bar], UKE, "thumb and two", tempo=60))
    fast = letters(assign_picking([bar], UKE, "thumb and two", tempo=120)).split()
    assert slow == "m m m m"
    assert all(a != b for a, b in pairwise(fast)) and set(fast) == {"i", "m"}


def test_the_time_between_bars_counts_too():
    first, second = bar_of(*[1] * 8), bar_of(*[1] * 8)
    fast = letters(
        assign_picking([first, replace(second, number=2)], UKE, "thumb and two", tempo=132)
    ).split()
    assert all(a != b for a, b in pairwise(fast))


def test_fingers_already_written_stay():
    bar = bar_of(1, 1, 1)
    written = replace(bar.events[1], notes=(replace(bar.events[1].notes[0], pick="p"),))
    bar = replace(bar, events=(bar.events[0], written, bar.events[2]))
    assert letters(assign_picking([bar], UKE, "thumb and three", tempo=60)) == "a p a"


def test_a_written_finger_that_the_style_does_not_use_stays_as_well():
    bar = bar_of((3, 1))
    low, high = bar.events[0].notes
    bar = replace(bar, events=(replace(bar.events[0], notes=(low, replace(high, pick="a"))),))
    assert letters(assign_picking([bar], UKE, "thumb and two", tempo=60)) == "pa"


def test_notes_together_take_the_fingers_in_the_order_of_the_hand():
    assert letters(assign_picking([bar_of((4, 2, 1))], UKE, "thumb and two")) == "pim"
    assert letters(assign_picking([bar_of((3, 2, 1))], UKE, "thumb and three")) == "ima"


def test_more_notes_than_fingers_are_strummed():
    (bar,) = assign_picking([bar_of((4, 3, 2, 1))], UKE, "thumb and two")
    assert bar.events[0].stroke == "down"
    (bar,) = assign_picking([bar_of((4, 3, 2, 1))], UKE, "thumb and three")
    assert bar.events[0].stroke == ""


def test_strums_go_down_on_the_beat_and_up_between():
    full = (4, 3, 2, 1)
    (bar,) = assign_picking([bar_of(*[full] * 8)], UKE, "thumb")
    assert [event.stroke for event in bar.events] == ["down", "up"] * 4


def test_strums_on_the_beats_alone_all_go_down():
    (bar,) = assign_picking([bar_of(*[(4, 3, 2, 1)] * 4, step=Fraction(1, 4))], UKE, "thumb")
    assert [event.stroke for event in bar.events] == ["down"] * 4


def test_a_written_direction_stays():
    (bar,) = assign_picking([bar_of((4, 3, 2, 1), stroke="up")], UKE, "thumb")
    assert bar.events[0].stroke == "up"


def test_a_strum_says_its_range_direction_and_where_the_tune_is():
    bar = bar_of((4, 3, 2, 1), 1, (3, 2, 1))
    first, _, third = plan_picking([bar], UKE, "thumb")
    assert first.why == (
        "Strum down with the thumb, strings 4 to 1; string 1 has the tune, so let it ring last."
    )
    assert first.strings == (4, 1) and third.strings == (3, 1)


def test_a_string_left_out_of_a_strum_is_named():
    (only,) = plan_picking([bar_of((4, 3, 1))], UKE, "thumb")
    assert "keep string 2 from sounding" in only.why


def test_the_tune_is_accented_over_its_chord_but_plain_strumming_is_not():
    (tune,) = assign_picking([bar_of((3, 1), 2, (3, 1), 1)], UKE, "thumb and two")
    assert [event.accent for event in tune.events] == [True, False, True, False]
    (strummed,) = assign_picking([bar_of(*[(4, 3, 2, 1)] * 4)], UKE, "thumb")
    assert not any(event.accent for event in strummed.events)


def test_a_held_note_gets_no_finger():
    held = Event(Fraction(1, 4), Fraction(1, 4), (Note.at(UKE, 3, 0), Note.at(UKE, 1, 3, tied=True)))
    bar = Bar(1, FOUR, (Event(Fraction(0), Fraction(1, 4), (Note.at(UKE, 1, 3),)), held))
    assert letters(assign_picking([bar], UKE, "thumb and two")) == "m p"


def test_a_fast_repeat_is_explained():
    second = plan_picking([bar_of(1, 1)], UKE, "thumb and two", tempo=160)
    assert any("too fast to repeat" in picked.why for picked in second)


def test_an_unknown_style_and_an_unset_note_are_refused_in_words():
    with pytest.raises(ValueError, match="no picking style"):
        assign_picking([bar_of(1)], UKE, "two thumbs")
    unset = Bar(3, FOUR, (Event(Fraction(0), Fraction(1, 4), (Note(69),)),))
    with pytest.raises(ValueError, match="Bar 3 is not set on strings"):
        assign_picking([unset], UKE, "thumb")


moments = st.lists(
    st.one_of(st.integers(1, 4), st.sampled_from([(4, 2), (3, 1), (4, 1), (4, 3, 2), (3, 2, 1)])),
    min_size=1,
    max_size=10,
)


@given(moments, st.sampled_from(STYLES[1:]), st.sampled_from([60, 100, 160]))
@settings(max_examples=60, deadline=None)
def test_no_finger_ever_crosses_another(strings, style, tempo):
    bars = assign_picking([bar_of(*strings)], UKE, style, tempo=tempo)
    plucked = [[(n.pick, n.string) for n in e.notes] for b in bars for e in b.events if not e.stroke]
    assert not any(crosses(a, b) for a, b in pairwise(plucked))


@given(st.lists(st.integers(1, 4), min_size=2, max_size=6), st.sampled_from([60, 160]))
@settings(max_examples=40, deadline=None)
def test_the_chosen_fingers_cost_no_more_than_any_other_choice(strings, tempo):
    style, many = "thumb and three", 4
    plain = picking._moments([bar_of(*strings)], style, tempo)

    def total(path):
        return sum(picking._own_cost(m, (f,), style, many) for m, f in zip(plain, path, strict=True)) + sum(
            picking._between_cost(a, (f,), b, (g,))
            for (a, f), (b, g) in pairwise(zip(plain, path, strict=True))
        )

    chosen = letters(assign_picking([bar_of(*strings)], UKE, style, tempo=tempo)).split()
    best = min(total(path) for path in product("pima", repeat=len(strings)))
    assert total(chosen) == pytest.approx(best)


def test_every_string_of_every_tuning_has_a_home_finger_of_its_style():
    for tuning, style in product(TUNINGS.values(), STYLES):
        fingers = [home_finger(string, style, len(tuning.open_pitches)) for string in tuning.strings]
        assert set(fingers) <= set(picking.FINGERS[style])
        assert fingers == sorted(fingers, key="pima".index)

"""The count of a bar. Expected counts are as method books write them (common practice, no source)."""

from dataclasses import replace
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pieces.music.counting import (
    AND_A,
    BEATS_AND,
    LA_LI,
    SIXTEENTHS,
    SYLLABLES,
    TA_TE_TA,
    UncountableRhythm,
    count_at,
    count_bar,
    count_text,
    own_syllables,
    speak_count,
)
from pieces.music.score import Bar, Event, Meter, Note

OPEN = Note(69, 1, 0)


def bar_of(meter, *events, number=1):
    """A bar from (duration, what) pairs: what is "note", "rest" or "tied"."""
    onset, made = F(0), []
    for duration, what in events:
        notes = {"note": (OPEN,), "rest": (), "tied": (replace(OPEN, tied=True),)}[what]
        made.append(Event(onset, F(duration), notes))
        onset += F(duration)
    return Bar(number, Meter.parse(meter), tuple(made))


@pytest.mark.parametrize(
    ("meter", "durations", "count"),
    [
        ("4/4", "1/4 1/4 1/4 1/4", "1 2 3 4"),
        ("4/4", "1", "1 (2) (3) (4)"),
        ("4/4", "1/4 1/4 1/8 1/8 1/4", "1 2 3 & 4"),
        ("4/4", "3/8 1/8 1/2", "1 (2) & 3 (4)"),
        ("4/4", "1/8 1/4 1/4 1/4 1/8", "1 & (2) & (3) & (4) &"),
        ("2/4", "1/16 1/16 1/16 1/16 1/4", "1 e & a 2"),
        ("2/4", "3/16 1/16 1/8 1/16 1/16", "1 a 2 & a"),
        ("3/4", "1/2 1/4", "1 (2) 3"),
        ("2/2", "1/2 1/4 1/4", "1 2 &"),
        ("3/8", "1/8 1/8 1/8", "1 2 3"),
        ("6/8", "1/8 1/8 1/8 1/4 1/8", "1 2 3 4 (5) 6"),
        ("5/4", "1/4 1/4 1/4 1/4 1/4", "1 2 3 4 5"),
        ("7/8", "1/4 1/4 1/8 1/8 1/8", "1 (2) 3 (4) 5 6 7"),
        ("2/4", "1/12 1/12 1/12 1/4", "1 la li 2"),
        ("4/4", "1/6 1/6 1/6 1/2", "1 li (2) la 3 (4)"),
        ("2/4", "1/20 1/20 1/20 1/20 1/20 1/4", "1 ka di mi ti 2"),
        ("2/4", "1/8 1/24 1/24 1/24 1/4", "1 & la li 2"),
        ("2/4", "1/16 1/16 1/24 1/24 1/24 1/4", "1 e & la li 2"),
    ],
)
def test_a_bar_is_subdivided_as_far_as_it_needs_and_no_further(meter, durations, count):
    assert count_text(Bar.of(meter, durations)) == count


def test_the_worked_example_of_the_style_guide_holds():
    counts = count_bar(Bar.of("4/4", "1/4 1/8 1/8 1/2"))
    assert [(c.onset, c.text, c.kind) for c in counts] == [
        (F(0), "1", "struck"),
        (F(1, 4), "2", "struck"),
        (F(3, 8), "&", "struck"),
        (F(1, 2), "3", "struck"),
        (F(3, 4), "(4)", "held"),
    ]


@pytest.mark.parametrize(
    ("meter", "durations", "count"),
    [
        ("4/4", "1/4", "4"),
        ("4/4", "1/8 1/8", "4 &"),
        ("4/4", "1/8", "&"),
        ("4/4", "1/8 1/4", "& 4"),
        ("4/4", "1/2 1/4", "2 (3) 4"),
        ("3/4", "1/4", "3"),
        ("6/8", "1/8", "6"),
        ("4/4", "1/4 1/4 1/4 1/4", "1 2 3 4"),
    ],
)
def test_a_pickup_is_counted_so_that_it_ends_with_the_bar(meter, durations, count):
    assert count_text(Bar.of(meter, durations, number=0)) == count


def test_the_onsets_of_a_pickup_are_those_of_its_events():
    bar = Bar.of("4/4", "1/8 1/8", number=0)
    assert [c.onset for c in count_bar(bar)] == [event.onset for event in bar.events]


def test_a_short_bar_that_is_no_pickup_is_counted_from_one():
    assert count_text(Bar.of("4/4", "1/4 1/2", number=8)) == "1 2 (3)"


def test_a_short_bar_after_a_repeat_sign_is_counted_from_where_it_begins():
    assert count_text(Bar.of("4/4", "1/8 1/8", number=8), begins=F(3, 4)) == "4 &"


def test_a_note_tied_over_the_barline_is_held_not_said():
    assert count_text(bar_of("4/4", ("1/4", "tied"), ("3/4", "note"))) == "(1) 2 (3) (4)"
    assert count_text(bar_of("4/4", ("1/8", "tied"), ("1/8", "note"), ("3/4", "note"))) == "(1) & 2 (3) (4)"


def test_an_event_with_one_string_tied_and_one_struck_is_said():
    both = Event(F(0), F(1, 2), (replace(OPEN, tied=True), Note(60, 3, 0)))
    assert count_text(Bar(1, Meter(2, 4), (both,))) == "1 (2)"


def test_rests_have_a_mark_of_their_own_on_and_off_the_beat():
    assert count_text(bar_of("4/4", ("1/4", "note"), ("1/4", "rest"), ("1/2", "note"))) == "1 [2] 3 (4)"
    assert count_text(bar_of("2/4", ("1/8", "note"), ("1/8", "rest"), ("1/4", "note"))) == "1 [&] 2"


def test_a_rest_that_goes_on_after_a_rest_needs_no_new_word():
    assert count_text(bar_of("2/4", ("1/8", "rest"), ("1/8", "rest"), ("1/4", "note"))) == "[1] 2"


def test_an_empty_bar_is_counted_as_a_bar_of_rest():
    assert count_text(Bar(1, Meter(3, 4), ())) == "[1] [2] [3]"


def test_every_onset_of_a_typed_bar_can_have_its_word():
    bar = bar_of("2/4", ("1/8", "note"), ("1/8", "tied"), ("1/4", "note"))
    assert count_text(bar) == "1 2"
    assert [c.text for c in count_bar(bar, every_onset=True)] == ["1", "(&)", "2"]


@pytest.mark.parametrize(
    ("syllables", "meter", "durations", "count"),
    [
        (SIXTEENTHS, "2/4", "3/16 1/16 1/4", "1 (e) (&) a 2"),
        (SIXTEENTHS, "2/4", "1/8 1/8 1/4", "1 & 2"),
        (LA_LI, "6/8", "1/8 1/8 1/8 1/8 1/8 1/8", "1 la li 2 la li"),
        (LA_LI, "6/8", "1/8 1/16 1/16 1/8 3/8", "1 la ta li 2"),
        (LA_LI, "9/8", "3/8 1/4 1/8 3/8", "1 2 li 3"),
        (LA_LI, "6/8", "3/4", "1 (2)"),
        (LA_LI, "3/4", "1/8 1/8 1/2", "1 & 2 (3)"),
        (AND_A, "6/8", "1/8 1/8 1/8 1/4 1/8", "1 & a 2 a"),
        (TA_TE_TA, "2/4", "1/16 1/16 1/16 1/16 1/8 1/8", "1 ta te ta 2 te"),
        (TA_TE_TA, "6/8", "1/16 1/16 1/16 1/16 1/16 1/16 3/8", "1 ta la ta li ta 2"),
    ],
)
def test_the_teacher_chooses_among_the_usual_ways_of_counting(syllables, meter, durations, count):
    assert count_text(Bar.of(meter, durations), syllables) == count


def test_a_pickup_in_a_compound_meter_may_be_a_word_between_two_beats():
    assert count_text(Bar.of("6/8", "1/8", number=0), LA_LI) == "li"


def test_a_teachers_own_words_are_used_and_the_rest_stays_as_usual():
    own = own_syllables("1 and, 1 tri plet")
    assert count_text(Bar.of("4/4", "1/8 1/8 1/12 1/12 1/12 1/16 3/16 1/4"), own) == "1 and 2 tri plet 3 e 4"


@pytest.mark.parametrize("wrong", ["tri plet", "1", "1 2 3", "1 (&)"])
def test_a_way_of_counting_that_cannot_be_read_says_so(wrong):
    with pytest.raises(ValueError, match="1"):
        own_syllables(wrong)


def test_a_rhythm_that_no_words_reach_is_refused_with_bar_and_count():
    with pytest.raises(UncountableRhythm, match=r"Bar 5: count 1 .* 7 parts"):
        count_bar(Bar.of("2/4", "1/28 1/28 1/28 1/28 1/28 1/28 1/28 1/4", number=5))


def test_a_teacher_can_give_words_for_what_is_otherwise_uncountable():
    own = own_syllables("1 a b c d e f")
    assert count_text(Bar.of("1/4", "1/28 1/28 1/28 1/28 1/28 1/28 1/28"), own) == "1 a b c d e f"


def test_a_voice_says_held_and_silent_counts_in_words():
    assert speak_count(Bar.of("4/4", "1/4 1/8 1/8 1/4 1/4")) == "1, 2 and 3, 4"
    assert speak_count(bar_of("3/4", ("1/2", "note"), ("1/4", "rest"))) == "1, hold 2, rest 3"


def test_a_moment_is_named_by_its_count():
    bar = Bar.of("4/4", "1/4 1/8 1/8 1/2")
    assert [count_at(bar, event.onset) for event in bar.events] == ["1", "2", "2 &", "3"]


def test_a_moment_before_the_first_number_of_a_pickup_is_named_by_its_word():
    assert count_at(Bar.of("4/4", "1/8 1/4", number=0), F(0)) == "&"


METERS = st.sampled_from(["2/4", "3/4", "4/4", "5/4", "2/2", "3/8", "6/8", "9/8", "12/8", "5/8", "7/8"])
WAYS = st.sampled_from(list(SYLLABLES.values()))


@st.composite
def bars(draw):
    """Bars of whole sixteenths, struck, tied or silent, that add up or are pickups."""
    meter = draw(METERS)
    left = int(Meter.parse(meter).length * 16)
    pickup = draw(st.booleans())
    if pickup:
        left = draw(st.integers(1, left))
    events = []
    while left:
        length = draw(st.integers(1, left))
        events.append((F(length, 16), draw(st.sampled_from(["note", "note", "tied", "rest"]))))
        left -= length
    return bar_of(meter, *events, number=0 if pickup else 1)


@given(bars(), WAYS)
def test_everything_struck_is_said_and_nothing_else_is_said_as_struck(bar, way):
    struck = {event.onset for event in bar.events if event.struck}
    assert {c.onset for c in count_bar(bar, way) if c.kind == "struck"} == struck


@given(bars(), WAYS)
def test_words_come_in_order_and_numbers_count_up_to_the_end_of_the_bar(bar, way):
    counts = count_bar(bar, way)
    assert [c.onset for c in counts] == sorted({c.onset for c in counts})
    numbers = [int(c.said) for c in counts if c.on_beat]
    unit = bar.meter.beat if way.felt else F(1, bar.meter.unit)
    last = bar.meter.length / unit
    assert numbers == list(range(int(last) - len(numbers) + 1, int(last) + 1))


@given(bars(), WAYS)
def test_two_words_within_a_beat_differ_unless_they_fill_in_between(bar, way):
    said = []
    for count in count_bar(bar, way):
        said = [count.said] if count.on_beat else [*said, count.said]
        words = [word for word in said if word not in (way.between, "ta")]
        assert len(words) == len(set(words))


def test_the_default_words_are_the_ones_that_read_back_without_doubt():
    cut = {parts: ("1", *words) for parts, words in BEATS_AND.parts.items()}
    places = {}
    for parts, words in cut.items():
        for i, word in enumerate(words):
            places.setdefault(word, set()).add(F(i, parts))
    assert all(len(where) == 1 for where in places.values())

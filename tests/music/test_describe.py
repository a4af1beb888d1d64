"""What a teacher says about a bar, a section and a piece, and in which order."""

from dataclasses import replace
from fractions import Fraction as F
from typing import get_args

import pytest

from pieces.music.bar_words import DRILLS, outline_bar
from pieces.music.describe import describe_bar, describe_piece, describe_section, say_shape, speak_bar
from pieces.music.difficulty import rate_bar
from pieces.music.loads import Kind
from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.sections import Section
from pieces.music.shapes import Shape
from pieces.music.tuning import TUNINGS

UKE = TUNINGS["ukulele high G"]
# Textbook ukulele shapes (common practice, no source).
SHAPES = {
    "C": Shape("C", (0, 0, 0, 3), (0, 0, 0, 3), 0.0),
    "Am": Shape("Am", (2, 0, 0, 0), (2, 0, 0, 0), 0.0),
    "F": Shape("F", (2, 0, 1, 0), (2, 0, 1, 0), 0.0),
    "G7": Shape("G7", (0, 2, 1, 2), (0, 2, 1, 3), 0.0),
    "Bb": Shape("Bb", (3, 2, 1, 1), (3, 2, 1, 1), 0.0),
}


def notes(*places, **more):
    return tuple(Note.at(UKE, string, fret, **more) for string, fret in places)


def bar_of(number, *events, chords="", meter="4/4"):
    onset, made = F(0), []
    for duration, struck, *stroke in events:
        made.append(Event(onset, F(duration), struck, *stroke))
        onset += F(duration)
    marks = [mark.partition("@") for mark in chords.split()]
    chord_marks = tuple(ChordMark(F(at or 0), symbol) for symbol, _, at in marks)
    return Bar(number, Meter.parse(meter), tuple(made), chord_marks)


AM = bar_of(2, ("1/2", notes((4, 2), (1, 0))), ("1/8", notes((1, 2))), ("3/8", notes((1, 3))), chords="Am")
F_BAR = bar_of(
    3,
    ("1/4", notes((4, 2), (1, 0))),
    ("1/8", notes((2, 1))),
    ("1/8", notes((2, 3))),
    ("1/4", notes((2, 1))),
    ("1/4", notes((2, 0))),
    chords="F",
)


def outline(bar, **more):
    return outline_bar(bar, tuning=UKE, shapes=SHAPES, **more)


def describe(bar, **more):
    return describe_bar(bar, tuning=UKE, shapes=SHAPES, **more)


def test_things_are_said_in_the_order_of_a_lesson():
    rating = rate_bar(F_BAR, tempo=120, tuning=UKE, shapes=SHAPES, before=AM)
    said = outline(F_BAR, before=AM, near="as bar 1 but the last beat", rating=rating)
    assert [one.topic for one in said] == ["same", "shape", "change", "hand", "count", "trap", "drill"]


def test_a_bar_is_described_with_its_shape_change_hand_and_count():
    assert describe(F_BAR, before=AM) == (
        "Bar 3. F, 2010: finger 1 on string 2 fret 1 and finger 2 on string 4 fret 2. "
        "Am to F: finger 2 stays; add finger 1. "
        "On 1 play strings 4 and 1 together; on 2 play string 2 fret 1; "
        "on 2 and play string 2 fret 3; on 3 play string 2 fret 1; on 4 play string 2 open. "
        "Count 1, 2 and 3, 4."
    )


def test_a_repeat_says_only_which_bar_it_is_and_the_way_in():
    assert describe(replace(F_BAR, number=7), before=AM, same_as=3) == (
        "Bar 7. The same as bar 3; only the way in is new. Am to F: finger 2 stays; add finger 1."
    )
    assert describe(replace(F_BAR, number=7), before=F_BAR, same_as=3) == "Bar 7. The same as bar 3."


def test_a_chord_already_in_the_hand_is_not_told_again():
    text = describe(replace(F_BAR, number=4), before=F_BAR)
    assert "Stay on F." in text
    assert "finger 1 on string 2" not in text


def test_a_finger_whose_string_is_not_played_may_stay_off():
    bar = bar_of(1, ("1", notes((2, 1))), chords="F")
    assert "In F, nothing here needs finger 2." in describe(bar)


def test_where_every_finger_is_needed_none_is_said_to_be_spare():
    assert "needs" not in describe(F_BAR)


def test_a_trap_comes_with_the_drill_for_it_and_where():
    rating = rate_bar(F_BAR, tempo=120, tuning=UKE, shapes=SHAPES)
    text = describe(F_BAR, rating=rating)
    assert f"The trap: {rating.reasons[0]} From 2 to 3: {DRILLS['pace']}." in text


def test_an_easy_bar_has_no_trap():
    bar = bar_of(1, ("1", notes((1, 0))))
    rating = rate_bar(bar, tempo=60, tuning=UKE)
    assert "trap" not in describe(bar, rating=rating)


def test_every_kind_of_load_has_its_drill():
    assert set(get_args(Kind)) == set(DRILLS)


def test_strums_of_one_kind_are_said_once_with_their_counts():
    whole = notes((4, 3), (3, 2), (2, 1), (1, 1))
    bar = bar_of(1, *[("1/8", whole, "down"), ("1/8", whole, "up")] * 4, chords="Bb")
    assert (
        "On 1, 2, 3, 4 strum down all strings; on 1 and, 2 and, 3 and, 4 and strum up all strings."
        in describe(bar)
    )


def test_a_strum_over_some_strings_says_which_in_the_order_the_hand_meets_them():
    bar = bar_of(
        1, ("1/2", notes((3, 0), (2, 0), (1, 3)), "down"), ("1/2", notes((2, 0), (1, 3)), "up"), chords="C"
    )
    assert "strum down strings 3 to 1" in describe(bar)
    assert "strum up strings 1 to 2" in describe(bar)


def test_a_strummed_note_outside_the_shape_is_named():
    bar = bar_of(1, ("1", notes((4, 0), (3, 0), (2, 0), (1, 5)), "down"), chords="C")
    assert "strum down all strings, with string 1 fret 5" in describe(bar)


def test_picking_fingers_are_named():
    bar = bar_of(1, ("1/2", notes((3, 0), pick="p")), ("1/2", notes((1, 0), pick="m")))
    assert "On 1 thumb plucks string 3 open; on 3 middle plucks string 1 open." in describe(bar)


def test_joins_graces_accents_and_fingers_are_said():
    grace = Event(F(0), F(1, 2), notes((1, 3), finger=3), accent=True, grace=notes((1, 2)))
    pulled = Event(F(1, 2), F(1, 2), notes((1, 0), join="pull"))
    text = describe(Bar(1, Meter(4, 4), (grace, pulled)))
    assert "squeeze in string 1 fret 2, then play string 1 fret 3 with finger 3, accented" in text
    assert "string 1 open, pulled off" in text


def test_a_bar_of_rest_says_to_keep_counting():
    assert (
        describe(bar_of(4, ("1", ())))
        == "Bar 4. Count rest 1, rest 2, rest 3, rest 4. Nothing is played: keep counting."
    )


def test_a_barre_and_silent_strings_are_told_with_the_shape():
    assert "finger 1 flat over strings 2 to 1 at fret 1" in say_shape(SHAPES["Bb"])
    guitar = Shape("C", (None, 3, 2, 0, 1, 0), (None, 3, 2, 0, 1, 0), 0.0)
    assert say_shape(guitar).endswith("; leave out string 6.")


def test_only_the_side_of_the_diagram_changes_for_a_left_handed_player():
    usual, turned = describe(F_BAR), describe(F_BAR, left_handed=True)
    assert turned.replace(" (on a diagram turned for you, string 4 is at the right)", "") == usual
    assert turned != usual
    assert "left" not in usual and "right" not in usual


@pytest.mark.parametrize(
    ("bar", "text"),
    [
        (
            F_BAR,
            "Bar 3. F. Count 1, 2 and 3, 4. 1: string 4 fret 2 and string 1 open. 2: string 2 fret 1. "
            "2 and: string 2 fret 3. 3: string 2 fret 1. 4: string 2 open.",
        ),
        (bar_of(0, ("1/4", notes((1, 0)))), "Pickup. Count 4. 4: string 1 open."),
        (
            bar_of(5, ("1/2", notes((1, 0))), ("1/2", ()), chords="C G7@1/2"),
            "Bar 5. C, then G7. Count 1, hold 2, rest 3, rest 4. 1: string 1 open.",
        ),
        (
            bar_of(6, ("1", notes((4, 0), (3, 0), (2, 0), (1, 3)))),
            "Bar 6. Count 1, hold 2, hold 3, hold 4. 1: all strings, from string 4: open, open, open, 3.",
        ),
    ],
)
def test_a_screen_reader_gets_name_chords_count_and_strings(bar, text):
    assert speak_bar(bar, UKE) == text


def test_an_uncountable_rhythm_is_still_described():
    bar = Bar.of("2/4", "1/28 1/28 1/28 1/28 1/28 1/28 1/28 1/4")
    assert "by ear" in speak_bar(bar, UKE)
    assert "by ear" in describe(bar)


SCORE = Score(
    "Two Lanterns",
    UKE,
    Meter(4, 4),
    (bar_of(1, ("1", notes((1, 3))), chords="C"), AM, F_BAR, replace(AM, number=4)),
    "C",
    76,
)
CLASSES = {1: 1, 2: 2, 3: 3, 4: 2}
RATINGS = {bar.number: rate_bar(bar, tempo=120, tuning=UKE, shapes=SHAPES) for bar in SCORE.bars}


def section(letter, first, last, same_as=None):
    return Section(letter, first, last, same_as, "", 1.0)


def test_a_section_tells_what_is_new_then_each_bar():
    text = describe_section(section("A", 1, 4), SCORE, shapes=SHAPES, ratings=RATINGS, classes=CLASSES)
    lines = text.splitlines()
    assert lines[0] == "Section A, bars 1 to 4: three of four bars are new."
    assert lines[1] == "Shapes: C (0003), Am (2000), F (2010)."
    assert lines[2].startswith("Hardest: Bar 3 (")
    assert [line.split(".")[0] for line in lines[3:]] == ["Bar 1", "Bar 2", "Bar 3", "Bar 4"]
    assert lines[6].startswith("Bar 4. The same as bar 2; only the way in is new. F to Am:")


def test_a_section_that_repeats_is_only_its_way_in():
    text = describe_section(
        section("A", 3, 4, same_as=1), SCORE, shapes=SHAPES, ratings=RATINGS, classes=CLASSES
    )
    assert text == (
        "Section A, bars 3 to 4: the same as bars 1 to 2, so nothing new to learn.\n"
        "Practise only the way in, from bar 2 to bar 3."
    )


def test_a_piece_tells_its_size_order_shapes_and_hard_spots_before_its_sections():
    sections = [section("A", 1, 2), section("B", 3, 4)]
    text = describe_piece(SCORE, sections, shapes=SHAPES, ratings=RATINGS, classes=CLASSES)
    head, first, second = text.split("\n\n")
    assert head.splitlines()[:2] == [
        "Two Lanterns: four bars in 4/4, in C, at 76.",
        "It goes A and B; three of four bars are new.",
    ]
    assert first.startswith("Section A, bars 1 to 2: every bar is new.")
    assert second.startswith("Section B, bars 3 to 4: one of two bars is new.")


def test_a_shape_is_told_once_in_a_section():
    bars = (AM, F_BAR, replace(AM, number=4, events=F_BAR.events))
    score = replace(SCORE, bars=tuple(replace(bar, number=n) for n, bar in enumerate(bars, start=1)))
    text = describe_section(section("A", 1, 3), score, shapes=SHAPES, ratings={}, classes={1: 1, 2: 2, 3: 3})
    assert text.count("Am, 2000:") == 1

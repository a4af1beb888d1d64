"""Counted tab read into scores.

The marks are those teachers write on paper (common practice, no source): the expected
values below are worked out by hand from what each line says.
"""

import re
from fractions import Fraction as F

import pytest

from pieces.music.counting import AND_A, BEATS_AND, LA_LI, SIXTEENTHS, count_text
from pieces.music.score import Bar, Meter, Note, UnreadableScore
from pieces.music.tab import check_tab, read_tab
from pieces.music.tab.guide import GUIDE
from pieces.music.tuning import TUNINGS

TWO_LANTERNS = """title: Two Lanterns
tuning: ukulele high G
meter: 4/4
tempo: 76

   C               Am
A|-3---2---0-----|-0-------2-3---|
E|-0-------------|-0-------------|
C|-0-------0-----|-0-------------|
G|-0-------------|-2-------------|
   1   2   3   4   1   2   3 & 4
"""


def struck_on(count: str, meter: str = "4/4") -> str:
    """A one-bar piece with an open string over every word of ``count`` that has no bracket."""
    words = [(m.start(), m.group()) for m in re.finditer(r"\S+", count) if m.group()[0] not in "(["]
    line = "-" * (len(count) + 1)
    for column, _ in words:
        line = line[:column] + "0" + line[column + 1 :]
    strings = [f"A|-{line}|"] + [f"{name}|-{'-' * len(line)}|" for name in "ECG"]
    return "\n".join([f"meter: {meter}", "", *strings, f"   {count}"])


def durations(bar):
    return " ".join(str(event.duration) for event in bar.events)


def test_two_lanterns_reads_as_its_teacher_counts_it():
    score = read_tab(TWO_LANTERNS)
    assert (score.title, score.tuning, score.meter, score.tempo) == (
        "Two Lanterns",
        TUNINGS["ukulele high G"],
        Meter(4, 4),
        76,
    )
    first, second = score.bars
    assert durations(first) == "1/4 1/4 1/2"
    assert durations(second) == "1/2 1/8 3/8"
    assert [(n.string, n.fret, n.pitch) for n in first.events[0].notes] == [
        (4, 0, 67),
        (3, 0, 60),
        (2, 0, 64),
        (1, 3, 72),
    ]
    assert first.chords == ((F(0), "C"),)
    assert second.chords == ((F(0), "Am"),)
    assert check_tab(TWO_LANTERNS)[1] == []


@pytest.mark.parametrize(
    ("meter", "count", "expected"),
    [
        ("4/4", "1 2 & 3 (4)", "1/4 1/8 1/8 1/2"),
        ("4/4", "1 2 + 3 (4)", "1/4 1/8 1/8 1/2"),
        ("4/4", "1 2 and 3 (4)", "1/4 1/8 1/8 1/2"),
        ("4/4", "1 e & a 2 3 a 4", "1/16 1/16 1/16 1/16 1/4 3/16 1/16 1/4"),
        ("4/4", "1 (2) & 3 4", "3/8 1/8 1/4 1/4"),
        ("4/4", "1 la li 2 3 4", "1/12 1/12 1/12 1/4 1/4 1/4"),
        ("4/4", "1 trip let 2 3 4", "1/12 1/12 1/12 1/4 1/4 1/4"),
        ("4/4", "1 ta la ta li ta 2 3 4", "1/24 1/24 1/24 1/24 1/24 1/24 1/4 1/4 1/4"),
        ("4/4", "1 & la li 2 3 4", "1/8 1/24 1/24 1/24 1/4 1/4 1/4"),
        ("4/4", "1 ka di mi ti 2 3 4", "1/20 1/20 1/20 1/20 1/20 1/4 1/4 1/4"),
        ("4/4", "1 +1/8 & 2 3+3/7 (4)", "1/32 3/32 1/8 5/14 11/28"),
        ("6/8", "1 (2) 3 4 (5) (6)", "1/4 1/8 3/8"),
        ("6/8", "1 & 2 3 4 5 6", "1/16 1/16 1/8 1/8 1/8 1/8 1/8"),
        ("6/8", "1 a 2 & a", "1/4 1/8 1/8 1/8 1/8"),
        ("6/8", "1 la li 2", "1/8 1/8 1/8 3/8"),
        ("9/8", "1 2 & a 3", "3/8 1/8 1/8 1/8 3/8"),
        ("12/8", "1 (2) 3 4 (5) (6) 7 (8) 9 10 (11) (12)", "1/4 1/8 3/8 1/4 1/8 3/8"),
        ("2/2", "1 & 2", "1/4 1/4 1/2"),
        ("2/2", "1 2 3 & 4", "1/4 1/4 1/8 1/8 1/4"),
        ("5/4", "1 2 3 4 5", "1/4 1/4 1/4 1/4 1/4"),
        ("7/8", "1 2 3 4 5 6 7", "1/8 1/8 1/8 1/8 1/8 1/8 1/8"),
    ],
)
def test_the_count_gives_the_rhythm(meter, count, expected):
    score, problems = check_tab(struck_on(count, meter))
    assert durations(score.bars[0]) == expected
    assert problems == []


def test_counts_may_be_written_without_spaces():
    score = read_tab(
        "meter: 2/4\n\nA|-02320|\nE|------|\nC|------|\nG|------|\n   1e&a2".replace("02320", "xxxxx")
    )
    assert durations(score.bars[0]) == "1/16 1/16 1/16 1/16 1/4"


@pytest.mark.parametrize(
    ("bar", "way"),
    [
        (Bar.of("4/4", "1/4 1/8 1/8 1/2"), BEATS_AND),
        (Bar.of("4/4", "1/16 3/16 1/8 1/8 1/12 1/12 1/12 1/4"), BEATS_AND),
        (Bar.of("4/4", "1/16 3/16 1/8 1/8 1/12 1/12 1/12 1/4"), SIXTEENTHS),
        (Bar.of("3/4", "3/8 1/8 1/20 1/20 1/20 1/20 1/20"), BEATS_AND),
        (Bar.of("6/8", "1/4 1/8 1/8 1/8 1/8"), BEATS_AND),
        (Bar.of("6/8", "1/4 1/8 1/8 1/8 1/8"), LA_LI),
        (Bar.of("6/8", "1/4 1/8 1/8 1/8 1/8"), AND_A),
        (Bar.of("12/8", "3/8 1/4 1/8 3/4"), BEATS_AND),
        (Bar.of("12/8", "3/8 1/4 1/8 3/4"), AND_A),
    ],
)
def test_what_is_said_aloud_can_be_typed_under_the_strings(bar, way):
    """The two directions of the count agree: what ``count_text`` says reads back as the same bar."""
    struck = struck_on(count_text(bar, way), str(bar.meter))
    assert durations(read_tab(struck).bars[0]) == durations(bar)


def test_a_rest_is_an_event_without_notes():
    score = read_tab(
        "meter: 3/4\n\nA|-3---r---2-|\nE|-----------|\nC|-----------|\nG|-----------|\n   1   2   3"
    )
    assert [event.is_rest for event in score.bars[0].events] == [False, True, False]


def test_a_count_in_square_brackets_is_silent():
    score = read_tab(struck_on("1 [2] [3] 4"))
    assert [(event.is_rest, event.duration) for event in score.bars[0].events] == [
        (False, F(1, 4)),
        (True, F(1, 2)),
        (False, F(1, 4)),
    ]


def test_a_muted_stroke_has_no_pitch():
    (event,) = read_tab(struck_on("1").replace("0", "x")).bars[0].events
    assert event.notes == (Note(None, 1, muted=True),)


def test_a_fret_in_brackets_is_tied_over_the_barline():
    score = read_tab(GUIDE[2].example)
    last, first = score.bars[0].events[-1], score.bars[1].events[0]
    assert first.is_held
    assert [(n.string, n.pitch) for n in first.notes] == [(n.string, n.pitch) for n in last.notes]


def test_a_first_count_with_nothing_over_it_holds_the_bar_before():
    bars = "A|-3---2-|-----0-|\nE|-------|-------|\nC|-------|-------|\nG|-------|-------|"
    text = f"meter: 2/4\n\n{bars}\n   1   2  (1)  2"
    score, problems = check_tab(text)
    assert score.bars[1].events[0].notes == (Note.at(score.tuning, 1, 2, tied=True),)
    assert problems == []


def test_the_bar_before_bar_1_is_a_pickup():
    score = read_tab(
        "meter: 3/4\n\nA|-0-|-3---2---0-|\nE|---|-----------|\nC|---|-----------|\nG|---|-----------|\n   &   1   2   3"
    )
    assert [bar.number for bar in score.bars] == [0, 1]
    assert score.bars[0].length == F(1, 8)
    assert score.bars[0].events[0].onset == 0


def test_repeats_and_endings_stand_on_their_bars():
    first, second, third = read_tab(GUIDE[6].example).bars
    assert (first.opens_repeat, second.repeats, third.repeats) == (True, 2, 0)
    assert (first.endings, second.endings, third.endings) == ((), (1,), (2,))


def test_the_bracket_of_an_ending_covers_the_bars_it_reaches():
    score = read_tab("""meter: 1/4

      1.----   2.
A|:0-|-2-|-3-:|-0-|
E|:--|---|---:|---|
C|:--|---|---:|---|
G|:--|---|---:|---|
   1   1   1    1
""")
    assert [bar.endings for bar in score.bars] == [(), (1,), (1,), (2,)]
    assert score.bars[0].events[0].notes[0].fret == 0


def test_what_is_played_three_times_says_so():
    score = read_tab(GUIDE[6].example.replace("1.  ", "1. 3x", 1).replace("3x    2.", "3x 2."))
    assert score.bars[1].repeats == 3


def test_marks_above_belong_to_their_bars():
    first, second = read_tab(GUIDE[7].example).bars
    assert (first.letter, first.meter, second.meter, second.key) == ("A", Meter(3, 4), Meter(2, 4), "F")
    assert first.chords == ((F(0), "C"), (F(1, 2), "G7"))
    assert second.chords == ((F(0), "F"),)


def test_a_strum_has_a_direction_and_sounds_the_strings_that_are_fretted():
    events = read_tab(GUIDE[8].example).bars[0].events
    assert [event.stroke for event in events] == ["down", "down", "up"]
    assert [[note.string for note in event.notes] for event in events] == [[4, 3, 2, 1], [3, 2, 1], [2, 1]]
    assert [event.accent for event in events] == [True, False, False]


def test_both_hands_are_named_from_the_highest_string_number_on():
    events = read_tab(GUIDE[9].example).bars[0].events
    assert [note.pick for note in events[0].notes] == ["p", "i", "m", "a"]
    assert [note.finger for note in events[0].notes] == [None, None, None, 3]
    assert [note.pick for event in events[1:] for note in event.notes] == ["i", "m"]


def test_one_picking_letter_is_for_the_whole_chord():
    (event,) = read_tab("meter: 1/4\n\nA|-0-|\nE|-0-|\nC|-0-|\nG|-0-|\n   p\n   1").bars[0].events
    assert [note.pick for note in event.notes] == ["p"] * 4


def test_joins_say_how_a_note_is_reached():
    events = read_tab(GUIDE[10].example).bars[0].events
    assert [event.notes[0].join for event in events] == ["", "hammer", "", "pull", "slide", "slide"]


def test_a_join_may_stand_apart_from_its_fret():
    events = read_tab("meter: 2/4\n\nA|-3-h-5-|\nE|-------|\nC|-------|\nG|-------|\n   1   2").bars[0].events
    assert events[1].notes[0].join == "hammer"


def test_a_harmonic_sounds_the_partial_of_its_node():
    """Partials of a string: the node at fret 12 sounds the octave, fret 7 the twelfth, fret 5 two octaves."""
    for fret, above in ((12, 12), (7, 19), (5, 24)):
        (event,) = (
            read_tab(f"meter: 1/4\n\nA|-<{fret}>--|\nE|------|\nC|------|\nG|------|\n    1").bars[0].events
        )
        assert event.notes[0].harmonic
        assert event.notes[0].pitch == 69 + above


def test_a_grace_note_comes_before_the_beat_it_belongs_to():
    event = read_tab(GUIDE[11].example).bars[0].events[1]
    assert [(note.string, note.fret) for note in event.grace] == [(1, 2)]
    assert [note.fret for note in event.notes] == [3]


def test_a_ringing_note_sounds_longer_than_its_event():
    event = read_tab(GUIDE[11].example).bars[0].events[0]
    assert {note.string: note.length for note in event.notes} == {4: F(1, 2), 1: None}


def test_a_note_that_rings_on_stops_where_its_string_is_used_again():
    events = (
        read_tab("meter: 3/4\n\nA|-0~--2---3-|\nE|---------0-|\nC|-0~--------|\nG|-----------|\n   1   2   3")
        .bars[0]
        .events
    )
    assert [note.length for note in events[0].notes] == [F(3, 4), F(1, 4)]


def test_words_stand_under_their_notes():
    assert [event.lyric for event in read_tab(GUIDE[12].example).bars[0].events] == ["Lan-", "terns", "low"]


def test_named_lines_and_remarks_are_kept():
    score = read_tab(GUIDE[13].example)
    assert (score.title, score.credit, score.tuning.name, score.tuning.capo) == (
        "Two Lanterns",
        "for the Thursday group",
        "ukulele low G",
        2,
    )
    assert (str(score.meter), score.key, score.tempo) == ("2/4", "Am", 60)
    assert score.remarks == ("softly, as if from far",)
    assert score.bar(2).remark == "let the last note ring"
    assert score.bar(1).events[0].notes[0].pitch == 69 + 2


def test_a_new_group_of_strings_is_a_new_line_unless_dots_say_it_goes_on():
    assert [bar.line_break for bar in read_tab(GUIDE[14].example).bars] == [False, False]
    assert [bar.line_break for bar in read_tab(GUIDE[14].example.replace("...", "")).bars] == [True, False]


def test_a_tuning_may_be_given_by_letters():
    assert read_tab(TWO_LANTERNS.replace("ukulele high G", "G C E A")).tuning == TUNINGS["ukulele high G"]
    assert read_tab(TWO_LANTERNS.replace("ukulele high G", "gCEA")).tuning == TUNINGS["ukulele high G"]


# What is pasted from elsewhere.


def test_without_a_count_the_columns_divide_the_bar_evenly():
    counted = read_tab(TWO_LANTERNS)
    score, problems = check_tab(TWO_LANTERNS.rsplit("\n", 2)[0])
    assert score.bars == counted.bars
    assert [problem.fatal for problem in problems] == [False]
    assert "columns divide each bar evenly" in problems[0].message


def test_columns_may_start_straight_at_the_barline():
    score = read_tab("meter: 4/4\n\nA|3-2-0-2-|\nE|--------|\nC|--------|\nG|0-------|")
    assert durations(score.bars[0]) == "1/4 1/4 1/4 1/4"


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: text.replace("\n", "\r\n"),
        lambda text: text.replace("\n", "\r"),
        lambda text: text.replace("-", "–"),
        lambda text: text.replace("-", "—"),
        lambda text: text.replace("-", "−"),
        lambda text: text.replace("|\n", "  \n"),
        lambda text: text.replace("--|\n", "\n"),
        lambda text: "\n".join(f"    {line}  " for line in text.split("\n")),
        lambda text: "\n".join(f"\t{line}" for line in text.split("\n")),
        lambda text: "\ufeff" + text.replace("   ", "\u00a0\u00a0\u00a0"),
        lambda text: text.replace("|\n   1", "|\n\n   1"),
        lambda text: text.replace("|-", "| "),
    ],
)
def test_what_pasting_does_to_a_text_changes_nothing(spoil):
    assert spoil(TWO_LANTERNS) != TWO_LANTERNS
    assert read_tab(spoil(TWO_LANTERNS)) == read_tab(TWO_LANTERNS)


def test_upside_down_strings_are_turned_and_said():
    lines = TWO_LANTERNS.split("\n")
    lines[6:10] = lines[9:5:-1]
    score, problems = check_tab("\n".join(lines))
    assert score == read_tab(TWO_LANTERNS)
    assert [(p.fatal, p.line) for p in problems] == [(False, 7)]
    assert "upside down" in problems[0].message


def test_a_text_that_is_no_tab_is_refused_with_a_reason():
    with pytest.raises(UnreadableScore) as refusal:
        read_tab("Dear teacher, here is my tune.")
    assert any("No string lines" in problem.message for problem in refusal.value.problems)

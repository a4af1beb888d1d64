"""ABC by the notation standard 2.1 (December 2011); sections are named beside the checks."""

from fractions import Fraction

import pytest

from pieces.music.score import Meter, Score, UnreadableScore
from pieces.reading import read_upload
from pieces.reading.abc import parts_of_abc, read_tune

HEAD = "X:1\nT:Test\nM:4/4\nL:1/4\nK:{}\n"


def read(body: str, key: str = "C", head: str = HEAD) -> Score:
    tune, voice, _ = parts_of_abc(head.format(key) + body)[0]
    return read_tune(tune, voice)[0]


def problems(text: str) -> list[str]:
    tune, voice, _ = parts_of_abc(text)[0]
    return [str(problem) for problem in read_tune(tune, voice)[1]]


def pitches(score: Score) -> list[list[int]]:
    return [[n.pitch for e in bar.events for n in e.notes] for bar in score.bars]


def lengths(score: Score) -> list[str]:
    return [str(e.duration) for bar in score.bars for e in bar.events]


def test_octaves_are_letters_commas_and_quotes():  # 4.1
    assert pitches(read("C,Ccc'|")) == [[48, 60, 72, 84]]


@pytest.mark.parametrize(
    ("key", "written", "sounding"),
    [
        ("G", "F", 66),
        ("Dm", "B", 70),
        ("D mixolydian", "C", 60),
        ("Ador", "F", 66),
        ("Ephr", "F", 65),
        ("Flyd", "B", 71),
        ("Bb", "E", 63),
        ("C#", "B", 72),
        ("D exp _b _e ^f", "E", 63),
        ("D =c", "C", 60),
        ("none", "F", 65),
    ],
)
def test_the_key_alters_its_letters(key, written, sounding):  # 3.1.14
    assert pitches(read(f"{written}|", key)) == [[sounding]]


def test_an_accidental_holds_to_the_barline_at_every_octave():  # 11.3, the default
    assert pitches(read("^FF f=F|Ff|")) == [[66, 66, 78, 65], [65, 77]]


def test_a_file_without_the_version_line_carries_accidentals_too():
    assert "%abc" not in HEAD
    assert pitches(read("_BB BB|")) == [[70, 70, 70, 70]]


def test_a_tie_over_the_barline_keeps_the_accidental():
    score = read("^F4-|FF z2|")
    assert pitches(score) == [[66], [66, 65]]
    assert [e.notes[0].tied for bar in score.bars for e in bar.events if e.notes] == [False, True, False]


def test_lengths_multiply_and_divide_the_unit():  # 4.3
    assert lengths(read("A2A/A//A3/2A/4A/2|")) == ["1/2", "1/8", "1/16", "3/8", "1/16", "1/8"]


def test_broken_rhythm_dots_one_and_halves_the_other():  # 4.4
    assert lengths(read("A>B A<B|A>>B A<<B|")) == ["3/8", "1/8", "1/8", "3/8", "7/16", "1/16", "1/16", "7/16"]


def test_tuplets_fit_their_time():  # 4.13
    assert lengths(read("(3ABc|")) == ["1/6"] * 3
    assert lengths(read("(3:2:2A2B|")) == ["1/3", "1/6"]
    assert lengths(read("(3::2A2B|")) == ["1/3", "1/6"]
    assert lengths(read("(2AB (4ABcd|", head="X:1\nM:6/8\nL:1/8\nK:{}\n")) == ["3/16"] * 2 + ["3/32"] * 4
    assert lengths(read("(5ABcde|", head="X:1\nM:6/8\nL:1/8\nK:{}\n")) == ["3/40"] * 5
    assert read("(3ABc|").bars[0].events[0].tuplet == (3, 2)


def test_a_tuplet_takes_broken_rhythm_inside():
    assert lengths(read("(3A>Bc|")) == ["1/4", "1/12", "1/6"]


@pytest.mark.parametrize(
    ("meter", "unit"),
    [("2/4", "1/16"), ("3/4", "1/8"), ("6/8", "1/8"), ("4/4", "1/8"), ("C|", "1/8"), ("5/8", "1/16")],
)
def test_without_a_unit_length_the_meter_gives_it(meter, unit):  # 3.1.7
    assert lengths(read("A|", head=f"X:1\nM:{meter}\nK:{{}}\n")) == [unit]


def test_a_file_with_neither_meter_nor_unit_is_read_and_says_what_was_taken():
    text = "X:1\nT:Free\nK:C\nCDEFGA|CDEFGA|\n"
    tune, voice, _ = parts_of_abc(text)[0]
    score, told = read_tune(tune, voice)
    assert score.meter.length == Fraction(3, 4) and lengths(score)[0] == "1/8"
    assert "gives no meter" in str(told[0])


def test_meters_are_read_in_every_way_of_writing_them():  # 3.1.6
    for text, meter in (
        ("C", Meter(4, 4)),
        ("C|", Meter(2, 2)),
        ("(2+3+2)/8", Meter(7, 8)),
        ("12/8", Meter(12, 8)),
    ):
        assert read("A|", head=f"X:1\nM:{text}\nL:1/4\nK:{{}}\n").meter == meter


def test_key_and_meter_change_inside_the_tune():
    score = read("F4|[K:G][M:3/4]F3|\nM:2/4\nK:F\nBB|")
    assert pitches(score) == [[65], [66], [70, 70]]
    assert [str(bar.meter) for bar in score.bars] == ["4/4", "3/4", "2/4"]
    assert [bar.key for bar in score.bars] == ["", "G", "F"]


def test_a_pickup_is_bar_0_and_its_complement_is_no_mistake():
    text = HEAD.format("C") + "G|cccc|c3|]"
    assert [bar.number for bar in read("G|cccc|c3|]").bars] == [0, 1, 2]
    assert problems(text) == []


def test_a_bar_that_does_not_add_up_is_reported_with_its_number():
    told = problems(HEAD.format("C") + "cccc|ccccc|cccc|ccc|cccc|]")
    assert [text.split(":")[0] for text in told] == ["Bar 2", "Bar 4"]
    assert "5 counts of 1/4; 4/4 asks for 4" in told[0]


def test_repeats_and_endings():  # 4.8, 4.9, 4.10
    bars = read("|:cccc|[1 dddd|e4:|[2 ffff|g4||aaaa::bbbb:|").bars
    assert [bar.opens_repeat for bar in bars] == [True, False, False, False, False, False, True]
    assert [bar.repeats for bar in bars] == [0, 0, 2, 0, 0, 2, 2]
    assert [bar.endings for bar in bars] == [(), (1,), (1,), (2,), (2,), (), ()]


def test_short_signs_of_endings_and_many_passes():
    bars = read("|:cccc|1,3 dddd:|2 eeee:|4-5 ffff|]").bars
    assert [bar.endings for bar in bars] == [(), (1, 3), (2,), (4, 5)]


def test_chords_ties_and_unisons():  # 4.11, 4.17
    score = read("[CEG]4-|[CEG]2 [C2E]2|")
    assert pitches(score) == [[60, 64, 67], [60, 64, 67, 60, 64]]
    first, second, third = score.bars[0].events[0], *score.bars[1].events
    assert not first.is_held and second.is_held and not third.is_held
    assert third.duration == 1 and [n.length for n in third.notes] == [None, Fraction(1, 2)]


def test_chord_symbols_stand_at_their_moment_and_texts_are_no_chords():  # 4.18, 4.19
    bar = read('"Am7"A2"^slowly"B"Bb/D"c|').bars[0]
    assert [(str(mark.onset), mark.symbol) for mark in bar.chords] == [("0", "Am7"), ("3/4", "Bb/D")]


def test_rests_of_bars_and_of_notes():  # 4.5
    assert lengths(read("z2 x2|Z2|c4|")) == ["1/2", "1/2", "1", "1", "1"]


def test_grace_notes_take_no_time():  # 4.12
    event = read("{/de}c4|").bars[0].events[0]
    assert event.duration == 1 and [n.pitch for n in event.grace] == [74, 76]


def test_words_stand_under_their_notes():  # 5.1
    score = read("cdef|g2 a2|b2c'2|\nw:Lit-tle lan_ terns * | glow~so\n")
    words = [e.lyric for bar in score.bars for e in bar.events]
    assert words == ["Lit-", "tle", "lan", "", "terns", "", "glow so", ""]


def test_fingers_and_accents_are_read():
    events = read('!>!c !2!d "3"e f|').bars[0].events
    assert events[0].accent and [e.notes[0].finger for e in events] == [None, 2, 3, None]


def test_two_voices_in_one_bar_become_one_line():  # 7.4
    bar = read("cdef & C2E2|").bars[0]
    assert [[n.pitch for n in e.notes] for e in bar.events] == [[60, 72], [74], [64, 76], [77]]
    assert bar.events[0].notes[0].length == Fraction(1, 2)


def test_tempo_counts_the_beats_of_the_meter():
    assert read("c|", head="X:1\nM:6/8\nQ:1/8=150\nL:1/8\nK:{}\n").tempo == 50
    assert read("c|", head='X:1\nM:4/4\nQ:"Gently" 1/4=66\nL:1/8\nK:{}\n').tempo == 66


def test_several_tunes_and_voices_are_asked_for():
    book = "X:1\nT:One\nK:C\nCDE|\n\nX:2\nT:Two\nK:C\nV:1 name=Tune\nGAB|\nV:2 name=Bass\nC,,3|\n"
    reading = read_upload("book.abc", book.encode())
    assert reading.parts == ["One", "Two: Tune", "Two: Bass"]
    assert pitches(read_upload("book.abc", book.encode(), part=2).score) == [[36]]
    assert read_upload("book.abc", book.encode(), part=2).parts == []
    with pytest.raises(UnreadableScore, match="no part 10"):
        read_upload("book.abc", book.encode(), part=9)


def test_a_tune_of_one_named_voice_is_read_whatever_stands_before_it():
    text = "X:1\nT:One\nM:4/4\nL:1/4\nK:G\nQ:1/4=90\nV:1\nGABc|\n"
    reading = read_upload("a.abc", text.encode())
    assert pitches(reading.score) == [[67, 69, 71, 72]] and reading.parts == []


def test_a_text_without_notes_is_refused():
    with pytest.raises(UnreadableScore, match="No notes"):
        read_upload("a.abc", b"X:1\nT:Nothing\nK:C\n")


def test_a_full_bar_ends_with_its_line_where_the_barline_is_left_out():
    assert len(read("cccc|dddd\neeee|ffff|").bars) == 4


def test_latin_letters_of_old_files_are_read():
    assert read_upload("a.abc", "X:1\nT:Träume\nK:C\nC|".encode("latin-1")).score.title == "Träume"

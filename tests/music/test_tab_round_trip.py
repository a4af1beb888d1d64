"""What write_tab writes, read_tab reads as the very same score."""

from dataclasses import replace
from fractions import Fraction as F

import pytest
from hypothesis import HealthCheck, given, settings

from pieces.music.score import Bar, Event, Note, Score
from pieces.music.tab import check_tab, read_tab, write_tab
from pieces.music.tab.guide import GUIDE
from pieces.music.tuning import TUNINGS
from tests.music.tab_mangled import GOOD, mangled_texts
from tests.music.tab_scores import scores


@settings(
    max_examples=150,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(scores())
def test_reading_undoes_writing(score):
    assert read_tab(write_tab(score)) == score


@pytest.mark.parametrize("text", [*GOOD, *(entry.example for entry in GUIDE)])
def test_writing_what_was_read_loses_nothing(text):
    score = read_tab(text)
    assert read_tab(write_tab(score)) == score


def test_whatever_could_be_read_of_a_mangled_text_can_be_written():
    read = [score for text in mangled_texts(300, seed=9) if (score := check_tab(text)[0])]
    assert len(read) > 50
    for score in read:
        assert read_tab(write_tab(score)) == score


def test_a_written_piece_looks_as_a_teacher_types_it():
    score = Score("Bell", bars=(Bar.of("3/4", "1/4 1/8 1/8 1/4"), Bar.of("3/4", "1/2 1/4", 2)))
    assert write_tab(replace(score, meter=score.bars[0].meter, tempo=80)) == (
        "title: Bell\n"
        "tuning: ukulele high G\n"
        "meter: 3/4\n"
        "tempo: 80\n"
        "\n"
        "A|-0---0-0-0-|-0-------0-|\n"
        "E|-----------|-----------|\n"
        "C|-----------|-----------|\n"
        "G|-----------|-----------|\n"
        "   1   2 & 3   1  (2)  3\n"
    )


def test_long_systems_are_folded_and_come_back_whole():
    bars = tuple(Bar.of("4/4", "1/4 1/4 1/4 1/4", number) for number in range(1, 13))
    text = write_tab(Score("Twelve", bars=bars))
    assert max(len(line) for line in text.splitlines()) <= 80
    assert text.count("...") == 2
    assert read_tab(text).bars == bars


def test_titles_are_written_on_one_line():
    assert read_tab(write_tab(Score("  Two\n Lanterns "))).title == "Two Lanterns"


@pytest.mark.parametrize(
    ("event", "reason"),
    [
        (Event(F(0), F(1), (Note(60),)), "not every note is set on a string"),
        (Event(F(1, 4), F(1, 4), (Note(69, 1, 0),)), "does not follow the one before in time"),
        (Event(F(0), F(1), (Note(69, 1, 0), Note(64, 2, 0))), "highest string number first"),
        (Event(F(0), F(1), (Note(60, 1, 0),)), "does not sound"),
        (Event(F(0), F(1), (Note(119, 1, 50),)), "no fret 50"),
    ],
)
def test_what_cannot_stand_on_paper_is_refused_with_its_reason(event, reason):
    score = Score("Odd", TUNINGS["ukulele high G"], bars=(replace(Bar.of("4/4", "1"), events=(event,)),))
    with pytest.raises(ValueError, match=reason):
        write_tab(score)

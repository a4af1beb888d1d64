"""A row of bars in words: nothing said twice, nothing said that says nothing."""

from dataclasses import replace
from fractions import Fraction as F
from pathlib import Path

import pytest

from pieces.music.difficulty import Rating
from pieces.music.findings import work_up
from pieces.music.outline import Known, Told, how_new, outline_bars, outline_sections
from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.shapes import Shape
from pieces.music.tab import read_tab
from pieces.music.tuning import TUNINGS

UKE = TUNINGS["ukulele high G"]
DEMO = sorted((Path(__file__).parents[2] / "fixtures" / "demo").glob("*.tab"))
LOW = Shape("Dm", (2, 2, 1, 0), (2, 3, 1, 0), 0.0)
HIGH = Shape("Dm", (2, 5, 5, 5), (1, 4, 4, 4), 0.0)
C = Shape("C", (0, 0, 0, 3), (0, 0, 0, 3), 0.0)


def bar(number, *places, chord=""):
    """Quarter notes on (string, fret), one after the other."""
    events = tuple(
        Event(F(at, 4), F(1, 4), (Note.at(UKE, string, fret),)) for at, (string, fret) in enumerate(places)
    )
    return Bar(number, Meter(4, 4), events, (ChordMark(F(0), chord),) if chord else ())


def known(*bars, **more):
    classes = {one.number: one.number for one in bars}
    return Known(Score(bars=bars, tuning=UKE), {"Dm": LOW, "C": C}, {}, classes, **more)


def texts(outlines):
    return [outline.text for outline in outlines]


def hard(kind, score=7.0):
    return Rating(score, ("It is hard.",), (F(0), F(1)), (kind,))


def test_the_same_count_is_said_once_and_a_new_one_again():
    row = [(1, 3), (1, 2), (1, 0), (2, 3)]
    first, second = bar(1, *row), bar(2, *row[::-1])
    third = replace(second, number=3, events=second.events[:2])
    said = texts(outline_bars((first, second, third), known(first, second, third)))
    assert ["Count" in text for text in said] == [True, False, True]


def test_a_drill_is_told_once_and_then_pointed_to():
    first, second = bar(1, (1, 3), (1, 2)), bar(2, (1, 2), (1, 3))
    knows = replace(known(first, second), ratings={1: hard("change"), 2: hard("change")})
    said = texts(outline_bars((first, second), knows))
    assert "Go to and fro" in said[0]
    assert said[1].endswith("Drill it as in bar 1.")


def test_a_middling_pace_is_no_trap():
    one = bar(1, (1, 3), (1, 2))
    slow = replace(known(one), ratings={1: hard("pace", 4.0)})
    fast = replace(known(one), ratings={1: hard("pace", 8.0)})
    assert "trap" not in texts(outline_bars([one], slow))[0]
    assert "The trap: It is hard." in texts(outline_bars([one], fast))[0]


def test_a_bar_that_differs_by_one_note_is_only_that_note():
    first, second = bar(1, (1, 3), (1, 2)), bar(2, (1, 3), (1, 0))
    knows = known(first, second, near={2: "as bar 1 but beat 2: string 1 open, not fret 2"})
    assert texts(outline_bars((first, second), knows))[1] == (
        "Bar 2. As bar 1 but beat 2: string 1 open, not fret 2."
    )


def test_another_shape_of_the_same_chord_is_told_with_the_way_to_it():
    first, second = bar(1, (3, 2), chord="Dm"), bar(2, (1, 5), chord="Dm")
    said = texts(outline_bars((first, second), known(first, second, own={2: {"Dm": HIGH}})))[1]
    assert said.startswith("Bar 2. Dm, 2555: finger 1 on string 4 fret 2")
    assert "From the earlier Dm: lift fingers 2 and 3" in said
    assert "Stay on" not in said


def test_a_shape_is_told_once_in_the_whole_piece():
    piece = work_up(read_tab(DEMO[-2].read_text()))
    shapes = {hold.symbol: hold.shape for hold in reversed(piece.holds) if hold.shape}
    knows = Known(piece.score, shapes, piece.ratings, piece.classes)
    text = " ".join(bar.text for part in outline_sections(piece.sections, knows) for bar in part.bars)
    for shape in shapes.values():
        assert text.count(f"{shape.symbol}, {shape.written}:") <= 1


def test_what_was_told_is_remembered_across_calls():
    first, second = bar(1, (1, 3), chord="C"), bar(2, (1, 3), (3, 0), chord="C")
    told = Told()
    outline_bars([first], known(first, second), told)
    assert C in told.shapes
    assert "finger 3" not in texts(outline_bars([replace(second, number=4)], known(first, second), told))[0]


@pytest.mark.parametrize(
    ("new", "text"),
    [(4, "every bar is new"), (1, "one of four bars is new"), (0, "no bar is new")],
)
def test_how_much_is_new_is_said_in_words(new, text):
    bars = [bar(number, (1, 0)) for number in range(1, 5)]
    assert how_new(bars, bars[:new]).startswith(text)


@pytest.mark.parametrize("path", DEMO, ids=lambda path: path.stem)
def test_no_sentence_of_a_demo_piece_is_empty_or_said_to_no_end(path):
    piece = work_up(read_tab(path.read_text()))
    shapes = {hold.symbol: hold.shape for hold in reversed(piece.holds) if hold.shape}
    knows = Known(piece.score, shapes, piece.ratings, piece.classes)
    for part in outline_sections(piece.sections, knows):
        for outline in part.bars:
            topics = [said.topic for said in outline.said]
            assert topics, outline
            assert len(topics) == len(set(topics)) or "shape" in topics or "change" in topics
            assert all(said.text.strip(" .") and "None" not in said.text for said in outline.said)

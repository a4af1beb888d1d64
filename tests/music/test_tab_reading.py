"""Counted tab read into scores. The rules are those of the format's own page (pieces.music.tab.guide)."""

from fractions import Fraction

from pieces.music.tab import check_tab, read_tab

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


def durations(bar):
    return " ".join(str(event.duration) for event in bar.events)


def test_two_lanterns_reads_as_its_teacher_counts_it():
    score = read_tab(TWO_LANTERNS)
    assert (score.title, score.tuning.name, str(score.meter), score.tempo) == (
        "Two Lanterns",
        "ukulele high G",
        "4/4",
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
    assert first.chords == ((Fraction(0), "C"),)
    assert second.chords == ((Fraction(0), "Am"),)


def test_without_a_count_the_columns_divide_the_bar_evenly():
    counted = read_tab(TWO_LANTERNS)
    score, problems = check_tab(TWO_LANTERNS.rsplit("\n", 2)[0])
    assert score.bars == counted.bars
    assert [problem.fatal for problem in problems] == [False]
    assert "columns divide each bar evenly" in problems[0].message

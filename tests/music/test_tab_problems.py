"""What check_tab says of a text with mistakes: each with its place, and what would be right."""

import pytest

from pieces.music.score import UnreadableScore
from pieces.music.tab import check_tab, read_tab
from tests.music.tab_mangled import GOOD, mangled_texts

LANTERNS = GOOD[0]


def problems_after(old: str, new: str):
    assert old in LANTERNS
    return check_tab(LANTERNS.replace(old, new))


@pytest.mark.parametrize(
    ("old", "new", "place", "message", "remedy"),
    [
        ("A|-3---2", "A|-3--y-2", (7, 7, 1), "y is no mark", "x (muted)"),
        ("A|-3---2", "A|-99--2", (7, 4, 1), "no fret 99", "dash between"),
        ("A|-3---2", "A|-(3--2", (7, 4, 1), "bracket is open", "(3)"),
        ("A|-3---2", "A|-<3--2", (7, 4, 1), "harmonic is open", "<12>"),
        ("A|-3---2---0", "A|-3-2-2---0", (7, 6, 1), "stands over no count; the nearest is", "add the one"),
        ("1   2   3   4   1", "1   2   3   2   1", (11, 16, 1), "goes back from 3 to 2", "straight on"),
        ("1   2   3   4   1", "1   2   3   f   1", (11, 16, 1), "f is no word of the count", "numbers"),
        ("E|-0-------------|-0-------------|", "E|-0-------------", (8, 2, None), "1 bar", "dashes"),
        ("E|-0-------------|-0", "E|-0---|---------|-0", (8, 2, None), "3 bars", "under theirs"),
        ("E|-0-------------|-0-------------|\n", "", (7, 1, None), "3 string lines", "4 lines"),
        ("\nE|", "\nD|", (7, 1, None), "not ukulele high G", "A E C G"),
        ("ukulele high G", "lute", (2, 1, None), "no tuning 'lute'", "G4 C4 E4 A4"),
        ("meter: 4/4", "meter: four", (3, 1, None), "no meter", "6/8"),
        ("tempo: 76", "capo: high", (4, 1, None), "no capo fret", "0 to 24"),
    ],
)
def test_a_mistake_is_told_with_its_place_and_its_remedy(old, new, place, message, remedy):
    _, problems = problems_after(old, new)
    told = [p for p in problems if (p.line, p.column, p.bar) == place and message in p.message]
    assert told, [str(problem) for problem in problems]
    assert remedy in told[0].remedy


def test_all_mistakes_are_told_at_once_in_order_of_line():
    text = LANTERNS.replace("76", "fast").replace("-3---2", "-y---2").replace("3 & 4", "3 q 4")
    score, problems = check_tab(text)
    assert score is None
    assert [problem.line for problem in problems] == sorted(problem.line for problem in problems)
    assert {4, 7, 11} <= {problem.line for problem in problems}
    with pytest.raises(UnreadableScore) as refusal:
        read_tab(text)
    assert list(refusal.value.problems) == problems


@pytest.mark.parametrize(
    ("count", "bar", "said"),
    [
        ("1   2   3       1   2   3 & 4", 1, "short: it has 3 of the 4"),
        ("1   2   3   4   1   2   3 & 4 5", 2, "long: it has 5 of the 4"),
    ],
)
def test_a_bar_that_does_not_add_up_is_named_and_still_read(count, bar, said):
    score, problems = problems_after("1   2   3   4   1   2   3 & 4", count)
    assert score is not None
    assert [(p.bar, p.fatal) for p in problems] == [(bar, False)]
    assert said in problems[0].message


def test_two_parts_of_a_bar_around_a_repeat_sign_add_up():
    text = "meter: 3/4\n\n" + "\n".join(
        f"{name}|-{first}-|-0---0---0-|-0---0--:|-0-|-0---0---0-|-0---0-|"
        for name, first in zip("AECG", "0---", strict=True)
    )
    score, problems = check_tab(text + "\n   3   1   2   3   1   2     3   1   2   3   1   2")
    assert [(bar.number, str(bar.length)) for bar in score.bars] == [
        (0, "1/4"),
        (1, "3/4"),
        (2, "1/2"),
        (3, "1/4"),
        (4, "3/4"),
        (5, "1/2"),
    ]
    assert problems == []


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("tempo: 76", "strumming: soft", "kept as a note"),
        ("tempo: 76", "With a swing", "kept as a note"),
        ("title: Two", "Two", "kept as the title"),
        ("meter: 4/4\n", "", "read in 4/4 from its count"),
        ("tempo: 76", "tempo: slow", "no tempo"),
        ("tempo: 76", "title: Three Lanterns", "given twice"),
        ("tempo: 76", "bar 9: softly", "There is no bar 9"),
        ("C               Am", "C               Xyz", "no chord name or mark"),
        ("4   1   2", "4  (1)  2", "yet something is struck"),
        ("A|-3---2", "A|-r---2", "A rest and a fret"),
        ("2-3---|\n", "2-3---| twice\n", "after the last barline"),
    ],
)
def test_what_is_only_doubtful_is_said_and_the_piece_is_read(old, new, said):
    score, problems = problems_after(old, new)
    assert score is not None
    assert any(said in problem.message and not problem.fatal for problem in problems), problems


def test_nothing_that_was_typed_is_lost():
    score, _ = problems_after("tempo: 76", "With a swing\nstrumming: soft\nbar 9: softly")
    assert set(score.remarks) == {"With a swing", "strumming: soft", "bar 9: softly"}


def test_an_ending_that_stops_before_its_repeat_sign_is_told():
    text = "meter: 1/4\n\n       1.       2.\n" + "\n".join(f"{s}|:-0-|-0-|-0-:|-0-|" for s in "AECG")
    _, problems = check_tab(text + "\n    1   1   1    1")
    assert any("1. stops here, before the repeat sign" in problem.message for problem in problems), problems


@pytest.mark.parametrize("text", GOOD)
def test_the_texts_that_are_spoiled_below_are_good(text):
    score, problems = check_tab(text)
    assert score is not None
    assert not [problem for problem in problems if problem.fatal]


def test_300_mangled_texts_are_read_or_explained_and_never_break_anything():
    refused = 0
    for text in mangled_texts(300):
        score, problems = check_tab(text)
        for problem in problems:
            assert problem.message and problem.remedy, problem
            assert 0 <= problem.line <= len(text.splitlines()) + 1
        if score is None:
            refused += 1
            assert any(problem.fatal for problem in problems)
            with pytest.raises(UnreadableScore):
                read_tab(text)
        else:
            assert read_tab(text) == score
    # The mangling must bite, or this shows nothing.
    assert 100 < refused < 300


@pytest.mark.parametrize(
    "text", ["", "\n\n", "|", "A|", "-" * 5000, "1 2 3 4", "\x00" * 50, "A|" + "9" * 5000, "[" * 3000]
)
def test_odd_texts_are_explained(text):
    score, problems = check_tab(text)
    assert problems
    assert score is None or not score.bars


def test_a_text_far_too_long_is_refused_at_once():
    score, problems = check_tab("-" * 300_000)
    assert score is None
    assert "longer than" in problems[0].message

"""The page that explains counted tab shows only what is so."""

import pytest

from pieces.music.tab import check_tab, write_tab
from pieces.music.tab.guide import GUIDE


@pytest.mark.parametrize("entry", GUIDE, ids=lambda entry: entry.title)
def test_every_example_is_read_without_a_warning_but_for_its_meter(entry):
    score, problems = check_tab(entry.example)
    assert score is not None, problems
    assert [problem for problem in problems if "No meter is given" not in problem.message] == []


@pytest.mark.parametrize("entry", GUIDE, ids=lambda entry: entry.title)
def test_every_entry_is_one_sentence(entry):
    assert entry.text.endswith(".")
    assert ". " not in entry.text.replace("1. and 2. over", "")


def test_the_page_shows_every_row_and_sign_that_writing_uses():
    shown = "\n".join(entry.example for entry in GUIDE)
    for sign in (
        "r",
        "x",
        "(2)",
        "<12>",
        "g2",
        "h2",
        "p2",
        "/5",
        "\\3",
        "~1/2",
        "|:",
        ":|",
        "1.",
        "[A]",
        "(key F)",
    ):
        assert sign in shown, sign
    for row in ("left:", "words:", "note:", "bar 2:", "capo:", "..."):
        assert row in shown, row


def test_the_page_fits_one_screen():
    assert sum(entry.example.count("\n") for entry in GUIDE) <= 140
    assert all(len(line) <= 44 for entry in GUIDE for line in entry.example.splitlines())
    assert all(write_tab(check_tab(entry.example)[0]) for entry in GUIDE)

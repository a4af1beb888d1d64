"""The six pieces: readable, playable, and the old tunes go as they are sung."""

import pytest

from pieces.music.findings import work_up
from pieces.music.tab import check_tab, write_tab
from studio.demo.pieces import PIECES

BY_FILE = {piece.file: piece for piece in PIECES}

# How the tunes begin, as steps above the keynote in half tones. Old tunes, from memory,
# no edition; checked by singing them.
OPENINGS = {
    # "Are you going to Scarborough Fair", D dorian
    "scarborough-fair.tab": (62, (0, 0, 7, 7, 2, 3, 2, 0)),
    # "Alas my love, you do me wrong", D minor
    "greensleeves.tab": (62, (0, 3, 5, 7, 8, 7, 5, 2, -2, 0, 2)),
    # "'Tis the gift to be simple, 'tis the gift to be free", G major
    "simple-gifts.tab": (55, (-5, -5, 0, 0, 2, 4, 0, 4, 5, 7, 7, 5, 4)),
}


@pytest.mark.parametrize("file", BY_FILE)
def test_every_bar_of_the_demo_adds_up_and_nothing_is_in_doubt(file):
    score, problems = check_tab(BY_FILE[file].typed)
    assert problems == []
    assert work_up(score).problems == ()
    assert all(bar.length == bar.meter.length for bar in score.bars if not bar.is_pickup)


@pytest.mark.parametrize("file", BY_FILE)
def test_the_demo_is_typed_as_it_would_be_written(file):
    score, _problems = check_tab(BY_FILE[file].typed)
    assert write_tab(score) == BY_FILE[file].typed


@pytest.mark.parametrize("file", OPENINGS)
def test_an_old_tune_begins_as_it_is_sung(file):
    keynote, steps = OPENINGS[file]
    score, _problems = check_tab(BY_FILE[file].typed)
    tune = [
        max(note.pitch for note in event.notes) - keynote
        for bar in score.bars
        for event in bar.events
        if event.struck
    ]
    # A strum under Scarborough Fair's second bar has its highest note in the tune.
    assert tuple(tune[: len(steps)]) == steps


def test_the_demo_has_several_meters_and_instruments():
    scores = [check_tab(piece.typed)[0] for piece in PIECES]
    assert {str(score.meter) for score in scores} == {"4/4", "3/4", "6/8"}
    assert len({score.tuning.name for score in scores}) == 4
    assert all(len(score.bars) >= 12 for score in scores)

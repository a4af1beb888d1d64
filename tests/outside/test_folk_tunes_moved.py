"""Mixtures of levels, and other instruments, on tunes that are not ours.

The tunes are of music21's Essen collection (see ``tunes``); none is shipped here. What
is promised of a whole level is promised of any mixture, and a tune that is set for
another instrument keeps every note of its melody, by octaves at most.
"""

import pytest

from pieces.music.arranging import LEVELS, OutOfReach, arrange_bars, best_keys
from pieces.music.instruments import CannotMove, set_for
from pieces.music.melody import tones_of
from pieces.music.setting import set_on_strings, transpose
from pieces.music.tuning import TUNINGS
from tests.outside.fretting import faults
from tests.outside.tunes import essen_tunes

HIGH, LOW = TUNINGS["ukulele high G"], TUNINGS["ukulele low G"]


def in_best_key(melody, tuning):
    best = best_keys(melody, None, tuning)[0]
    return transpose(melody, best.semitones) if best.fits else None


def test_a_mixture_of_levels_keeps_every_promise():
    """Every fourth tune; each bar has the next level, so that every pair of levels meets."""
    broken, done = [], 0
    for turn, melody in enumerate(essen_tunes()[::4]):
        tuning = (HIGH, LOW)[turn % 2]
        moved = in_best_key(melody, tuning)
        if moved is None:
            continue
        step = 1 + turn % 3
        levels = {bar.number: 1 + at * step % len(LEVELS) for at, bar in enumerate(moved.bars)}
        try:
            mixed = arrange_bars(moved, None, tuning, levels)
        except OutOfReach:
            continue
        done += 1
        broken += [(melody.title, fault) for fault in faults(mixed.score, moved)]
    assert done > 40
    assert broken == []


@pytest.mark.parametrize("name", TUNINGS)
def test_a_tune_set_for_another_instrument_keeps_every_note_of_its_melody(name):
    """Every twentieth tune, from the ukulele."""
    moved_tunes = 0
    for melody in essen_tunes()[::20]:
        tune = in_best_key(melody, HIGH)
        if tune is None:
            continue
        placed = set_on_strings(tune, HIGH)
        try:
            moved = set_for(placed, TUNINGS[name]).score
        except CannotMove:
            continue
        moved_tunes += 1
        old, new = tones_of(placed), tones_of(moved)
        assert len(old) == len(new)
        (shift,) = {b.pitch - a.pitch for a, b in zip(old, new, strict=True)}
        assert shift % 12 == 0
        sounding = [note for bar in moved.bars for event in bar.events for note in event.notes]
        assert all(TUNINGS[name].pitch(note.string, note.fret) == note.pitch for note in sounding)
    assert moved_tunes >= 5

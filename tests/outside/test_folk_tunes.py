"""Arranging held against tunes from outside: music21's lead sheets and its Essen collection.

The tunes are read from the corpus that music21 brings along; none is shipped here.
``tests/benchmarks/arranging.py`` does the same in all twelve keys.
"""

import music21
import pytest

from pieces.music.arranging import LEVELS, arrange, best_keys
from pieces.music.chords import chord_tones
from pieces.music.harmonizing import find_key
from pieces.music.melody import tones_of
from pieces.music.setting import transpose
from pieces.music.tuning import TUNINGS
from tests.outside.fretting import faults
from tests.outside.tunes import essen_tunes, lead_sheet

HIGH, LOW = TUNINGS["ukulele high G"], TUNINGS["ukulele low G"]
LEAD_SHEETS = ("fosterBrownHair.mxl", "berlinAlexandersRagtime.mxl")


@pytest.mark.parametrize("name", LEAD_SHEETS)
@pytest.mark.parametrize("tuning", (HIGH, LOW, TUNINGS["guitar"]), ids=lambda tuning: tuning.name)
def test_a_lead_sheet_keeps_every_promise_at_every_level(name, tuning):
    melody = lead_sheet(name)
    moved = transpose(melody, best_keys(melody, None, tuning)[0].semitones)
    for level in LEVELS:
        arranged = arrange(moved, None, tuning, level)
        assert not arranged.proposed
        assert list(faults(arranged.score, moved)) == []


def test_two_hundred_folk_tunes_keep_every_promise():
    """Each tune once; keys, tunings and levels take turns."""
    tunes = essen_tunes()
    assert len(tunes) == 200
    broken = []
    for turn, melody in enumerate(tunes):
        tuning = (HIGH, LOW)[turn % 2]
        fitting = [rank for rank in best_keys(melody, None, tuning) if rank.fits]
        if not fitting:
            continue
        moved = transpose(melody, fitting[turn % len(fitting)].semitones)
        arranged = arrange(moved, None, tuning, 1 + turn // 2 % 4)
        broken += [(melody.title, fault) for fault in faults(arranged.score, moved)]
    assert broken == []


@pytest.mark.parametrize(("tuning", "goal"), ((HIGH, 0.97), (LOW, 0.99)), ids=("high G", "low G"))
def test_in_the_best_key_strong_beats_carry_two_chord_tones_beneath_the_tune(tuning, goal):
    """Every fifth tune; the goals are ours."""
    strong = carried = 0
    for melody in essen_tunes()[::5]:
        best = best_keys(melody, None, tuning)[0]
        arranged = arrange(transpose(melody, best.semitones), None, tuning, 3)
        strong, carried = strong + arranged.strong, carried + arranged.carried
    assert strong > 500
    assert carried / strong >= goal


def test_the_key_is_found_about_as_often_as_music21_finds_it():
    """Against the tonic that the collection names; many of its tunes are modal."""
    tunes = essen_tunes()[::2]
    ours = sum(_tonic(find_key(tones_of(tune))) == _tonic(tune.key) for tune in tunes)
    theirs = sum(_music21_tonic(tune) == _tonic(tune.key) for tune in tunes)
    assert ours >= theirs - len(tunes) * 0.05


def _tonic(key):
    return chord_tones(key.rstrip("m"))[0]


def _music21_tonic(tune):
    stream = music21.stream.Stream()
    for tone in tones_of(tune):
        stream.append(music21.note.Note(tone.pitch, quarterLength=float(4 * tone.duration)))
    return stream.analyze("key").tonic.pitchClass

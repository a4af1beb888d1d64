"""Chord tones against music21 10.5.1 (``music21.harmony``), over twelve roots."""

import pytest
from music21 import harmony

from pieces.music.chords import chord_tones
from pieces.music.qualities import QUALITIES
from pieces.music.tuning import NOTE_NAMES

# Where music21 writes the same quality another way.
ITS_SUFFIX = {
    "5": "power",
    "mmaj7": "mM7",
    "maj9": "M9",
    "mmaj9": "mM9",
    "maj11": "M11",
    "mmaj11": "mM11",
    "maj13": "M13",
    "6/9": "6add9",
    "m6/9": "m6add9",
}
# Where music21 differs, and why.
ITS_DIFFERENCES = {
    "9sus4": "it has no suspended ninth",
    "(b5)": "it reads b5 after a triad as part of another kind",
    "13b9": "it keeps the natural ninth of the thirteenth and drops the flat one",
}


def _its_tones(root: str, suffix: str) -> set[int]:
    figure = root.replace("b", "-") + ITS_SUFFIX.get(suffix, suffix)
    return {pitch.pitchClass for pitch in harmony.ChordSymbol(figure).pitches}


@pytest.mark.parametrize("suffix", [suffix for suffix in QUALITIES if suffix not in ITS_DIFFERENCES])
def test_chord_tones_are_those_of_music21_on_every_root(suffix):
    for root in NOTE_NAMES:
        assert set(chord_tones(root + suffix)) == _its_tones(root, suffix), root + suffix


@pytest.mark.parametrize("suffix", ITS_DIFFERENCES)
def test_the_listed_differences_from_music21_still_stand(suffix):
    try:
        its = _its_tones("C", suffix)
    except ValueError:
        return
    assert its != set(chord_tones("C" + suffix))


@pytest.mark.parametrize("symbol", ["C/G", "Am/C", "F/A", "G7/B", "C/D", "Dm/C"])
def test_a_slash_bass_is_the_bass_of_music21(symbol):
    its = harmony.ChordSymbol(symbol)
    assert {pitch.pitchClass for pitch in its.pitches} == set(chord_tones(symbol))

"""Chord symbols: the ways people write them, how they are spelled, and names for what sounds."""

import pytest

from pieces.music.chords import UnknownChord, chord_tones, name_chord, parse_chord, spell
from pieces.music.qualities import QUALITIES
from pieces.music.tuning import NOTE_NAMES


@pytest.mark.parametrize(
    ("written", "quality"),
    [
        ("C", ""),
        ("Cmaj", ""),
        ("CM", ""),
        ("C Major", ""),
        ("C-", "m"),
        ("Cmin", "m"),
        ("C minor", "m"),
        ("CΔ", "maj7"),
        ("CM7", "maj7"),
        ("Cma7", "maj7"),
        ("CΔ9", "maj9"),
        ("C-7", "m7"),
        ("Cmi7", "m7"),
        ("Cm(maj7)", "mmaj7"),
        ("C°", "dim"),
        ("Co7", "dim7"),
        ("Cø", "m7b5"),
        ("C-7b5", "m7b5"),
        ("C+", "aug"),
        ("C+7", "aug7"),
        ("C7#5", "aug7"),
        ("C7-5", "7b5"),
        ("C7+9", "7#9"),
        ("C7(b9)", "7b9"),
        ("Csus", "sus4"),
        ("C7sus", "7sus4"),
        ("C69", "6/9"),
        ("C6/9", "6/9"),
        ("C(add9)", "add9"),
        ("Cm add9", "madd9"),
        ("Cdom7", "7"),
        ("C(no3)", "5"),
    ],
)
def test_a_quality_may_be_written_in_every_usual_way(written, quality):
    assert parse_chord(written).quality == quality


@pytest.mark.parametrize("quality", QUALITIES)
def test_every_quality_is_read_from_its_own_suffix_on_every_root(quality):
    for root, name in enumerate(NOTE_NAMES):
        chord = parse_chord(name + quality)
        assert (chord.root, chord.quality) == (root, quality)
        assert chord.tones[0] == root
        assert len(set(chord.tones)) == len(chord.tones)


@pytest.mark.parametrize(
    "same", [("C#", "Db"), ("D#m", "Ebm"), ("B#7", "C7"), ("Fb", "E"), ("F##", "G"), ("B♭", "Bb")]
)
def test_a_root_may_be_spelled_either_way(same):
    assert chord_tones(same[0]) == chord_tones(same[1])


def test_a_slash_bass_is_told_from_a_sixth_with_added_ninth():
    assert parse_chord("C/G").bass == 7
    assert parse_chord("C6/9").bass is None
    assert parse_chord("C6/9/G").bass == 7


def test_a_foreign_slash_bass_sounds_but_is_no_tone_of_the_chord():
    chord = parse_chord("C/D")
    assert chord.tones == (0, 4, 7)
    assert chord.sounding == (0, 4, 7, 2)
    assert 2 in chord.required


@pytest.mark.parametrize("text", ["", "H7", "c", "N.C.", "C7alt", "C/", "Cmajor9th", "7", "C/9"])
def test_what_names_no_chord_is_refused_with_a_remedy(text):
    with pytest.raises(UnknownChord, match=r"as in|Write for instance"):
        parse_chord(text)


def test_no_quality_may_leave_out_the_third_except_the_eleventh_that_clashes_with_it():
    for quality in QUALITIES.values():
        thirds = {"3", "b3"} & set(quality.spare)
        assert not thirds or quality.suffix == "11"


def test_a_chord_is_spelled_by_its_letters():
    assert list(spell("Fm").values()) == ["F", "Ab", "C"]
    assert list(spell("E7").values()) == ["E", "G#", "B", "D"]
    assert list(spell("Cdim7").values()) == ["C", "Eb", "Gb", "Bbb"]


@pytest.mark.parametrize("quality", [q for q in QUALITIES if len(QUALITIES[q].degrees) < 6])
def test_a_chord_stacked_on_its_root_is_named_as_itself(quality):
    for root in range(12):
        pitches = [48 + root + interval for interval in QUALITIES[quality].intervals]
        best = name_chord(pitches)[0]
        assert (best.missing, best.foreign) == ((), ())
        named = parse_chord(best.symbol)
        assert (named.root, set(named.tones)) == (root, {pitch % 12 for pitch in pitches})


def test_an_inversion_is_named_with_its_bass():
    assert [reading.symbol for reading in name_chord((64, 67, 72), limit=1)] == ["C/E"]
    assert name_chord((67, 72, 76))[0].text == "C major, second inversion"


def test_on_reentrant_strings_the_lowest_string_need_not_be_called_an_inversion():
    assert name_chord((69, 60, 65, 69), inversions=False)[0].symbol == "F"


def test_a_missing_fifth_and_a_foreign_note_are_said():
    without_fifth = name_chord((60, 64, 70))[0]
    assert (without_fifth.symbol, without_fifth.missing) == ("C7", (7,))
    assert "without G, the fifth" in without_fifth.text
    crowded = [r for r in name_chord((60, 61, 64, 67)) if r.symbol == "C"]
    assert crowded[0].foreign == (1,)
    assert "with C#, foreign to it" in crowded[0].text


def test_the_same_notes_are_offered_under_each_name_they_carry():
    assert {"Am7", "C6/A"} <= {reading.symbol for reading in name_chord((57, 60, 64, 67))}


def test_readings_come_best_first():
    costs = [reading.cost for reading in name_chord((60, 64, 67, 69))]
    assert costs == sorted(costs)


def test_one_note_is_no_chord():
    assert name_chord((60, 72)) == []
    assert name_chord(()) == []

"""What a hand can hold beneath a melody note."""

from itertools import product

import pytest

from pieces.music.chords import chord_tones
from pieces.music.fingering import hands
from pieces.music.grips import REACH, grips_under, hands_keeping, most_beneath, placements
from pieces.music.tuning import TUNINGS

UKE, LOW, GUITAR = TUNINGS["ukulele high G"], TUNINGS["ukulele low G"], TUNINGS["guitar"]
SYMBOLS = ("C", "Am", "F", "G7", "Bbmaj7", "Dsus4")


@pytest.mark.parametrize(("tuning", "symbol"), list(product((UKE, LOW, GUITAR), SYMBOLS)), ids=str)
def test_every_grip_keeps_the_melody_on_top_and_the_chord_beneath(tuning, symbol):
    tones = chord_tones(symbol)
    for pitch in (64, 69, 72, 77):
        for grip in grips_under(pitch, tones, tuning, 3):
            sounding = {
                place: tuning.pitch(string, fret)
                for place, (string, fret) in enumerate(zip(tuning.strings, grip.frets, strict=True))
                if fret is not None
            }
            assert sounding.pop(grip.melody) == pitch
            assert sounding and len(sounding) == grip.beneath <= 3
            assert all(p < pitch and p % 12 in tones for p in sounding.values())
            stopped = [fret for fret in grip.frets if fret]
            assert not stopped or max(stopped) - min(stopped) <= REACH
            assert grip.fingers in [hand.fingers for hand in hands(grip.frets)]


def test_the_open_chord_is_the_first_grip_under_its_own_top_note():
    assert grips_under(72, (0, 4, 7), UKE, 3)[0].frets == (0, 0, 0, 3)


def test_nothing_lies_under_the_lowest_note():
    assert grips_under(60, (0, 4, 7), UKE, 3) == ()
    assert grips_under(55, (7, 11, 2), LOW, 3) == ()


def test_the_high_fourth_string_is_no_bass():
    beneath = {grip.frets[0] for grip in grips_under(67, (0, 4, 7), UKE, 3)}
    assert beneath <= {None, *(grip.frets[0] for grip in placements(67, UKE))}


def test_a_single_note_takes_the_open_string_and_one_finger_a_fret_by_the_nut():
    best = {pitch: min(placements(pitch, UKE), key=lambda grip: grip.cost) for pitch in (69, 70, 71, 72, 76)}
    assert [best[p].fingers[3] for p in (69, 70, 71, 72)] == [0, 1, 2, 3]
    assert best[76].frets == (None, None, None, 7)


@pytest.mark.parametrize("symbol", SYMBOLS)
def test_the_quick_count_never_promises_less_than_the_search_finds(symbol):
    tones = chord_tones(symbol)
    for pitch in range(60, 82):
        found = max((grip.beneath for grip in grips_under(pitch, tones, UKE, 3)), default=0)
        assert most_beneath(pitch, tones, UKE)[0] >= found


def test_a_finger_that_holds_on_keeps_its_string():
    held = hands_keeping((0, 2, 1, 2), (None, 2, 1, None), (1, 2))
    assert held and all(fingers[1:3] == (2, 1) for fingers, _ in held)

"""MIDI in (Standard MIDI Files 1.0): bars, grid, parts."""

import random
from fractions import Fraction

import pytest

from pieces.music.score import UnreadableScore
from pieces.reading import read_upload
from tests.reading.files import midi, struck

THREE_FOUR = (0, b"\xff\x58\x04\x03\x02\x18\x08")
EVEN = struck(60, 480) + struck(62, 480) + struck(64, 480)


def read(*tracks, **more):
    return read_upload("a.mid", midi(*tracks), **more)


def lengths(reading) -> list[list[str]]:
    return [[str(e.duration) for e in bar.events] for bar in reading.score.bars]


def test_notes_fall_into_bars_and_rests_fill_them():
    reading = read([THREE_FOUR, *EVEN, *struck(65, 240, wait=480)])
    assert lengths(reading) == [["1/4", "1/4", "1/4"], ["1/4", "1/8", "3/8"]]
    assert reading.score.bars[1].events[0].is_rest


def test_a_note_over_the_barline_is_tied():
    reading = read([THREE_FOUR, *struck(60, 4 * 480)])
    assert [[n.tied for e in bar.events for n in e.notes] for bar in reading.score.bars] == [[False], [True]]


def test_an_exact_file_gets_the_coarsest_grid_that_fits():
    assert read(EVEN).grid == Fraction(1, 4)
    assert read(struck(60, 160) * 3 + EVEN).grid == Fraction(1, 12)
    assert read(struck(60, 160) * 3 + struck(60, 120) * 4).grid == Fraction(1, 48)


def test_triplets_are_marked():
    events = read(struck(60, 160) * 3 + struck(62, 480) * 3).score.bars[0].events
    assert [(str(e.duration), e.tuplet) for e in events[:3]] == [("1/12", (3, 2))] * 3


def test_free_playing_is_set_to_the_grid_and_said_so():
    chance = random.Random(4)
    played, at = [], 0
    for i in range(16):
        start, end = 240 * i + chance.randint(-18, 18) + 20, 240 * (i + 1) + chance.randint(-40, -12) + 20
        played += [(start - at, bytes((0x90, 60 + i % 5, 80))), (end - start, bytes((0x80, 60 + i % 5, 0)))]
        at = end
    reading = read(played, grid="1/8")
    assert lengths(reading)[0] == ["1/8"] * 8
    assert "played freely" in str(reading.problems[0])


def test_the_grid_can_be_chosen():
    assert lengths(read(struck(60, 100) + struck(62, 140), grid="1/8"))[0][:2] != []
    assert read(EVEN, grid=Fraction(1, 32)).grid == Fraction(1, 32)
    with pytest.raises(UnreadableScore, match="no grid"):
        read(EVEN, grid="one third")


def test_key_tempo_title_words_and_chord_names():
    head = [
        (0, b"\xff\x03\x05Tunes"),
        (0, b"\xff\x51\x03" + (750_000).to_bytes(3, "big")),
        (0, b"\xff\x59\x02\xff\x00"),
        (0, b"\xff\x06\x03Bb7"),
        (0, b"\xff\x05\x02Oh"),
    ]
    score = read(head, EVEN).score
    assert (score.title, score.tempo, score.key) == ("Tunes", 80, "F")
    assert score.bars[0].chords[0].symbol == "Bb7" and score.bars[0].events[0].lyric == "Oh"


def test_a_short_first_meter_is_a_pickup():
    one_four = (0, b"\xff\x58\x04\x01\x02\x18\x08")
    head = [one_four, (480, b"\xff\x58\x04\x03\x02\x18\x08")]
    reading = read(head, struck(60, 480) + EVEN)
    assert [(bar.number, str(bar.meter)) for bar in reading.score.bars] == [(0, "3/4"), (1, "3/4")]


def test_tracks_are_parts_and_drums_are_not():
    named = [(0, b"\xff\x03\x04Bass")]
    reading = read(EVEN, named + struck(40, 1440), struck(38, 480, channel=9))
    assert reading.parts == ["Track 1", "Bass"]
    assert read(EVEN, struck(40, 1440), part=1).score.bars[0].events[0].notes[0].pitch == 40
    with pytest.raises(UnreadableScore, match="only drums"):
        read(struck(38, 480, channel=9))


def test_notes_together_are_one_event_and_a_longer_one_keeps_its_length():
    low = [(0, bytes((0x90, 48, 80)))]
    high = struck(60, 480) + struck(62, 480)
    events = read([*low, *high, (0, bytes((0x80, 48, 0)))]).score.bars[0].events
    assert [n.pitch for n in events[0].notes] == [48, 60]
    assert events[0].notes[0].length == Fraction(1, 2)

"""The same piece on another instrument: same key, or same shapes."""

from dataclasses import replace
from fractions import Fraction

import pytest

from pieces.music.instruments import CannotMove, set_for
from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.tuning import TUNINGS

UKE, LOW, BARITONE, GUITAR = (
    TUNINGS[n] for n in ("ukulele high G", "ukulele low G", "baritone ukulele", "guitar")
)
HALF = Fraction(1, 2)


def piece(tuning, *shapes, key="C", chords=("C",)):
    """Half notes, each a row of frets from the highest string number; "x" does not sound."""
    events = []
    for at, frets in enumerate(shapes):
        notes = tuple(
            Note.at(tuning, string, int(fret))
            for string, fret in zip(tuning.strings, frets, strict=True)
            if fret != "x"
        )
        events.append(Event(at * HALF, HALF, notes))
    marks = tuple(ChordMark(at * HALF, symbol) for at, symbol in enumerate(chords))
    return Score(tuning=tuning, key=key, bars=(Bar(1, Meter(len(shapes), 2), tuple(events), marks),))


def frets(score):
    return [[(n.string, n.fret) for n in e.notes] for b in score.bars for e in b.events]


def sounding(score):
    return [sorted(n.pitch for n in e.notes) for b in score.bars for e in b.events]


def test_the_same_shapes_on_a_baritone_sound_a_fourth_lower():
    score = piece(UKE, "0003", "2010", chords=("C", "F"))
    moved = set_for(score, BARITONE, keep="shapes")
    assert frets(moved.score) == frets(score)
    assert [mark.symbol for mark in moved.score.bars[0].chords] == ["G", "C"]
    assert moved.score.key == "G"
    assert moved.changes[0] == "The same frets sound five half steps lower, in G."


def test_the_string_that_lies_an_octave_apart_is_told():
    moved = set_for(piece(UKE, "0003"), LOW, keep="shapes")
    assert moved.changes == ("String 4 sounds an octave lower than the rest does.",)
    assert moved.score.key == "C"


def test_a_tune_that_is_no_longer_on_top_is_told():
    moved = set_for(piece(LOW, "0xx0", "00x0"), UKE, keep="shapes")
    assert not any("no longer the highest" in text for text in moved.changes)
    moved = set_for(piece(LOW, "20x0", "200x"), UKE, keep="shapes")
    assert "In bar 1 the tune is no longer the highest note." in moved.changes


def test_six_strings_on_four_lose_the_two_lowest_and_say_so():
    moved = set_for(piece(GUITAR, "x32010"), BARITONE, keep="shapes")
    assert frets(moved.score) == [[(4, 2), (3, 0), (2, 1), (1, 0)]]
    assert moved.changes == ("Without strings 5 and 6, bar 1 loses notes.",)


def test_shapes_that_would_be_other_chords_are_refused():
    with pytest.raises(CannotMove, match="other chords"):
        set_for(piece(UKE, "0003"), TUNINGS["mandolin"], keep="shapes")


def test_a_piece_without_strings_has_no_shapes_to_keep():
    unset = Score(bars=(Bar(1, Meter(1, 2), (Event(Fraction(0), HALF, (Note(64),)),)),))
    with pytest.raises(CannotMove, match="not set on strings"):
        set_for(unset, LOW, keep="shapes")


@pytest.mark.parametrize("name", TUNINGS)
def test_the_same_key_keeps_the_tune_on_every_instrument(name):
    score = piece(UKE, "xxx3", "xxx0", "xx00", "xx13", "x003")
    moved = set_for(score, TUNINGS[name])
    tune = [max(pitches) for pitches in sounding(score)]
    shifts = {max(pitches) - top for pitches, top in zip(sounding(moved.score), tune, strict=True)}
    assert len(shifts) == 1 and shifts.pop() % 12 == 0
    assert moved.score.is_set and moved.score.key == "C"
    for bar in moved.score.bars:
        for note in (n for e in bar.events for n in e.notes):
            assert TUNINGS[name].pitch(note.string, note.fret) == note.pitch


def test_the_same_instrument_changes_nothing_that_sounds():
    score = piece(UKE, "0003", "2010")
    moved = set_for(score, UKE)
    assert sounding(moved.score) == sounding(score) and moved.changes == ()


def test_an_octave_is_told():
    moved = set_for(piece(UKE, "xxx0"), TUNINGS["bass"])
    assert moved.changes[0] == "Everything sounds two octaves lower."


def test_a_piece_from_the_nut_of_a_ukulele_stays_near_the_nut_of_a_guitar():
    moved = set_for(piece(UKE, "0003", "2010", "0212"), GUITAR)
    assert moved.changes[0] == "Everything sounds an octave lower."
    assert max(note.fret for bar in moved.score.bars for e in bar.events for note in e.notes) <= 5


def test_what_lay_high_may_stay_high():
    moved = set_for(piece(UKE, "xxx9", "xx77"), LOW)
    assert not any("octave" in text for text in moved.changes)


def test_a_doubled_note_is_left_out_before_any_other():
    moved = set_for(piece(UKE, "2000", chords=("Am",)), GUITAR).score
    assert {pitch % 12 for pitch in sounding(moved)[0]} == {9, 0, 4}


def test_what_no_hand_can_reach_is_left_out_beneath_the_tune_and_told():
    score = piece(GUITAR, "320003", key="G", chords=("G",))
    moved = set_for(score, UKE)
    assert max(sounding(moved.score)[0]) % 12 == 7
    assert any("left out in bar 1" in text for text in moved.changes)


def test_a_tune_too_wide_for_the_instrument_is_refused():
    wide = piece(GUITAR, "0xxxxx", "xxxxx9")
    with pytest.raises(CannotMove, match="does not fit"):
        set_for(wide, UKE)


def test_a_held_note_stays_with_the_note_it_is_held_from():
    held = Event(HALF, HALF, (Note(72, 1, 3, tied=True), Note(60, 3, 0)))
    first = Event(Fraction(0), HALF, (Note(72, 1, 3),))
    score = Score(tuning=UKE, key="C", bars=(Bar(1, Meter(4, 4), (first, held)),))
    moved = set_for(score, BARITONE).score
    (struck,), later = moved.bars[0].events[0].notes, moved.bars[0].events[1].notes
    tied = next(note for note in later if note.tied)
    assert (tied.string, tied.fret, tied.pitch) == (struck.string, struck.fret, struck.pitch)


def test_what_to_keep_must_be_known():
    with pytest.raises(ValueError, match="nothing to keep"):
        set_for(piece(UKE, "0003"), LOW, keep="colour")


def test_picking_and_fingers_of_the_old_instrument_do_not_stay_in_a_new_place():
    score = piece(UKE, "0003")
    event = score.bars[0].events[0]
    fingered = replace(event, notes=tuple(replace(n, finger=3, pick="p") for n in event.notes))
    score = replace(score, bars=(replace(score.bars[0], events=(fingered,)),))
    moved = set_for(score, GUITAR).score
    assert not any(n.finger or n.pick for n in moved.bars[0].events[0].notes)

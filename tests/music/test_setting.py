"""Setting staff music on strings. Places of open position are those of any method book (common practice, no source)."""

from fractions import Fraction

import pytest

from pieces.music.keys import fifths, spell, transpose_key, transpose_symbol
from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.setting import fitting_keys, out_of_range, set_on_strings, transpose
from pieces.music.tuning import TUNINGS

UKULELE, GUITAR, LOW_G = TUNINGS["ukulele high G"], TUNINGS["guitar"], TUNINGS["ukulele low G"]
QUARTER = Fraction(1, 4)


def tune(*pitches, key="C", **more) -> Score:
    """Quarters in 4/4; a tuple of pitches sounds together, None rests."""
    groups = [p if isinstance(p, tuple) else () if p is None else (p,) for p in pitches]
    bars = []
    for at in range(0, len(groups), 4):
        events = tuple(
            Event(i * QUARTER, QUARTER, tuple(Note(p) for p in group))
            for i, group in enumerate(groups[at : at + 4])
        )
        bars.append(Bar(at // 4 + 1, Meter(4, 4), events, **more))
    return Score(key=key, bars=tuple(bars))


def places(score: Score) -> list[tuple[tuple[int, int], ...]]:
    return [tuple((n.string, n.fret) for n in e.notes) for b in score.bars for e in b.events]


def single(score: Score) -> list[tuple[int, int]]:
    return [place[0] for place in places(score)]


def test_the_scale_of_c_lies_in_open_position_on_the_ukulele():
    scale = tune(60, 62, 64, 65, 67, 69, 71, 72)
    assert single(set_on_strings(scale, UKULELE)) == [
        (3, 0), (3, 2), (2, 0), (2, 1), (2, 3), (1, 0), (1, 2), (1, 3),
    ]  # fmt: skip


def test_the_scale_of_c_lies_in_open_position_on_the_guitar():
    scale = tune(48, 50, 52, 53, 55, 57, 59, 60)
    assert single(set_on_strings(scale, GUITAR)) == [
        (5, 3), (4, 0), (4, 2), (4, 3), (3, 0), (3, 2), (2, 0), (2, 1),
    ]  # fmt: skip


def test_a_low_g_string_carries_the_tune_and_a_high_one_does_not():
    assert single(set_on_strings(tune(55, 57), LOW_G)) == [(4, 0), (4, 2)]
    assert single(set_on_strings(tune(67, 69), UKULELE)) == [(2, 3), (1, 0)]


def test_a_high_passage_stays_in_one_position():
    frets = [fret for _, fret in single(set_on_strings(tune(76, 77, 79, 81, 79, 77, 76), UKULELE)) if fret]
    assert max(frets) - min(frets) <= 5


def test_each_note_of_a_chord_has_a_string_of_its_own_within_the_hand():
    for chord in places(set_on_strings(tune((60, 64, 67, 72), (60, 65, 69), (62, 67, 71)), UKULELE)):
        assert len({string for string, _ in chord}) == len(chord)
        stopped = [fret for _, fret in chord if fret]
        assert not stopped or max(stopped) - min(stopped) <= 4
        assert [string for string, _ in chord] == sorted((s for s, _ in chord), reverse=True)


def test_the_chord_of_c_on_the_guitar_is_the_open_one():
    assert places(set_on_strings(tune((48, 52, 55, 60, 64)), GUITAR)) == [
        ((5, 3), (4, 2), (3, 0), (2, 1), (1, 0))
    ]


def test_every_place_sounds_its_pitch():
    score = set_on_strings(tune(*range(60, 84)), UKULELE)
    assert [UKULELE.pitch(*place) for place in single(score)] == list(range(60, 84))
    assert score.is_set and score.tuning == UKULELE


def test_a_held_note_stays_on_its_string():
    held = (
        Event(Fraction(0), QUARTER, (Note(67),)),
        Event(QUARTER, QUARTER, (Note(67, tied=True), Note(60))),
    )
    first, second = places(set_on_strings(Score(bars=(Bar(1, Meter(2, 4), held),)), UKULELE))
    assert first[0] in second


def test_a_string_that_still_rings_is_not_struck():
    ringing = (
        Event(Fraction(0), QUARTER, (Note(60, length=Fraction(1)),)),
        *(Event(i * QUARTER, QUARTER, (Note(p),)) for i, p in enumerate((64, 67, 69), 1)),
    )
    strings = [
        string for string, _ in single(set_on_strings(Score(bars=(Bar(1, Meter(4, 4), ringing),)), UKULELE))
    ]
    assert strings[0] not in strings[1:]


def test_what_the_teacher_wrote_stays():
    written = (Event(Fraction(0), QUARTER, (Note(72, 2, 8),)), Event(QUARTER, QUARTER, (Note(72),)))
    assert single(set_on_strings(Score(bars=(Bar(1, Meter(2, 4), written),)), UKULELE))[0] == (2, 8)
    wrong = (Event(Fraction(0), QUARTER, (Note(72, 2, 3),)),)
    assert single(set_on_strings(Score(bars=(Bar(1, Meter(1, 4), wrong),)), UKULELE)) == [(1, 3)]


def test_nothing_is_transposed_or_left_out_in_silence():
    score = set_on_strings(tune(55, 60), UKULELE)
    assert [n.pitch for e in score.bars[0].events for n in e.notes] == [55, 60]
    assert single(score) == [(None, None), (3, 0)] and not score.is_set


def test_notes_out_of_range_are_named_with_their_bar():
    problems = out_of_range(tune(60, 62, 64, 65, 57, 90, 59, 57), UKULELE)
    assert [(p.bar, p.fatal) for p in problems] == [(2, False), (2, False)]
    assert "A3, B3 lie below the lowest note of this instrument, C4" in str(problems[0])
    assert "above the highest note" in str(problems[1])
    assert out_of_range(tune(60, 62), UKULELE) == []


def test_a_chord_that_no_hand_can_hold_is_named():
    problems = out_of_range(tune((60, 61, 62)), UKULELE)
    assert "cannot be held together" in str(problems[0])
    assert out_of_range(tune((60, 64, 67, 69, 72)), UKULELE)


def test_a_capo_raises_the_lowest_note():
    assert out_of_range(tune(60), UKULELE.with_capo(2))
    assert single(set_on_strings(tune(62), UKULELE.with_capo(2))) == [(3, 0)]


def test_keys_that_fit_come_with_reasons_and_the_easiest_first():
    choices = fitting_keys(tune(55, 57, 59, 60, 62, 64), UKULELE)
    assert all(
        out_of_range(transpose(tune(55, 57, 59, 60, 62, 64), c.semitones), UKULELE) == [] for c in choices
    )
    assert choices[0].key in ("F", "G", "C") and choices[0].semitones > 0
    assert choices[0].text.startswith(
        f"Up {choices[0].semitones} half steps to {choices[0].key}: 6 of 6 notes"
    )


def test_a_piece_that_fits_as_written_says_so_first_in_an_easy_key():
    assert fitting_keys(tune(60, 62, 64, 65, 67, 69), UKULELE)[0].semitones == 0


def test_a_piece_wider_than_the_instrument_fits_in_no_key():
    assert fitting_keys(tune(40, 90), UKULELE) == []


def test_an_octave_is_called_an_octave():
    assert any("Up an octave:" in choice.text for choice in fitting_keys(tune(48, 50), UKULELE))


def test_transposing_moves_notes_key_and_chords_and_frees_the_strings():
    score = set_on_strings(
        tune(60, 64, chords=(ChordMark(Fraction(0), "C"), ChordMark(QUARTER, "Am7/G"))), UKULELE
    )
    moved = transpose(score, 2)
    assert [n.pitch for e in moved.bars[0].events for n in e.notes] == [62, 66]
    assert (moved.key, [mark.symbol for mark in moved.bars[0].chords]) == ("D", ["D", "Bm7/A"])
    assert not moved.is_set


@pytest.mark.parametrize("semitones", range(-11, 12))
def test_transposing_there_and_back_changes_nothing(semitones):
    score = tune(60, 64, 67, key="G", chords=(ChordMark(Fraction(0), "Em7"),))
    assert transpose(transpose(score, semitones), -semitones) == score


def test_the_circle_of_fifths():
    assert [fifths(key) for key in ("C", "G", "D", "F", "Bb", "Am", "Em", "Dm", "C#", "Cb")] == [
        0, 1, 2, -1, -2, 0, 1, -1, 7, -7,
    ]  # fmt: skip


def test_pitches_are_spelled_as_the_key_writes_them():
    assert spell(61, "D")[:2] == ("C", 1) and spell(61, "Ab")[:2] == ("D", -1)
    assert spell(71, "Cm") == ("B", 0, 4) and spell(60, "C#") == ("B", 1, 3)


def test_keys_and_symbols_keep_to_few_signs():
    assert transpose_key("E", 1) == "F" and transpose_key("C", 6) in ("F#", "Gb")
    assert transpose_symbol("C#m7b5", 1, "C") == "Dm7b5" and transpose_symbol("E7", 1, "Bb") == "F7"

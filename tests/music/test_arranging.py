"""A tune at four levels. The tunes are invented; promises are judged from the written notes alone."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pieces.music.arranging import LEVELS, OutOfReach, arrange, arrange_bars, arrange_levels, best_keys
from pieces.music.grips import Grip
from pieces.music.hand_path import is_too_fast
from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.setting import transpose
from pieces.music.stored import score_from, to_data
from pieces.music.tuning import TUNINGS
from tests.outside.fretting import faults

UKE, LOW, GUITAR = TUNINGS["ukulele high G"], TUNINGS["ukulele low G"], TUNINGS["guitar"]
QUARTER = Fraction(1, 4)


def tune(*bars, chords=(), key="C", tempo=None):
    """Bars of even notes in 4/4: rows of MIDI pitches, None for a rest; a chord symbol for each bar."""
    made = []
    for number, pitches in enumerate(bars, 1):
        step = Fraction(1, len(pitches))
        events = tuple(Event(i * step, step, () if p is None else (Note(p),)) for i, p in enumerate(pitches))
        marks = (ChordMark(Fraction(0), chords[number - 1]),) if chords else ()
        made.append(Bar(number, Meter(4, 4), events, marks))
    return Score(bars=tuple(made), key=key, tempo=tempo)


SONG = tune(
    (72, 69, 67, 69),
    (72, 72, 76, 74),
    (71, 67, 69, 71),
    (72, 67, 72, None),
    chords=("F", "C", "G7", "C"),
)


def notes(score):
    return [event.notes for bar in score.bars for event in bar.events]


def counts(arranged):
    return [len(event) for event in notes(arranged.score) if event]


def test_the_levels_are_four_and_each_has_its_name():
    done = arrange_levels(SONG, None, UKE)
    assert [arrangement.name for arrangement in done] == list(LEVELS.values())
    assert [arrangement.level for arrangement in done] == [1, 2, 3, 4]


def test_level_one_is_the_melody_alone():
    done = arrange(SONG, None, UKE, 1)
    assert set(counts(done)) == {1}
    assert [e[0].pitch for e in notes(done.score) if e] == [e[0].pitch for e in notes(SONG) if e]


def test_level_two_puts_one_thumb_note_on_the_strong_beats():
    done = arrange(SONG, None, UKE, 2)
    assert set(counts(done)) == {1, 2}
    for bar in done.score.bars:
        for event in bar.events:
            if len(event.notes) == 2:
                assert event.onset in (0, Fraction(1, 2))
                assert min(event.notes, key=lambda note: note.pitch).pick == "p"


def test_level_three_puts_partial_chords_on_the_strong_beats_only():
    done = arrange(SONG, None, UKE, 3)
    for bar in done.score.bars:
        for event in bar.events:
            assert len(event.notes) <= 3
            if event.onset not in (0, Fraction(1, 2)):
                assert len(event.notes) <= 1


def test_level_four_is_fuller_than_level_three():
    three, four = arrange(SONG, None, UKE, 3), arrange(SONG, None, UKE, 4)
    assert sum(counts(four)) > sum(counts(three))
    assert max(counts(four)) == 4


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("tuning", (UKE, LOW, GUITAR, TUNINGS["baritone ukulele"]), ids=lambda t: t.name)
def test_no_level_breaks_a_promise(level, tuning):
    done = arrange(SONG, None, tuning, level)
    moved = notes(done.score)[0][-1].pitch - 72
    assert list(faults(done.score, transpose(SONG, moved - moved % 12))) == []


@given(
    st.lists(
        st.lists(st.one_of(st.integers(60, 79), st.none()), min_size=1, max_size=6), min_size=1, max_size=4
    ),
    st.data(),
)
@settings(max_examples=25, deadline=None)
def test_no_tune_breaks_a_promise(bars, data):
    symbols = st.sampled_from(("C", "Am", "F", "G7", "Ebmaj7", "Bdim", "N.C.", "D/F#"))
    chords = [data.draw(symbols) for _ in bars]
    score = tune(*bars, chords=chords, tempo=data.draw(st.sampled_from((40, 90, 180))))
    for level in LEVELS:
        assert list(faults(arrange(score, None, UKE, level).score, score)) == []


def test_bar_by_bar_each_bar_has_the_level_chosen_for_it():
    done = arrange_bars(SONG, None, UKE, {1: 1, 2: 4, 3: 2, 4: 3})
    one, two, three, four = ([len(e.notes) for e in bar.events] for bar in done.score.bars)
    assert set(one) == {1} and max(two) > 2
    assert set(three) == {1, 2} and max(four) == 3
    assert (done.level, done.name) == (0, "levels chosen bar by bar")
    assert all(note.pick == "p" for e in done.score.bars[2].events for note in e.notes[:-1])


@pytest.mark.parametrize("level", LEVELS)
def test_one_level_for_every_bar_is_that_level(level):
    assert arrange_bars(SONG, None, UKE, dict.fromkeys(range(1, 5), level)) == arrange(SONG, None, UKE, level)


def test_a_bar_without_a_level_and_a_level_that_is_none_are_refused():
    with pytest.raises(KeyError):
        arrange_bars(SONG, None, UKE, {1: 1})
    with pytest.raises(ValueError, match="no level 9"):
        arrange_bars(SONG, None, UKE, {1: 1, 2: 9, 3: 1, 4: 1})


@given(
    st.lists(st.lists(st.integers(60, 79), min_size=1, max_size=4), min_size=2, max_size=5),
    st.data(),
)
@settings(max_examples=25, deadline=None)
def test_no_mixture_of_levels_breaks_a_promise(bars, data):
    chords = [data.draw(st.sampled_from(("C", "Am", "F", "G7"))) for _ in bars]
    score = tune(*bars, chords=chords)
    levels = {number: data.draw(st.sampled_from(list(LEVELS))) for number in range(1, len(bars) + 1)}
    assert list(faults(arrange_bars(score, None, UKE, levels).score, score)) == []


def test_a_chord_stops_where_the_melody_then_stands_alone():
    song = tune((76, 77), (76, 77), chords=("C", "C"))
    for event in arrange_bars(song, None, UKE, {1: 3, 2: 1}).score.bars[0].events:
        assert all(event.onset + (note.length or event.duration) <= 1 for note in event.notes)


def test_what_is_struck_rings_on_under_passing_notes():
    passing = tune((76, 77, 76, 74), chords=("C",))
    done = arrange(passing, None, UKE, 3)
    beneath = [note for note in notes(done.score)[0] if note.pitch < 76]
    assert beneath and all(note.length == Fraction(1, 2) for note in beneath)


def test_a_chord_change_under_a_held_note_is_struck_and_the_note_tied():
    bar = replace(tune((72,)).bars[0], chords=(ChordMark(Fraction(0), "C"), ChordMark(Fraction(1, 2), "F")))
    done = arrange(Score(bars=(bar,), key="C"), None, UKE, 3)
    first, second = done.score.bars[0].events
    assert first.duration == second.duration == Fraction(1, 2)
    held = [note for note in second.notes if note.tied]
    assert [note.pitch for note in held] == [72]
    assert all((note.pitch % 12) in (5, 9, 0) for note in second.notes)


def test_the_melody_alone_keeps_its_long_notes_whole():
    done = arrange(tune((72,), chords=("C",)), None, UKE, 1)
    assert [event.duration for event in done.score.bars[0].events] == [1]


def test_chords_are_proposed_where_there_are_none_and_marked_so():
    bare = replace(SONG, bars=tuple(replace(bar, chords=()) for bar in SONG.bars))
    done = arrange(bare, None, UKE, 3)
    assert done.proposed and any("proposal" in text for text in done.remarks)
    assert all(bar.chords for bar in done.score.bars)
    assert not arrange(SONG, None, UKE, 3).proposed


def test_symbols_given_by_bar_stand_over_the_written_ones():
    given_marks = {1: (ChordMark(Fraction(0), "Dm"),)}
    done = arrange(SONG, given_marks, UKE, 3)
    assert done.score.bars[0].chords == given_marks[1] and done.score.bars[1].chords == ()
    assert all(note.pitch % 12 in (2, 5, 9, 0) for note in done.score.bars[0].events[0].notes)


def test_under_an_unread_symbol_the_tune_stands_alone_and_it_is_said():
    done = arrange(tune((72, 72), chords=("N.C.",)), None, UKE, 4)
    assert set(counts(done)) == {1}
    assert "Under N.C. the tune stands alone, as it names no chord." in done.remarks


def test_the_tune_moves_by_an_octave_only_where_it_must():
    low = transpose(SONG, -12)
    done = arrange(low, None, UKE, 1)
    assert "Moved up an octave to fit the strings." in done.remarks
    assert notes(done.score)[0][0].pitch == 72
    assert arrange(SONG, None, UKE, 1).remarks == ()


def test_a_tune_too_wide_for_the_instrument_names_its_bars():
    with pytest.raises(OutOfReach, match="see bar 2"):
        arrange(tune((72,), (40,), (80,)), None, UKE, 1)


def test_strong_beats_that_stay_bare_are_counted_and_named():
    done = arrange(tune((60, 60), chords=("C",)), None, UKE, 3)
    assert (done.strong, done.carried) == (2, 0)
    assert any("Fewer than two chord tones" in text and "bar 1" in text for text in done.remarks)


def test_both_hands_are_written():
    done = arrange(SONG, None, UKE, 4)
    for bar in done.score.bars:
        for event in bar.events:
            for note in event.notes:
                assert note.tied or note.pick
                assert bool(note.finger) == bool(note.fret)


def test_a_change_needs_time_and_standing_still_needs_none():
    low, high = Grip((0, 0, 0, 3), (0, 0, 0, 3), 3, 0), Grip((7, 7, 7, 10), (1, 1, 1, 4), 3, 0)
    assert is_too_fast(low, high, 0.1) and not is_too_fast(low, high, 1.0)
    assert not is_too_fast(low, low, 0.0)


def test_a_left_hand_that_is_hurried_at_the_tempo_is_named_by_its_bar():
    leaps = tune((61, 81) * 8)
    said = [arrange(replace(leaps, tempo=tempo), None, UKE, 1).remarks for tempo in (40, 208)]
    assert said == [(), ("At this tempo the left hand is hurried in bar 1.",)]


def test_a_tie_that_leads_to_another_pitch_is_struck():
    first = Event(Fraction(0), Fraction(1, 2), (Note(72),))
    second = Event(Fraction(1, 2), Fraction(1, 2), (Note(74, tied=True),))
    bar = Bar(1, Meter(4, 4), (first, second), (ChordMark(Fraction(0), "C"),))
    done = arrange(Score(bars=(bar,), key="C"), None, UKE, 3)
    assert not any(note.tied for note in done.score.bars[0].events[1].notes)


def test_tuplets_stay_whole():
    third = Fraction(1, 6)
    events = tuple(Event(i * third, third, (Note(p),), tuplet=(3, 2)) for i, p in enumerate((72, 74, 76)))
    rest = Event(Fraction(1, 2), Fraction(1, 2), (Note(72),))
    bar = Bar(1, Meter(4, 4), (*events, rest), (ChordMark(Fraction(0), "C"), ChordMark(QUARTER, "F")))
    done = arrange(Score(bars=(bar,), key="C"), None, UKE, 4)
    assert [event.duration for event in done.score.bars[0].events][:3] == [third] * 3


def test_an_arrangement_is_stored_and_read_back_unchanged():
    done = arrange(SONG, None, UKE, 4).score
    assert score_from(to_data(done)) == done


def test_a_piece_of_rests_and_one_of_nothing_are_arranged_as_they_are():
    assert arrange(Score(bars=()), None, UKE, 4).score.bars == ()
    silent = arrange(tune((None, None)), None, UKE, 4)
    assert all(event.is_rest for event in silent.score.bars[0].events)


def test_an_unknown_level_is_refused():
    with pytest.raises(ValueError, match="no level 5"):
        arrange(SONG, None, UKE, 5)


def test_the_twelve_keys_are_ranked_best_first_with_reasons():
    ranks = best_keys(SONG, None, UKE)
    assert len({rank.semitones % 12 for rank in ranks}) == 12
    assert [rank.cost for rank in ranks] == sorted(rank.cost for rank in ranks)
    assert all(rank.text.endswith(".") for rank in ranks)
    assert "strong beats can carry two chord tones" in ranks[0].text


def test_the_best_key_can_be_arranged_and_carries_what_it_promises():
    best = best_keys(SONG, None, UKE)[0]
    done = arrange(transpose(SONG, best.semitones), None, UKE, 3)
    assert best.fits and done.strong == best.strong
    assert done.carried <= best.carried


def test_keys_in_which_a_note_is_out_of_reach_come_last():
    wide = tune((60, 64, 67, 72), (76, 79, 81, 72), chords=("C", "Am"))
    fits = [rank.fits for rank in best_keys(wide, None, UKE)]
    assert fits == sorted(fits, reverse=True) and not all(fits)


def test_a_guitar_song_in_open_keys_is_ranked_before_keys_of_many_flats():
    ranks = [rank.key for rank in best_keys(transpose(SONG, -12), None, GUITAR)]
    assert ranks.index("G") < ranks.index("Db") and ranks.index("C") < ranks.index("F#")

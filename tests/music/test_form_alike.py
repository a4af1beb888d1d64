"""Identical bars, and nearly identical ones in words. The expected words are ours."""

from dataclasses import replace
from fractions import Fraction

from pieces.music.form import bar_classes, near_repeats, rhythm_classes, shape_classes
from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.tuning import TUNINGS

UKULELE = TUNINGS["ukulele high G"]


def bar(number, notes, meter="4/4", chords=(), **more):
    """A bar from ``"string-fret:duration"``, ``"-:duration"`` a rest, ``~`` before it a tie."""
    onset, events = Fraction(0), []
    for word in notes.split():
        place, _, duration = word.partition(":")
        tied, place = place.startswith("~"), place.removeprefix("~")
        string, _, fret = place.partition("-")
        duration = Fraction(duration)
        note = Note.at(UKULELE, int(string), int(fret), tied=tied) if string else None
        events.append(Event(onset, duration, (note,) if note else ()))
        onset += duration
    marks = tuple(ChordMark(Fraction(at), symbol) for at, symbol in chords)
    return Bar(number, Meter.parse(meter), tuple(events), marks, **more)


def piece(*bars):
    return Score(bars=bars)


FOUR = "1-0:1/4 1-2:1/4 1-3:1/4 1-5:1/4"


def nearness(second, first=FOUR, meter="4/4"):
    return [near.text for near in near_repeats(piece(bar(1, first, meter), bar(2, second, meter)))]


def with_event(bar, index, **more):
    events = list(bar.events)
    events[index] = replace(events[index], **more)
    return replace(bar, events=tuple(events))


def test_a_bar_points_to_the_first_bar_like_it():
    score = piece(bar(1, FOUR), bar(2, "1-0:1"), bar(3, FOUR), bar(4, "1-0:1"), bar(5, FOUR))
    assert bar_classes(score) == {1: 1, 2: 2, 3: 1, 4: 2, 5: 1}


def test_the_same_pitch_on_another_string_is_another_bar():
    assert bar_classes(piece(bar(1, "1-0:1"), bar(2, "2-5:1"))) == {1: 1, 2: 2}


def test_staff_music_is_told_apart_by_pitch():
    def staff(number, pitch):
        return Bar(number, Meter(4, 4), (Event(Fraction(0), Fraction(1), (Note(pitch),)),))

    assert bar_classes(piece(staff(1, 60), staff(2, 62), staff(3, 60))) == {1: 1, 2: 2, 3: 1}


def test_a_tie_within_the_bar_is_played_as_one_longer_note():
    assert bar_classes(piece(bar(1, "1-0:1/2 -:1/2"), bar(2, "1-0:1/4 ~1-0:1/4 -:1/2"))) == {1: 1, 2: 1}


def test_a_rest_written_in_two_pieces_is_the_same_rest():
    assert bar_classes(piece(bar(1, "1-0:1/2 -:1/2"), bar(2, "1-0:1/2 -:1/4 -:1/4"))) == {1: 1, 2: 1}


def test_a_note_held_over_from_the_bar_before_is_another_bar():
    assert bar_classes(piece(bar(1, "1-0:1"), bar(2, "~1-0:1"))) == {1: 1, 2: 2}


def test_what_is_written_beside_the_notes_makes_no_new_bar():
    plain = bar(1, FOUR)
    dressed = bar(2, FOUR, chords=[("0", "C")], letter="B", repeats=2, remark="slowly")
    note = replace(dressed.events[0].notes[0], finger=1, pick="i")
    dressed = with_event(dressed, 0, notes=(note,), lyric="la")
    assert bar_classes(piece(plain, dressed)) == {1: 1, 2: 1}


def test_a_stroke_an_accent_a_mute_or_a_hammer_is_played_and_counts():
    plain = bar(1, FOUR)
    note = plain.events[0].notes[0]
    others = [
        with_event(plain, 0, stroke="up"),
        with_event(plain, 0, accent=True),
        with_event(plain, 0, grace=(Note.at(UKULELE, 1, 2),)),
        with_event(plain, 0, notes=(replace(note, join="hammer"),)),
        with_event(plain, 0, notes=(replace(note, harmonic=True),)),
        with_event(plain, 0, notes=(replace(note, muted=True, pitch=None),)),
    ]
    bars = [plain] + [replace(other, number=i) for i, other in enumerate(others, 2)]
    assert len(set(bar_classes(piece(*bars)).values())) == len(bars)


def test_where_only_a_chord_symbol_stands_the_symbol_is_what_is_played():
    bars = [bar(n, "-:1", chords=[("0", symbol)]) for n, symbol in ((1, "C"), (2, "F"), (3, "C"))]
    assert bar_classes(piece(*bars)) == {1: 1, 2: 2, 3: 1}


def test_rhythm_alone_forgets_strings_and_frets():
    score = piece(bar(1, FOUR), bar(2, "2-0:1/4 2-1:1/4 2-3:1/4 2-0:1/4"), bar(3, "1-0:1/2 1-0:1/2"))
    assert rhythm_classes(score) == {1: 1, 2: 1, 3: 3}


def test_rhythm_tells_a_rest_from_a_held_note():
    assert rhythm_classes(piece(bar(1, "1-0:1/2 -:1/2"), bar(2, "1-0:1"))) == {1: 1, 2: 2}


def test_shape_alone_goes_by_the_chord_in_force_where_chords_are_written():
    score = piece(
        bar(1, FOUR, chords=[("0", "C")]),
        bar(2, "1-0:1"),
        bar(3, FOUR, chords=[("0", "F"), ("1/2", "C")]),
        bar(4, "1-3:1"),
    )
    assert shape_classes(score) == {1: 1, 2: 1, 3: 3, 4: 1}


def test_shape_alone_goes_by_the_frets_where_no_chord_is_written():
    score = piece(bar(1, "1-0:1/2 2-1:1/2"), bar(2, "2-1:1/4 1-0:3/4"), bar(3, "1-3:1"))
    assert shape_classes(score) == {1: 1, 2: 1, 3: 3}


def test_a_change_of_one_note_names_beat_string_and_fret():
    assert nearness("1-0:1/4 1-2:1/4 1-3:1/4 1-7:1/4") == [
        "as bar 1 but the last beat: string 1 fret 7, not fret 5"
    ]
    assert nearness("1-0:1/4 2-0:1/4 1-3:1/4 1-5:1/4") == [
        "as bar 1 but beat 2: string 2 open, not string 1 fret 2"
    ]


def test_a_changed_beat_or_half_is_named():
    assert nearness("1-0:1/4 1-2:1/4 1-3:1/4 1-7:1/8 1-5:1/8") == ["as bar 1 but the last beat"]
    assert nearness("1-0:1/4 1-2:1/4 1-5:1/4 1-3:1/4") == ["as bar 1 but the second half"]
    assert nearness("1-2:1/4 1-2:1/4 1-5:1/4 1-5:1/4") == ["as bar 1 but beats 1 and 3"]


def test_a_note_more_or_less_is_said_so():
    assert nearness("1-0:1/4 1-2:1/4 1-3:1/4 -:1/4") == ["as bar 1 without the note on the last beat"]
    assert nearness(FOUR, "-:1/4 1-2:1/4 1-3:1/4 1-5:1/4") == [
        "as bar 1 with one note more on the first beat"
    ]


def test_a_note_held_longer_or_tied_over_is_said_so():
    assert nearness(FOUR, "1-0:1/4 1-2:1/4 1-3:1/4 1-5:1/8 -:1/8") == [
        "as bar 1 but the note is longer on the last beat"
    ]
    assert nearness("~" + FOUR) == [
        "as bar 1 but the note is held over from the bar before on the first beat"
    ]


def test_a_bar_moved_along_the_frets_is_said_so():
    assert nearness("1-2:1/4 1-4:1/4 1-5:1/4 1-7:1/4") == ["as bar 1 two frets higher"]


def test_the_same_notes_in_another_rhythm_are_said_so():
    assert nearness("1-0:3/8 1-2:1/8 1-3:3/8 1-5:1/8") == ["the notes of bar 1 in another rhythm"]


def test_beats_of_six_eight_are_its_two_felt_beats():
    jig = "1-0:1/8 1-2:1/8 1-3:1/8 1-5:1/8 1-3:1/8 1-2:1/8"
    assert nearness("1-0:1/8 1-2:1/8 1-3:1/8 1-7:1/8 1-5:1/8 1-2:1/8", jig, "6/8") == [
        "as bar 1 but the last beat"
    ]


def test_unlike_bars_identical_bars_and_other_meters_are_not_near():
    assert nearness("2-0:1/4 2-1:1/4 2-3:1/4 2-1:1/4") == []
    assert nearness(FOUR) == []
    assert near_repeats(piece(bar(1, FOUR), bar(2, "1-0:1/4 1-2:1/4 1-3:1/4", "3/4"))) == []


def test_the_nearest_earlier_bar_is_named():
    score = piece(
        bar(1, FOUR),
        bar(2, "1-0:1/4 1-2:1/4 1-7:1/4 1-8:1/4"),
        bar(3, "1-0:1/4 1-2:1/4 1-7:1/4 1-5:1/4"),
        bar(4, "1-0:1/4 1-2:1/4 1-7:1/4 1-9:1/4"),
    )
    assert [(near.bar, near.like) for near in near_repeats(score)] == [(2, 1), (3, 1), (4, 2)]

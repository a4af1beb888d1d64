"""Shapes: the search against brute force, the beginner's table, and the promises each function makes."""

from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pieces.music.chords import UnknownChord, chord_tones, parse_chord
from pieces.music.fingering import hands, presses_of
from pieces.music.shape_costs import TABLE, weights
from pieces.music.shapes import (
    Shape,
    easier_neighbours,
    find_shapes,
    other_fingers,
    reduce_shape,
    shape_of,
)
from pieces.music.tuning import TUNINGS, Tuning

UKULELE = TUNINGS["ukulele high G"]
GUITAR = TUNINGS["guitar"]
SOME_CHORDS = ("C", "F#m", "Bb7", "Ebmaj7", "Am7", "G7", "Dsus4", "Bdim7", "A9", "E6", "C/G")
TUNINGS_TO_TRY = sorted(TUNINGS)

# The shapes of any method book (common practice, no source).
BEGINNERS_UKULELE = {
    "C": "0003",
    "Am": "2000",
    "F": "2010",
    "G": "0232",
    "G7": "0212",
    "C7": "0001",
    "A": "2100",
    "A7": "0100",
    "Dm": "2210",
    "Em": "0432",
    "D": "2220",
    "E7": "1202",
}
BEGINNERS_GUITAR = {
    "C": "x32010",
    "A": "x02220",
    "G": "320003",
    "E": "022100",
    "D": "xx0232",
    "Am": "x02210",
    "Em": "022000",
    "Dm": "xx0231",
    "A7": "x02020",
    "E7": "020100",
    "D7": "xx0212",
    "C7": "x32310",
}
# Their fingers, where all books agree (common practice, no source).
BEGINNERS_FINGERS = {
    ("C", "0003"): (0, 0, 0, 3),
    ("Am", "2000"): (2, 0, 0, 0),
    ("F", "2010"): (2, 0, 1, 0),
    ("G", "0232"): (0, 1, 3, 2),
    ("G7", "0212"): (0, 2, 1, 3),
    ("C7", "0001"): (0, 0, 0, 1),
    ("A", "2100"): (2, 1, 0, 0),
    ("Dm", "2210"): (2, 3, 1, 0),
    ("Em", "0432"): (0, 3, 2, 1),
    ("C", "x32010"): (None, 3, 2, 0, 1, 0),
    ("Am", "x02210"): (None, 0, 2, 3, 1, 0),
    ("E", "022100"): (0, 2, 3, 1, 0, 0),
    ("D", "xx0232"): (None, None, 0, 1, 3, 2),
    ("F", "133211"): (1, 3, 4, 2, 1, 1),
}


def frets_of(written: str) -> tuple[int | None, ...]:
    return tuple(None if mark == "x" else int(mark) for mark in written)


def pitches_of(shape: Shape, tuning: Tuning) -> list[int]:
    return [
        tuning.pitch(string, fret)
        for string, fret in zip(tuning.strings, shape.frets, strict=True)
        if fret is not None
    ]


@pytest.mark.parametrize(("symbol", "written"), BEGINNERS_UKULELE.items())
def test_the_shape_of_every_method_book_is_first_on_the_ukulele(symbol, written):
    assert find_shapes(symbol, UKULELE, limit=1)[0].written == written


@pytest.mark.parametrize(("symbol", "written"), BEGINNERS_GUITAR.items())
def test_the_shape_of_every_method_book_is_first_on_the_guitar(symbol, written):
    assert find_shapes(symbol, GUITAR, limit=1)[0].written == written


@pytest.mark.parametrize(("symbol", "written"), BEGINNERS_FINGERS)
def test_the_fingers_are_those_of_every_method_book(symbol, written):
    tuning = UKULELE if len(written) == 4 else GUITAR
    assert shape_of(symbol, frets_of(written), tuning).fingers == BEGINNERS_FINGERS[symbol, written]


def _brute_force(symbol: str, tuning: Tuning, max_fret: int) -> set[tuple[int | None, ...]]:
    """Every playable pattern on four strings that all sound, found without any pruning."""
    chord = parse_chord(symbol)
    found = set()
    for frets in product(range(max_fret + 1), repeat=4):
        sounding = {tuning.pitch(s, f) % 12 for s, f in zip(tuning.strings, frets, strict=True)}
        stopped = [fret for fret in frets if fret]
        if not sounding <= set(chord.sounding) or not chord.required <= sounding:
            continue
        if not stopped or max(stopped) - min(stopped) < 4:
            found.add(frets)
    return {frets for frets in found if hands(frets)}


@pytest.mark.parametrize("symbol", ["C", "F#m", "Bb7", "Ebmaj7", "Bdim7", "A9", "E5"])
def test_the_search_finds_just_what_trying_every_fret_finds(symbol):
    found = find_shapes(symbol, UKULELE, max_fret=7)
    assert {shape.frets for shape in found} == _brute_force(symbol, UKULELE, 7)
    assert len(found) == len({shape.frets for shape in found})


@pytest.mark.parametrize("name", TUNINGS_TO_TRY)
@pytest.mark.parametrize("symbol", SOME_CHORDS)
def test_a_shape_sounds_its_chord_and_nothing_else_on_every_tuning(symbol, name):
    tuning = TUNINGS[name]
    for shape in find_shapes(symbol, tuning, limit=30):
        sounding = {pitch % 12 for pitch in pitches_of(shape, tuning)}
        assert sounding <= set(chord_tones(symbol))
        assert parse_chord(symbol).required <= sounding


@pytest.mark.parametrize("name", TUNINGS_TO_TRY)
def test_every_usual_tuning_has_a_shape_for_a_plain_chord(name):
    assert find_shapes("G", TUNINGS[name], limit=1)


@pytest.mark.parametrize("symbol", SOME_CHORDS)
def test_all_four_strings_sound_on_a_ukulele_and_at_least_four_on_a_guitar(symbol):
    assert all(None not in shape.frets for shape in find_shapes(symbol, UKULELE))
    for shape in find_shapes(symbol, GUITAR, limit=40):
        assert len(pitches_of(shape, GUITAR)) >= 4


@pytest.mark.parametrize("tuning", [UKULELE, GUITAR], ids=lambda tuning: tuning.name)
@pytest.mark.parametrize("symbol", SOME_CHORDS)
def test_the_easiest_few_are_the_head_of_the_whole_list(symbol, tuning):
    assert find_shapes(symbol, tuning, limit=8) == find_shapes(symbol, tuning)[:8]


def test_shapes_come_easiest_first():
    costs = [shape.cost for shape in find_shapes("Bbm7", GUITAR, limit=60)]
    assert costs == sorted(costs)


def test_the_hand_covers_no_more_frets_than_asked():
    for shape in find_shapes("C", UKULELE, max_span=3, max_fret=9):
        stopped = [fret for fret in shape.frets if fret]
        assert not stopped or max(stopped) - min(stopped) < 3
        assert all(fret <= 9 for fret in stopped)


@pytest.mark.parametrize("symbol", ["C", "Am", "G7"])
@pytest.mark.parametrize("melody", [67, 69, 71, 72, 74, 76])
def test_the_melody_is_the_highest_note(symbol, melody):
    shapes = find_shapes(symbol, UKULELE, melody=melody)
    assert shapes
    for shape in shapes:
        pitches = pitches_of(shape, UKULELE)
        assert max(pitches) == melody
        assert {p % 12 for p in pitches if p != melody} <= set(chord_tones(symbol))


def test_a_melody_note_foreign_to_the_chord_may_stand_above_it():
    shape = find_shapes("C", UKULELE, melody=74, limit=1)[0]
    assert max(pitches_of(shape, UKULELE)) == 74
    assert any("D is not in C" in reason for reason in shape.reasons)


@pytest.mark.parametrize("strings", [(1,), (4, 3), (3, 2, 1), (4, 1)])
def test_just_the_strings_asked_for_sound(strings):
    shapes = find_shapes("F", UKULELE, strings=strings)
    assert shapes
    for shape in shapes:
        sounding = {4 - place for place, fret in enumerate(shape.frets) if fret is not None}
        assert sounding == set(strings)


def test_two_strings_do_not_double_a_tone_while_an_indispensable_one_is_missing():
    for shape in find_shapes("C", UKULELE, strings=(2, 1)):
        assert len({pitch % 12 for pitch in pitches_of(shape, UKULELE)}) == 2


def test_a_string_the_instrument_lacks_is_refused():
    with pytest.raises(ValueError, match="no string 5"):
        find_shapes("C", UKULELE, strings=(5,))


def test_a_symbol_that_names_no_chord_is_refused():
    with pytest.raises(UnknownChord):
        find_shapes("Hm", UKULELE)


@pytest.mark.parametrize("symbol", ["C/G", "C/E", "Am/G", "D/F#"])
def test_a_slash_bass_is_the_lowest_note_where_strings_rise(symbol):
    for shape in find_shapes(symbol, GUITAR, limit=20):
        assert min(pitches_of(shape, GUITAR)) % 12 == parse_chord(symbol).bass


def test_a_capo_raises_the_shape_and_not_the_frets():
    with_capo = find_shapes("D", UKULELE.with_capo(2), limit=1)[0]
    assert with_capo.written == "0003"


def test_the_short_fifth_string_of_a_banjo_is_open_or_silent():
    for shape in find_shapes("C", TUNINGS["five-string banjo"], limit=50):
        assert shape.frets[0] in (0, None)


patterns = st.lists(st.one_of(st.none(), st.integers(0, 9)), min_size=4, max_size=6).map(tuple)


@settings(max_examples=150, deadline=None)
@given(patterns)
def test_no_hand_breaks_the_rules_of_the_hand(frets):
    for hand in hands(frets):
        presses = presses_of(frets, hand.fingers)
        assert [press.finger for press in presses] == sorted({press.finger for press in presses})
        for low, high in pairwise(presses):
            assert low.fret <= high.fret
            assert low.fret < high.fret or low.places[-1] < high.places[0]
        for press in presses:
            under = frets[press.places[0] : press.places[-1] + 1]
            assert all(fret is None or fret >= press.fret for fret in under)
        for fret, finger in zip(frets, hand.fingers, strict=True):
            assert finger is None if fret is None else (finger == 0) == (fret == 0)


@settings(max_examples=150, deadline=None)
@given(patterns)
def test_a_hand_never_costs_less_than_nothing(frets):
    assert all(hand.cost >= 0 for hand in hands(frets))


@settings(max_examples=100, deadline=None)
@given(st.sampled_from(SOME_CHORDS), st.sets(st.integers(1, 4)), st.integers(0, 20))
def test_a_reduced_shape_is_never_harder_and_keeps_the_fingers_that_stay(symbol, strings, pick):
    shapes = find_shapes(symbol, UKULELE)
    whole = shapes[pick % len(shapes)]
    reduced = reduce_shape(whole, strings)
    assert reduced.cost <= whole.cost
    for place in range(4):
        kept = 4 - place in strings
        assert reduced.frets[place] == (whole.frets[place] if kept else None)
        assert reduced.fingers[place] == (whole.fingers[place] if kept else None)


def test_a_three_finger_shape_without_string_1_needs_no_finger_there():
    # common practice, no source
    reduced = reduce_shape(shape_of("G", (0, 2, 3, 2), UKULELE), (4, 3, 2))
    assert reduced.fingers == (0, 1, 3, None)
    assert reduced.reasons[0] == "The middle is not needed for these strings."


def test_a_shape_of_given_frets_may_sound_anything_and_says_what_is_foreign():
    shape = shape_of("C", (0, 0, 0, 2), UKULELE)
    assert "B is not in C." in shape.reasons


def test_a_shape_may_carry_a_name_that_is_no_chord():
    assert shape_of("the long stretch", (0, 0, 0, 3), UKULELE).fingers == (0, 0, 0, 3)


@pytest.mark.parametrize("frets", [(1, 9, 1, 9), (1, 2, 3, 4, 5, 6), (7, 1, 0, 1)])
def test_frets_that_no_hand_can_hold_are_refused(frets):
    tuning = UKULELE if len(frets) == 4 else GUITAR
    with pytest.raises(ValueError, match="No hand"):
        shape_of("", frets, tuning)


def test_as_many_frets_as_strings_are_asked_for():
    with pytest.raises(ValueError, match="4 strings"):
        shape_of("C", (0, 0, 3), UKULELE)


def test_other_fingers_stand_on_the_same_frets_and_say_what_they_change():
    c = shape_of("C", (0, 0, 0, 3), UKULELE)
    others = other_fingers(c)
    assert {other.fingers for other in others} == {(0, 0, 0, 1), (0, 0, 0, 2), (0, 0, 0, 4)}
    assert all(other.frets == c.frets and other.cost >= c.cost for other in others)
    by_finger = {other.fingers[3]: other.reasons[0] for other in others}
    assert by_finger[1] == "Index instead of ring on string 1."


@pytest.mark.parametrize("tuning", [UKULELE, GUITAR], ids=lambda tuning: tuning.name)
@pytest.mark.parametrize("symbol", ["F", "Bb", "Bm", "E", "Fm", "B7", "Ebmaj7"])
def test_an_easier_neighbour_is_easier_and_asks_no_more_fingers(symbol, tuning):
    usual = find_shapes(symbol, tuning, limit=1)[0]
    for neighbour in easier_neighbours(symbol, tuning):
        assert neighbour.shape.cost < usual.cost
        assert len({f for f in neighbour.shape.fingers if f}) <= len({f for f in usual.fingers if f})
        assert symbol in neighbour.text


def test_a_barred_chord_has_an_easier_neighbour_to_offer():
    assert easier_neighbours("Bb", UKULELE)
    assert easier_neighbours("F", GUITAR)


def test_an_open_chord_has_no_easier_neighbour():
    assert easier_neighbours("Am7", UKULELE) == []


def test_reasons_are_sentences():
    for symbol in SOME_CHORDS:
        for tuning in (UKULELE, GUITAR):
            for shape in find_shapes(symbol, tuning, limit=10):
                assert shape.reasons
                assert all(r[0].isupper() or r[1] in " b#" for r in shape.reasons)
                assert all(reason.endswith(".") for reason in shape.reasons)


def test_a_barre_and_what_is_left_out_are_said():
    b_flat = shape_of("Bb", (3, 2, 1, 1), UKULELE)
    assert "The index lies flat from string 2 to string 1 at fret 1." in b_flat.reasons
    ninth = shape_of("C9", (0, 2, 0, 1), UKULELE)
    assert "It leaves out the root, C." in ninth.reasons


def test_frets_above_nine_are_written_apart():
    assert Shape("A#", (10, 12, 12, 11, 10, None), (1,) * 6, 0).written == "10-12-12-11-10-x"


def test_the_barres_of_a_shape_are_told_with_their_strings():
    f = shape_of("F", (1, 3, 3, 2, 1, 1), GUITAR)
    assert f.barres == [(1, 1, 6, 1)]


def test_an_open_hand_is_the_easiest_of_all():
    assert hands((0, 0, 0, 0))[0].cost == 0
    assert find_shapes("C6", UKULELE, limit=1)[0].written == "0000"


def test_taking_a_finger_off_never_makes_a_hand_dearer():
    for written in ("0003", "2010", "0232", "2220", "3211"):
        frets = frets_of(written)
        for place in range(4):
            fewer = tuple(0 if i == place else fret for i, fret in enumerate(frets))
            if _keeps_barres(frets, fewer):
                assert hands(fewer)[0].cost <= hands(frets)[0].cost


def _keeps_barres(frets, fewer) -> bool:
    """Lifting a string out of a barre may ask for another hand altogether."""
    return len({f for f in hands(frets)[0].fingers if f}) == len([f for f in frets if f])


def test_every_weight_has_a_name_of_its_own_and_a_reason():
    assert len({weight.name for weight in TABLE}) == len(TABLE)
    assert all(len(weight.why) > 10 for weight in TABLE)


def test_only_fingers_that_support_each_other_may_lighten_a_shape():
    assert {w.name for w in TABLE if min(w.narrow, w.wide) < 0} <= {"two fingers on one fret"}


def test_a_third_left_out_costs_more_than_a_fifth():
    for strings in (4, 6):
        assert weights(strings)["third left out"] > weights(strings)["fifth left out"]


def test_a_shape_of_silent_strings_asks_for_no_finger():
    shape = reduce_shape(shape_of("C", (0, 0, 0, 3), UKULELE), ())
    assert shape.frets == shape.fingers == (None,) * 4
    assert shape_of("C", shape.frets, UKULELE).cost == 0

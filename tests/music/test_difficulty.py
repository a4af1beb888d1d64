"""How hard a bar is: what must hold for every rating, and what the reasons say."""

from dataclasses import replace
from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pieces.music.difficulty import Evidence, Rating, correct_rating, rate_bar
from pieces.music.score import Bar, ChordMark, Event, Meter, Note
from pieces.music.shapes import Shape
from pieces.music.tuning import TUNINGS

UKE = TUNINGS["ukulele high G"]
# Textbook ukulele shapes (common practice, no source).
SHAPES = {
    "C": Shape("C", (0, 0, 0, 3), (0, 0, 0, 3), 0.0),
    "Am": Shape("Am", (2, 0, 0, 0), (2, 0, 0, 0), 0.0),
    "F": Shape("F", (2, 0, 1, 0), (2, 0, 1, 0), 0.0),
    "G7": Shape("G7", (0, 2, 1, 2), (0, 2, 1, 3), 0.0),
    "Dm": Shape("Dm", (2, 2, 1, 0), (2, 3, 1, 0), 0.0),
    "Bb": Shape("Bb", (3, 2, 1, 1), (3, 2, 1, 1), 0.0),
    "E": Shape("E", (4, 4, 4, 2), (2, 3, 4, 1), 0.0),
    "Bm": Shape("Bm", (4, 2, 2, 2), (3, 1, 1, 1), 0.0),
}


def notes(*places, **more):
    return tuple(Note.at(UKE, string, fret, **more) for string, fret in places)


def bar_of(meter, *events, chords="", number=1, **more):
    """A bar from (duration, notes) pairs; chords as "C Am@1/2"."""
    onset, made = F(0), []
    for duration, struck in events:
        made.append(Event(onset, F(duration), struck))
        onset += F(duration)
    marks = [mark.partition("@") for mark in chords.split()]
    chord_marks = tuple(ChordMark(F(at or 0), symbol) for symbol, _, at in marks)
    return Bar(number, Meter.parse(meter), tuple(made), chord_marks, **more)


def rate(bar, tempo=76, **more):
    return rate_bar(bar, tempo=tempo, tuning=UKE, shapes=SHAPES, **more)


@st.composite
def played_bars(draw, pickup=True):
    meter = Meter.parse(draw(st.sampled_from(["2/4", "3/4", "4/4", "6/8", "5/8", "2/2"])))
    number = 0 if pickup and draw(st.integers(0, 4)) == 0 else 1
    left = int(meter.length * 48) if number else draw(st.integers(1, 24))
    onset, events = F(0), []
    while left:
        length = min(left, draw(st.sampled_from([3, 4, 6, 6, 12, 12, 16, 24])))
        events.append(draw(moments(onset, F(length, 48))))
        onset += F(length, 48)
        left -= length
    marks = draw(st.dictionaries(st.integers(0, 7), st.sampled_from(list(SHAPES)), max_size=3))
    chords = tuple(ChordMark(F(at, 8), symbol) for at, symbol in sorted(marks.items()) if F(at, 8) < onset)
    return Bar(number, meter, tuple(events), chords)


@st.composite
def moments(draw, onset, duration):
    strings = draw(st.sets(st.integers(1, 4), max_size=4))
    struck = tuple(
        Note.at(
            UKE,
            string,
            draw(st.integers(0, 12)),
            pick=draw(st.sampled_from(["", "p", "i", "m"])),
            tied=draw(st.integers(0, 5)) == 0,
            join=draw(st.sampled_from(["", "", "", "hammer"])),
        )
        for string in sorted(strings, reverse=True)
    )
    return Event(onset, duration, struck, stroke=draw(st.sampled_from(["", "", "down"])) if struck else "")


TEMPOS = st.integers(40, 208)
FEW = settings(max_examples=60, deadline=None)


@FEW
@given(played_bars(), played_bars(pickup=False), TEMPOS, st.booleans())
def test_a_rating_lies_between_0_and_10_and_has_a_reason_for_each_kind(bar, before, tempo, reduced):
    rating = rate(bar, tempo, before=before, reduced=reduced)
    assert 0 <= rating.score <= 10
    assert rating.reasons
    assert all(
        reason.endswith(".") and reason[0].isupper() | reason[0].isdigit() for reason in rating.reasons
    )
    if rating.worst:
        start, end = rating.worst
        assert 0 <= start < end <= bar.length


@FEW
@given(played_bars(), played_bars(pickup=False), TEMPOS, TEMPOS, st.booleans())
def test_slower_is_never_harder(bar, before, one, other, reduced):
    slow, fast = sorted((one, other))
    options = {"before": before, "reduced": reduced}
    assert rate(bar, slow, **options).score <= rate(bar, fast, **options).score


@FEW
@given(played_bars(), played_bars(pickup=False), TEMPOS, st.booleans(), st.data())
def test_leaving_out_a_note_is_never_harder(bar, before, tempo, reduced, data):
    full = [event for event in bar.events if event.notes]
    if not full:
        return
    event = data.draw(st.sampled_from(full))
    less = list(event.notes)
    less.remove(data.draw(st.sampled_from(less)))
    thinner = replace(
        bar,
        events=tuple(replace(e, notes=tuple(less)) if e is event else e for e in bar.events),
    )
    options = {"before": before, "reduced": reduced}
    assert rate(thinner, tempo, **options).score <= rate(bar, tempo, **options).score


@FEW
@given(played_bars(), played_bars(pickup=False), TEMPOS, st.data())
def test_holding_a_note_on_instead_of_striking_the_next_is_never_harder(bar, before, tempo, data):
    if len(bar.events) < 2:
        return
    at = data.draw(st.integers(0, len(bar.events) - 2))
    longer = replace(bar.events[at], duration=bar.events[at].duration + bar.events[at + 1].duration)
    held = replace(bar, events=(*bar.events[:at], longer, *bar.events[at + 2 :]))
    assert rate(held, tempo, before=before).score <= rate(bar, tempo, before=before).score


@FEW
@given(played_bars(), played_bars(pickup=False), TEMPOS)
def test_a_reduced_shape_is_never_harder_than_the_full_one(bar, before, tempo):
    reduced, full = (rate(bar, tempo, before=before, reduced=choice) for choice in (True, False))
    assert reduced.score <= full.score


# The same frets with and without a finger laid across: (with, without).
SAME_FRETS = [
    (Shape("D", (2, 2, 2, 0), (1, 1, 1, 0), 0.0), Shape("D", (2, 2, 2, 0), (1, 2, 3, 0), 0.0)),
    (Shape("D7", (2, 2, 2, 3), (1, 1, 1, 2), 0.0), Shape("D7", (2, 2, 2, 3), (1, 2, 3, 4), 0.0)),
    (Shape("Gm", (0, 2, 1, 1), (0, 2, 1, 1), 0.0), Shape("Gm", (0, 2, 1, 1), (0, 3, 1, 2), 0.0)),
]


@FEW
@given(played_bars(), TEMPOS, st.sampled_from(SAME_FRETS))
def test_the_same_frets_without_a_barre_are_never_harder(bar, tempo, pair):
    chord = replace(bar, chords=(ChordMark(F(0), "X"),))
    laid, apart = (rate_bar(chord, tempo=tempo, tuning=UKE, shapes={"X": shape}).score for shape in pair)
    assert apart <= laid


def lifted(shape):
    """The shape with its barre left off, those strings open."""
    flat = {finger for finger, *_ in shape.barres}
    frets = tuple(
        0 if finger in flat else fret for fret, finger in zip(shape.frets, shape.fingers, strict=True)
    )
    fingers = tuple(0 if finger in flat else finger for finger in shape.fingers)
    return Shape(shape.symbol, frets, fingers, 0.0)


@FEW
@given(TEMPOS, st.sampled_from(["Bb", "Bm"]), st.integers(1, 8))
def test_a_strummed_shape_with_its_barre_left_off_is_never_harder(tempo, symbol, strums):
    def strummed(shape):
        struck = notes(*zip((4, 3, 2, 1), shape.frets, strict=True))
        bar = bar_of("4/4", *[(F(1, strums), struck)] * strums, chords=symbol)
        return rate_bar(bar, tempo=tempo, tuning=UKE, shapes={symbol: shape}).score

    assert strummed(lifted(SHAPES[symbol])) <= strummed(SHAPES[symbol])


def test_a_bar_of_rest_is_not_hard():
    assert rate(bar_of("4/4", ("1", ()))) == Rating(0.0, ("Nothing is played here.",), None)


def test_the_pace_is_said_in_notes_counts_and_notes_a_second():
    rating = rate(Bar.of("4/4", "1/4 1/8 1/8 1/4 1/8 1/8"))
    # An eighth at 76 quarters a minute lasts 60 / 76 / 2 = 0.395 s, so 2.53 a second.
    assert rating.reasons[0] == "Six notes in four counts: up to 2.5 a second at 76."
    assert rating.kinds[0] == "pace"


def test_an_even_pace_is_said_without_up_to():
    assert rate(Bar.of("4/4", "1/8 " * 8)).reasons[0] == "Eight notes in four counts: 2.5 a second at 76."


def test_in_a_compound_meter_the_tempo_counts_dotted_beats():
    rating = rate(Bar.of("6/8", "1/8 " * 6), tempo=60)
    assert rating.reasons[0] == "Six notes in six counts: 3.0 a second at 60."


def test_what_falls_between_the_counts_is_named_by_the_count():
    rating = rate(Bar.of("4/4", "1/8 1/4 1/4 1/4 1/8"), tempo=120)
    assert "Four notes fall between the counts: 1 &, 2 &, 3 & and 4 &." in rating.reasons
    assert "Nothing new on counts 2, 3 and 4: keep counting through." in rating.reasons


def test_a_pickup_is_named_by_the_counts_it_is_said_on():
    rating = rate(Bar.of("4/4", "1/8 1/8", number=0), tempo=120)
    assert "One note falls between the counts: 4 &." in rating.reasons


def test_a_change_is_rated_by_the_time_the_hand_has_for_it():
    struck = notes((4, 2), (3, 0), (2, 0), (1, 0))
    bar = bar_of("2/4", ("1/4", struck), ("1/4", notes((3, 2), (2, 1), (1, 2))), chords="Am G7@1/4")
    rating = rate(bar, tempo=120)
    assert rating.reasons[0] == "Am to G7 in 0.5 s: fingers 1, 2 and 3 must be placed."
    assert rating.kinds[0] == "change"
    assert rating.worst == (F(0), F(1, 2))


def test_the_change_into_a_bar_counts_from_the_last_note_before_it():
    before = bar_of("2/4", ("1/4", notes((4, 2))), ("1/4", notes((1, 0))), chords="Am")
    bar = bar_of("2/4", ("1/2", notes((4, 2), (2, 1))), chords="F")
    alone, after = rate(bar, 60), rate(bar, 60, before=before)
    assert alone.score < after.score
    assert "Am to F in 1.0 s: finger 2 stays, finger 1 must be placed." in after.reasons


def test_more_time_makes_the_same_change_easier():
    bar = bar_of("2/4", ("1/2", notes((4, 2), (2, 1))), chords="F")
    early = bar_of("2/4", ("1/2", notes((1, 0))), chords="C")
    late = bar_of("2/4", ("1/4", notes((1, 0))), ("1/4", notes((1, 0))), chords="C")
    assert rate(bar, before=early).score < rate(bar, before=late).score


def test_a_barre_is_named_with_its_finger_strings_and_fret():
    bar = bar_of("2/4", ("1/2", notes((4, 3), (3, 2), (2, 1), (1, 1))), chords="Bb")
    assert rate(bar).reasons[0] == "Bb has a barre: finger 1 lies over strings 2 to 1 at fret 1."


def test_a_reduced_shape_leaves_out_the_barre_whose_strings_are_silent():
    bar = bar_of("2/4", ("1/2", notes((4, 3), (3, 2))), chords="Bb")
    assert not any("barre" in reason for reason in rate(bar, reduced=True).reasons)
    assert any("barre" in reason for reason in rate(bar).reasons)


def test_a_run_up_the_neck_is_harder_than_one_in_place():
    low = bar_of("2/4", *[("1/8", notes((1, fret))) for fret in (0, 2, 3, 0)])
    far = bar_of("2/4", *[("1/8", notes((1, fret))) for fret in (0, 2, 9, 0)])
    assert rate(low).score < rate(far).score
    assert "The hand leaves its place: frets 2 to 9." in rate(far).reasons


def test_an_easy_bar_marks_no_count_as_hard():
    assert rate(Bar.of("4/4", "1/2 1/2"), tempo=60).worst is None


def test_a_piece_that_gets_busier_gets_harder_in_the_expected_order():
    rhythms = ["1", "1/2 1/2", "1/4 1/4 1/4 1/4", "1/8 " * 8, "1/16 " * 16]
    scores = [rate(Bar.of("4/4", rhythm)).score for rhythm in rhythms]
    assert scores == sorted(scores)
    assert scores[0] < 1.5
    assert 1.5 < scores[2] < 4
    assert scores[4] > 8


def test_without_learners_the_computed_rating_stands():
    assert correct_rating(Rating(5.0, (), None), []).score == 5.0


def test_one_learner_moves_a_rating_less_than_many_who_say_the_same():
    one, many = (correct_rating(Rating(5.0, (), None), [Evidence(5, 10)] * n).score for n in (1, 12))
    # n / (n + 4) of two points: 0.4 and 1.5.
    assert (one, many) == (5.4, 6.5)


@given(st.floats(0, 10), st.lists(st.builds(Evidence, st.floats(0.1, 60), st.floats(0.1, 600)), max_size=20))
def test_a_corrected_rating_stays_on_the_scale_and_near_the_computed_one(score, evidence):
    rating = Rating(round(score, 1), (), None)
    corrected = correct_rating(rating, evidence)
    assert 0 <= corrected.score <= 10
    assert corrected.computed == rating.score
    assert abs(corrected.score - rating.score) <= 4 * len(evidence) / (len(evidence) + 4) + 0.06


def test_learners_who_needed_more_raise_it_and_less_lower_it():
    rating = Rating(5.0, (), None)
    assert (
        correct_rating(rating, [Evidence(4, 6)] * 3).score
        > 5.0
        > correct_rating(rating, [Evidence(6, 4)] * 3).score
    )


def test_the_corrected_rating_says_both_numbers():
    text = correct_rating(Rating(5.0, (), None), [Evidence(4, 8)] * 4).text
    assert text == "6.0: 4 learners needed 2.0 times as long as expected; computed 5.0."


@pytest.mark.parametrize("tuning", TUNINGS.values(), ids=str)
def test_every_tuning_can_be_rated(tuning):
    bar = Bar(1, Meter(2, 4), (Event(F(0), F(1, 2), (Note.at(tuning, 1, 3), Note.at(tuning, 2, 2))),))
    assert rate_bar(bar, tempo=76, tuning=tuning).score > 0

"""Phrases of invented tunes; how well real ones are found is checked in tests/outside/test_form.py."""

from fractions import Fraction

import pytest

from pieces.music.cues import Line, boundary_strength, cues
from pieces.music.form import melody_of, phrase_boundaries, phrase_probabilities
from pieces.music.phrases import CUES
from pieces.music.score import Bar, Event, Meter, Note

QUARTER = Fraction(1, 4)
VERSE = ((0, "1/4"), (2, "1/4"), (4, "1/4"), (5, "1/4"), (7, "1/4"), (4, "1/4"), (2, "1/2"))


def tune(*phrases, start=Fraction(0)):
    """Notes of phrases of (pitch over C4, duration), one after the other; pitch None is a rest."""
    notes, onset = [], start
    for pitch, duration in (note for phrase in phrases for note in phrase):
        if pitch is not None:
            notes.append((onset, Fraction(duration), 60 + pitch))
        onset += Fraction(duration)
    return notes


def moved(phrase, steps):
    return tuple((pitch if pitch is None else pitch + steps, duration) for pitch, duration in phrase)


FOUR_PHRASES = tune(VERSE, moved(VERSE, 2), moved(VERSE, 5), VERSE)


def test_four_phrases_of_two_bars_begin_after_each_long_note():
    assert phrase_boundaries(FOUR_PHRASES, (4, 4), Fraction(0)) == [7, 14, 21]


def test_phrases_are_found_without_a_meter():
    assert phrase_boundaries(FOUR_PHRASES, None, None) == [7, 14, 21]


def test_a_pickup_belongs_to_the_phrase_it_leads_into():
    phrase = ((-5, "1/4"), *VERSE[:-1], (2, "1/4"))
    notes = tune(phrase, phrase, phrase, phrase)
    assert phrase_boundaries(notes, (4, 4), Fraction(-3, 4)) == [8, 16, 24]


def test_a_rest_parts_phrases_where_nothing_else_does():
    run = tuple((pitch, "1/8") for pitch in (0, 2, 4, 2, 5, 4, 2, 0))
    notes = tune((*run, (None, "1/2")), (*moved(run, 3), (None, "1/2")), (*run, (None, "1/2")))
    assert phrase_boundaries(notes, None, None) == [8, 16]


def test_the_same_tune_later_or_higher_or_in_longer_notes_has_the_same_phrases():
    later = [(onset + 8, duration, pitch) for onset, duration, pitch in FOUR_PHRASES]
    higher = [(onset, duration, pitch + 12) for onset, duration, pitch in FOUR_PHRASES]
    longer = [(2 * onset, 2 * duration, pitch) for onset, duration, pitch in FOUR_PHRASES]
    assert phrase_boundaries(later, (4, 4), Fraction(8)) == [7, 14, 21]
    assert phrase_boundaries(higher, (4, 4), Fraction(0)) == [7, 14, 21]
    assert phrase_boundaries(longer, (4, 2), Fraction(0)) == [7, 14, 21]


def test_every_note_has_a_probability_and_the_first_always_begins():
    chances = phrase_probabilities(FOUR_PHRASES, (4, 4), Fraction(0))
    assert len(chances) == len(FOUR_PHRASES)
    assert chances[0] == pytest.approx(1)
    assert all(0 <= chance <= 1 for chance in chances)


@pytest.mark.parametrize("count", [0, 1, 2, 3])
def test_a_tune_of_hardly_any_notes_has_no_second_phrase(count):
    assert phrase_boundaries(FOUR_PHRASES[:count], (4, 4), Fraction(0)) == []


def test_a_long_run_of_equal_notes_is_taken_without_complaint():
    run = [(Fraction(i, 16), Fraction(1, 16), 60) for i in range(1500)]
    boundaries = phrase_boundaries(run, (4, 4), Fraction(0))
    assert boundaries == sorted(set(boundaries))


def test_notes_that_sound_together_are_taken_without_complaint():
    chords = [(onset, duration, pitch + step) for onset, duration, pitch in FOUR_PHRASES for step in (0, 4)]
    assert all(0 < at < len(chords) for at in phrase_boundaries(chords, (4, 4), Fraction(0)))


def test_the_melody_of_bars_is_their_highest_line_with_ties_joined():
    def event(onset, duration, *pitches, tied=False):
        return Event(Fraction(onset), Fraction(duration), tuple(Note(pitch, tied=tied) for pitch in pitches))

    bars = (
        Bar(0, Meter(4, 4), (event("0", "1/4", 67),)),
        Bar(1, Meter(4, 4), (event("0", "1/2", 60, 72), event("1/2", "1/2", 71))),
        Bar(2, Meter(4, 4), (event("0", "1/2", 71, tied=True), event("1/2", "1/2"))),
    )
    notes, meter, first_barline = melody_of(bars)
    assert notes == [(0, Fraction(1, 4), 67), (Fraction(1, 4), Fraction(1, 2), 72), (Fraction(3, 4), 1, 71)]
    assert (meter, first_barline) == ((4, 4), Fraction(-3, 4))


def test_the_strongest_boundary_is_beside_the_one_long_note():
    notes = tune([(0, "1/4"), (2, "1/4"), (4, "1"), (5, "1/4"), (7, "1/4")])
    strengths = boundary_strength(Line(notes, None, None))
    assert strengths.index(max(strengths)) + 1 == 3


def test_every_cue_has_its_weight_and_every_weight_its_cue():
    named = {name for here in cues(Line(FOUR_PHRASES, (4, 4), Fraction(0))) for name in here}
    assert named == set(CUES)

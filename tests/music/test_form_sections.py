"""Sections and their letters. The expected letters are the usual analysis of such forms."""

import time
from dataclasses import replace
from fractions import Fraction

import pytest

from pieces.music.form import find_sections
from pieces.music.score import Bar, Event, Meter, Note, Score

RHYTHMS = ("1/4 1/4 1/4 1/4", "1/8 1/8 1/4 1/4 1/4", "1/4 1/8 1/8 1/2", "3/8 1/8 1/4 1/4")


def bar(number, material, meter="4/4"):
    """A bar whose notes and rhythm follow from ``material``, any integer; 0 is a whole note."""
    onset, events = Fraction(0), []
    durations = RHYTHMS[material % 4] if material else "1"
    for step, duration in enumerate(map(Fraction, durations.split())):
        pitch = 60 + (material * 7 + step * (material % 5 + 1)) % 19
        events.append(Event(onset, duration, (Note(pitch),)))
        onset += duration
    return Bar(number, Meter.parse(meter), tuple(events))


def piece(*materials, pickup=False, **changes):
    bars = [bar(number, material) for number, material in enumerate(materials, 1)]
    bars = [replace(b, **changes.get(f"b{b.number}", {})) for b in bars]
    if pickup:
        bars.insert(0, Bar(0, Meter(4, 4), (Event(Fraction(0), Fraction(1, 4), (Note(67),)),)))
    return Score(bars=tuple(bars))


def found(score, **more):
    return [(s.letter, s.first, s.last) for s in find_sections(score, **more)]


A, B, C = (1, 2, 3, 0), (11, 12, 13, 0), (21, 22, 23, 0)
LONG_A, LONG_B = (1, 2, 3, 4, 5, 6, 7, 0), (11, 12, 13, 14, 15, 16, 17, 0)


def test_eight_bars_and_eight_others_are_a_and_b():
    assert found(piece(*LONG_A, *LONG_B)) == [("A", 1, 8), ("B", 9, 16)]


def test_eight_bars_fall_into_four_and_four():
    assert found(piece(*A, *B)) == [("A", 1, 4), ("B", 5, 8)]


def test_a_song_form_of_four_bars_each():
    assert found(piece(*A, *A, *B, *A)) == [("A", 1, 4), ("A", 5, 8), ("B", 9, 12), ("A", 13, 16)]


def test_a_song_form_of_eight_bars_each():
    sections = find_sections(piece(*LONG_A, *LONG_A, *LONG_B, *LONG_A))
    assert [s.letter for s in sections] == ["A", "A", "B", "A"]
    assert [s.same_as for s in sections] == [None, 1, None, 1]


def test_a_changed_ending_gives_a_prime():
    sections = find_sections(piece(*LONG_A, 1, 2, 3, 4, 5, 6, 37, 0, *LONG_B))
    assert [s.letter for s in sections] == ["A", "A'", "B"]
    assert sections[1].same_as is None
    assert sections[1].text.startswith("As bars 1 to 8 but bar 15")


def test_an_exact_return_of_a_changed_section_keeps_its_prime():
    changed = (1, 2, 3, 4, 5, 6, 37, 0)
    sections = find_sections(piece(*LONG_A, *changed, *LONG_B, *changed))
    assert [s.letter for s in sections] == ["A", "A'", "B", "A'"]
    assert sections[3].same_as == 9


def test_twelve_bars_in_three_lines_of_four():
    assert [first for _, first, _ in found(piece(*A, *B, *C))] == [1, 5, 9]


def test_a_pickup_belongs_to_the_first_section():
    assert found(piece(*LONG_A, *LONG_B, pickup=True)) == [("A", 0, 8), ("B", 9, 16)]


def test_repeat_signs_cut_wherever_they_stand():
    score = piece(*range(1, 13), b5={"repeats": 2}, b6={"opens_repeat": True}, b12={"repeats": 2})
    assert found(score) == [("A", 1, 5), ("B", 6, 12)]


def test_both_endings_stay_with_their_section():
    score = piece(
        *LONG_A, 8, *LONG_B, b8={"endings": (1,), "repeats": 2}, b9={"endings": (2,)}, b17={"repeats": 2}
    )
    assert found(score) == [("A", 1, 9), ("B", 10, 17)]


def test_a_change_of_meter_cuts():
    bars = [bar(n, n) for n in range(1, 8)] + [bar(n, n, "6/8") for n in range(8, 16)]
    assert (("B", 8, 15)) in found(Score(bars=tuple(bars)))


def test_written_letters_win():
    score = piece(*LONG_A, *LONG_B, b1={"letter": "Verse"}, b6={"letter": "Chorus"})
    sections = find_sections(score)
    assert [(s.letter, s.first, s.last) for s in sections] == [("Verse", 1, 5), ("Chorus", 6, 16)]
    assert {s.sure for s in sections} == {1.0}


def test_what_stands_before_the_first_written_letter_is_cut_by_ear():
    score = piece(*LONG_A, *LONG_B, *A, b17={"letter": "A"})
    assert found(score) == [("B", 1, 8), ("C", 9, 16), ("A", 17, 20)]


def test_the_teachers_cuts_win_over_written_letters_and_signs():
    score = piece(*LONG_A, *LONG_B, b8={"repeats": 2}, b9={"letter": "B"})
    sections = find_sections(score, cuts=[4, 13])
    assert [(s.first, s.last) for s in sections] == [(1, 3), (4, 12), (13, 16)]
    assert [s.sure for s in sections] == [1.0, 1.0, 1.0]
    assert "by you" in sections[1].text


def test_the_teachers_letters_name_and_cut():
    assert found(piece(*A, *A), letters={5: "Tag"}) == [("A", 1, 4), ("Tag", 5, 8)]


def test_cuts_at_bars_that_are_not_there_are_passed_over():
    assert found(piece(*A, *B), cuts=[3, 99]) == [("A", 1, 2), ("B", 3, 8)]


@pytest.mark.parametrize("count", [1, 2, 3, 5, 7, 11, 13, 29])
def test_every_bar_is_in_exactly_one_section(count):
    sections = find_sections(piece(*(n * n % 17 + 1 for n in range(count)), pickup=True))
    covered = [number for s in sections for number in range(s.first, s.last + 1)]
    assert covered == list(range(count + 1))
    assert all(0 <= s.sure <= 1 and s.text.endswith(".") for s in sections)


def test_a_piece_of_one_bar_is_one_section_and_no_bars_are_none():
    assert found(piece(5)) == [("A", 1, 1)]
    assert find_sections(Score()) == []


def test_more_sections_than_letters_go_on_with_doubled_letters():
    bars = tuple(
        Bar(n, Meter(4, 4), (Event(Fraction(0), Fraction(1), (Note(40 + n),)),)) for n in range(1, 29)
    )
    sections = find_sections(Score(bars=bars), cuts=range(1, 29))
    assert [s.letter for s in sections][25:] == ["Z", "AA", "BB"]


def test_two_hundred_bars_are_cut_in_good_time():
    score = piece(*(n * n % 83 for n in range(200)))
    start = time.process_time()
    sections = find_sections(score)
    assert time.process_time() - start < 1
    assert sections[-1].last == 200

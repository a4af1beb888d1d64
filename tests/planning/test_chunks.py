from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pieces.music.form import bar_classes, unfold
from pieces.music.score import Bar, Event, Score
from pieces.music.sections import Section
from students.planning.chunks import ChangeInto, build_chunks, letters_of, lower_goal
from tests.planning.made_up import Hard, loops, piece, sections_of, tune

random_pieces = st.integers(0, 10**6).map(lambda seed: piece(Random(seed)))
often = settings(max_examples=60, deadline=None, derandomize=True)


def keys(score, sections, ratings=None, **more):
    return [chunk.key for chunk in build_chunks(score, sections, ratings or {}, goal=76, **more)]


def test_easy_bars_are_learned_in_pairs_then_joined_then_played_whole():
    assert keys(tune(0, 2, 3, 5), sections_of(4)) == ["pair:1-2", "pair:3-4", "join:2-3", "section:A"]


def test_a_hard_bar_is_played_by_itself_before_its_pair():
    found = keys(tune(0, 2, 3, 5), sections_of(4), {3: Hard(8.0)})
    assert found == ["pair:1-2", "bar:3", "pair:3-4", "join:2-3", "section:A"]


def test_eight_bars_have_halves_and_a_join_between_them():
    found = keys(tune(0, 2, 3, 5, 7, 8, 10, 11), sections_of(8))
    assert found == [
        *("pair:1-2", "pair:3-4", "join:2-3", "half:1-4"),
        *("pair:5-6", "pair:7-8", "join:6-7", "half:5-8"),
        *("join:4-5", "section:A"),
    ]


def test_a_bar_played_again_is_met_only_in_its_joins():
    assert keys(tune(0, 2, 0, 5), sections_of(4)) == [
        *("pair:1-2", "bar:4", "join:2-3", "join:3-4", "section:A")
    ]


def test_an_identical_section_is_no_new_work_but_for_the_join_into_it():
    sections = [*sections_of(2, 2), Section("A", 5, 6, 1, "", 1.0)]
    found = keys(tune(0, 2, 3, 5, 0, 2), sections)
    assert found == ["section:A", "section:B", "join:2-3", "join:4-5", "run"]


def test_a_written_repeat_has_a_join_back_to_its_first_bar():
    score = tune(0, 2, 3, 5)
    score = replace(score, bars=(*score.bars[:3], replace(score.bars[3], repeats=2)))
    back = next(c for c in build_chunks(score, sections_of(4), {}, goal=76) if c.key == "join:4-1")
    assert back.label == "Bar 4 back to bar 1"


def test_the_run_is_the_whole_piece_in_the_order_it_is_played():
    score = tune(0, 2, 3, 5)
    score = replace(score, bars=(*score.bars[:3], replace(score.bars[3], repeats=2)))
    run = build_chunks(score, sections_of(2, 2), {}, goal=76)[-1]
    assert run.bars == unfold(score) == (1, 2, 3, 4, 1, 2, 3, 4)
    assert run.beats == 32


def test_there_is_no_run_of_a_piece_of_which_only_some_is_assigned():
    assert "run" not in keys(tune(0, 2, 3, 5), sections_of(2, 2), chosen=["A"])


def test_a_hard_change_is_drilled_once_before_the_first_bar_that_needs_it():
    changes = [ChangeInto(n, "C", "G", 2.8) for n in (2, 4)] + [ChangeInto(3, "G", "C", 1.0)]
    found = build_chunks(tune(0, 2, 3, 5), sections_of(4), {}, goal=76, changes=changes)
    assert [c.key for c in found][:2] == ["drill:change:C-G", "pair:1-2"]
    assert found[1].parts == ("drill:change:C-G",)
    assert [c.key for c in found].count("drill:change:C-G") == 1
    assert "drill:change:C-G" in next(c for c in found if c.key == "pair:3-4").parts


def test_a_hard_rhythm_is_played_on_one_string_before_its_notes():
    score = tune(0, 2, rhythm="1/8 1/8 1/8 1/8 1/8 1/8 1/4")
    drill = build_chunks(score, sections_of(2), {1: Hard(7.0)}, goal=76)[0]
    assert (drill.key, drill.label) == ("drill:rhythm:1", "Rhythm 1 & 2 & 3 & 4")


def test_a_hard_bar_says_what_is_hard_in_it():
    score = tune(0, 2, 3, rhythm="1/8 1/8 1/2 1/4")
    ratings = {3: Hard(7.0, ("One of them falls between the counts.",), ("between",))}
    found = build_chunks(score, sections_of(3), ratings, goal=76)
    bar = next(chunk for chunk in found if chunk.key == "bar:3")
    assert "bar 3" in bar.why
    alone = build_chunks(score, sections_of(3), {1: ratings[3]}, goal=76)[0]
    assert alone.why == "bar 1 by itself, because of the eighths"


def test_a_bar_nearly_known_resembles_the_loop_that_taught_the_other():
    first, last = tune(0).bars[0], tune(0).bars[0].events[3]
    half = replace(Bar.of("4/4", "1/2 1/2", 2), events=Bar.of("4/4", "1/2 1/2").events)
    other = replace(last, notes=(replace(last.notes[0], fret=5, pitch=74),))
    third = replace(first, number=3, events=(*first.events[:3], other))
    found = build_chunks(Score(bars=(first, half, third)), sections_of(3), {}, goal=76)
    assert [(c.key, c.resembles) for c in found][:2] == [("pair:1-2", None), ("bar:3", "pair:1-2")]
    assert found[1].why == "bar 3, as bar 1 but the last beat: string 1 fret 5, not fret 3"


def test_a_pickup_is_called_so():
    pickup = Bar.of("4/4", "1/4", 0)
    score = Score(bars=(pickup, *tune(2, 3, 5).bars))
    labels = [c.label for c in build_chunks(score, [Section("A", 0, 3, None, "", 1.0)], {}, goal=76)]
    assert labels == ["Pickup and bar 1", "Bars 2 and 3", "Bar 1 into bar 2", "Section A"]


def test_a_bar_of_rest_is_no_loop():
    rest = Bar(2, tune(0).meter, (Event(Fraction(0), Fraction(1)),))
    score = Score(bars=(tune(0).bars[0], rest, replace(tune(3).bars[0], number=3)))
    assert keys(score, sections_of(3)) == ["bar:1", "bar:3", "section:A"]


def test_choosing_a_section_that_is_not_there_is_refused():
    with pytest.raises(ValueError, match="no section Z"):
        build_chunks(tune(0), sections_of(1), {}, goal=76, chosen=["Z"])


def test_lowering_the_goal_leaves_each_loop_its_start():
    found = build_chunks(tune(0, 2, 3), sections_of(3), {}, goal=96)
    lowered = lower_goal(found, 76)
    assert [c.start for c in lowered] == [c.start for c in found]
    assert {c.goal for c in lowered} == {76}
    cut_so = build_chunks(tune(0, 2, 3), sections_of(3), {}, goal=76, start_goal=96)
    assert [replace(c, apart=()) for c in lowered] == [replace(c, apart=()) for c in cut_so]


@often
@given(loops)
def test_parts_come_before_the_loops_that_are_made_of_them(chunks):
    seen = set()
    for chunk in chunks:
        assert seen.issuperset(chunk.parts), chunk.key
        assert chunk.key not in seen
        assert chunk.resembles is None or chunk.resembles in seen
        seen.add(chunk.key)


@often
@given(random_pieces)
def test_no_two_loops_teach_the_same_bars(made):
    score, sections, ratings, changes = made
    classes = bar_classes(score)
    found = build_chunks(score, sections, ratings, goal=76, changes=changes)
    rows = [tuple(classes[n] for n in c.bars) for c in found if c.kind in ("bar", "pair", "section")]
    joins = [tuple(classes[n] for n in c.bars) for c in found if c.kind in ("join", "pair")]
    assert max(Counter(joins).values(), default=0) <= 1
    for row, times in Counter(rows).items():
        # A section of one bar that an earlier one has taught is still played as a section.
        assert times == 1 or len(row) <= 2


@often
@given(random_pieces)
def test_every_bar_and_every_step_to_the_next_is_in_some_loop(made):
    score, sections, ratings, changes = made
    classes, order = bar_classes(score), unfold(score)
    found = [c for c in build_chunks(score, sections, ratings, goal=76, changes=changes) if c.kind != "run"]
    taught = {classes[n] for c in found if c.kind != "drill" for n in c.bars}
    assert taught == set(classes.values())
    steps = {(classes[a], classes[b]) for c in found for a, b in pairwise(c.bars)}
    assert {(classes[a], classes[b]) for a, b in pairwise(order)} <= steps


@often
@given(random_pieces)
def test_a_loop_lasts_as_many_beats_as_its_bars(made):
    score, sections, ratings, changes = made
    for chunk in build_chunks(score, sections, ratings, goal=76, changes=changes):
        if not chunk.key.startswith("drill:change"):
            assert chunk.beats == 4 * len(chunk.bars)


@often
@given(random_pieces, st.data())
def test_choosing_sections_leaves_out_all_bars_of_the_others(made, data):
    score, sections, ratings, changes = made
    letters = sorted({section.letter for section in sections})
    chosen = data.draw(st.lists(st.sampled_from(letters), unique=True, min_size=1))
    found = build_chunks(score, sections, ratings, goal=76, changes=changes, chosen=chosen)
    inside = {n for s in sections if s.letter in chosen for n in range(s.first, s.last + 1)}
    assert set(letters_of(found)) == set(chosen)
    assert all(inside.issuperset(c.bars) for c in found)

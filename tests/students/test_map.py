"""The learner's map: what each week's bar says, and how it is drawn."""

import re
from datetime import timedelta
from xml.etree import ElementTree

import pytest
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students import practice
from students.map_drawing import bar_line, draw_map
from students.map_page import Cell, LearnerMap, PieceRows, SectionRow, learner_map
from students.records import records_of
from tests.students.steps import LONG_TUNE, MONDAY, day, give, tick

STANDINGS = ("new", "learning", "at tempo", "secure", "due again")


@pytest.fixture
def given(cast):
    cast.learner.minutes = dict.fromkeys(cast.learner.minutes, 30)
    cast.learner.save()
    return give(cast.learner, add_piece(cast.studio, read_tab(LONG_TUNE), rights="own"), until=day(35))


def shown(student, today):
    return learner_map(student, today, *records_of(student))


def tick_section(given, on, **how):
    task = given.tasks.filter(chunk__kind="section").order_by("day").first()
    return tick(task, on=on, **how)


@pytest.mark.django_db
def test_each_week_says_the_standing_at_its_end_the_tempo_and_the_mark(given):
    tick_section(given, day(1), tempo=60, felt="slips", minutes=5)
    tick_section(given, day(2), tempo=56, felt="clean", minutes=6)
    tick_section(given, day(9), tempo=72, minutes=4)
    practice.mark_section(given, "A", "secure", day=day(15))
    found = shown(given.student, day(16))
    (piece,) = found.pieces
    (row,) = piece.sections
    assert found.weeks == tuple(MONDAY + timedelta(weeks=n) for n in range(-1, 3))
    assert found.days == (0, 2, 1, 0)
    assert found.minutes == (0, 11, 4, 0)
    assert row.cells == (
        Cell(None),
        Cell("learning", 56, "clean", whole=True),
        Cell("at tempo", 72, "clean", whole=True),
        Cell("secure", mark="secure"),
    )


@pytest.mark.django_db
def test_until_a_section_is_played_whole_its_slowest_loop_tells_the_tempo(given):
    tasks = {task.chunk.key: task for task in given.tasks.filter(chunk__kind__in=["bar", "pair"])}
    first, second, *_ = tasks.values()
    tick(first, on=day(1), tempo=66)
    tick(second, on=day(1), tempo=50, felt="broke")
    cell = shown(given.student, day(2)).pieces[0].sections[0].cells[-1]
    assert (cell.tempo, cell.felt, cell.whole) == (50, "broke", False)


@pytest.mark.django_db
def test_ticks_taken_back_do_not_show(given):
    practice.undo_tick(
        tick_section(given, day(1)), uuid="3f0e7c9e-8a39-4a0e-9d69-6a4b9c2f1d55", at=given.created
    )
    assert shown(given.student, day(2)).days[-1] == 0


@pytest.mark.django_db
def test_a_map_goes_back_ten_weeks_at_most_and_leaves_out_what_was_put_away_before(given):
    tick_section(given, day(1))
    practice.end_assignment(given, day(3))
    later = shown(given.student, day(7 * 20))
    assert len(later.weeks) == 10
    assert later.pieces == ()


@pytest.mark.django_db
def test_the_learners_page_has_the_picture_and_the_same_as_a_table(given, cast, sign_in):
    today = cast.studio.today
    given.starts_on = today - timedelta(days=3)
    given.save()
    tick_section(given, today, tempo=63, felt="broke")
    page = sign_in(cast.owner).get(reverse("student", args=[given.student_id])).text
    assert '<svg class="strip map"' in page
    assert "The map as a table" in page
    assert "63, broke down" in page


def cells(*standings):
    return tuple(Cell(standing) for standing in standings)


def test_every_standing_has_a_bar_line_of_its_own():
    drawn = [bar_line(standing, 100, 0, 40) for standing in STANDINGS]
    assert len(set(drawn)) == len(STANDINGS)
    assert all(drawn)
    assert bar_line(None, 100, 0, 40) == ""


def test_the_picture_stands_in_its_box_and_has_no_colour_that_a_copier_loses():
    weeks = tuple(MONDAY + timedelta(weeks=n) for n in range(5))
    row = SectionRow("A'", (Cell("learning", 60, "broke"), *cells(*STANDINGS[1:])))
    svg = draw_map(LearnerMap(weeks, (1,) * 5, (10,) * 5, (PieceRows("Fish & Chips", 72, (row,)),)))
    root = ElementTree.fromstring(svg)
    _x, _y, width, height = map(float, root.get("viewBox").split())
    for text in root.iter("{http://www.w3.org/2000/svg}text"):
        assert 0 <= float(text.get("x")) <= width
        assert 0 <= float(text.get("y")) <= height
    words = ["".join(text.itertext()) for text in root.iter("{http://www.w3.org/2000/svg}text")]
    assert {"(60)", "A′", "Fish & Chips", "goal 72", "16 Mar"} <= set(words)
    assert set(re.findall(r"#[0-9a-f]+", svg)) <= {"#000", "#333", "#555", "#bbb", "#00573d", "#fff"}


def test_a_map_of_a_learner_who_has_nothing_yet_is_drawn_empty():
    weeks = (MONDAY,)
    root = ElementTree.fromstring(draw_map(LearnerMap(weeks, (0,), (0,), ())))
    assert root.get("role") == "img"


@pytest.mark.django_db
def test_the_last_bar_line_is_the_standing_that_every_other_page_shows(given):
    tick_section(given, day(1), tempo=72)
    practice.mark_section(given, "A", "learning", day=day(2))
    tick_section(given, day(8), tempo=72)
    practice.replan(given.student, day(9))
    last = shown(given.student, day(9)).pieces[0].sections[0].cells[-1]
    assert last.standing == given.standings.get(section="A").standing

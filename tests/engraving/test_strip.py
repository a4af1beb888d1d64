"""The lesson strip: nothing collides, the count reads evenly, and all of it can be addressed."""

from base64 import b64encode
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest
import weasyprint
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pieces.engraving.diagram import diagram
from pieces.engraving.head import Findings
from pieces.engraving.options import DESK, PAPER, PHONE
from pieces.engraving.staff import staff
from pieces.engraving.strip import lines_of_bars, strip, strips, systems
from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.shapes import Shape
from pieces.music.tuning import TUNINGS
from tests.engraving.random_bars import SYMBOLS, passages

UKULELE = TUNINGS["ukulele high G"]
SVG = "{http://www.w3.org/2000/svg}"
SHAPES = {
    "Am": Shape("Am", (2, 0, 0, 0), (2, 0, 0, 0), 0),
    "G7": Shape("G7", (10, 12, 11, 12), (1, 3, 2, 4), 0),
}


def parsed(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def sixteenths(fret: int = 12) -> Bar:
    bar = Bar.of("4/4", " ".join(["1/16"] * 16))
    events = (replace(event, notes=(Note.at(UKULELE, 1, fret),)) for event in bar.events)
    return replace(bar, events=tuple(events))


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(passages(), st.booleans())
def test_no_two_texts_overlap_in_any_passage(passage, with_shapes):
    bars, tuning, options = passage
    findings = Findings(
        {bars[0].number: (Fraction(0), Fraction(1, 2))},
        {bars[-1].number: 1},
        SHAPES if with_shapes and len(tuning.strings) == 4 else {},
    )
    for system in systems(bars, tuning, options, findings):
        boxes = [(text.text, text.box) for text in system.texts]
        clashes = [(a, b) for a, b in combinations(boxes, 2) if a[1].overlaps(b[1])]
        assert not clashes
        for text, box in boxes:
            assert box.left >= -0.1 and box.right <= system.width + 0.1, text
            assert box.top >= -0.1 and box.bottom <= system.height + 0.1, text


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(passages())
def test_every_bar_and_event_has_its_id_once(passage):
    bars, tuning, options = passage
    roots = [parsed(svg) for svg in strips(bars, tuning, options.but(prefix="x"))]
    ids = [element.get("id") for root in roots for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    for bar in bars:
        assert f"xb{bar.number}" in ids
        assert all(f"xb{bar.number}e{i}" in ids for i in range(1, len(bar.events) + 1))


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(passages())
def test_a_strip_can_be_drawn_without_a_style_sheet(passage):
    bars, tuning, options = passage
    for svg in strips(bars, tuning, options):
        root = parsed(svg)
        assert "var(" not in svg
        assert sum(element.tag == f"{SVG}svg" for element in root.iter()) == 1
        assert root.get("role") == "img"
        assert root.find(f"{SVG}title").text


def test_the_count_reads_evenly_over_the_bar_lines():
    bars = [
        Bar.of("4/4", "1/4 1/8 1/8 1/2", 1),
        Bar.of("4/4", "1/1", 2),
        Bar.of("4/4", "1/8 1/8 1/4 1/4 1/4", 3),
        Bar.of("4/4", "1/2 1/2", 4),
    ]
    for options in (DESK, PAPER):
        for system in systems(bars, UKULELE, options.but(closed=False), Findings({}, {}, {})):
            beats = [
                t.x for t in system.texts if t.text.strip("()") in ("1", "2", "3", "4") and "data" in t.extra
            ]
            steps = [b - a for a, b in pairwise(beats)]
            assert max(steps) - min(steps) < 0.01 * max(steps) + 1


def test_four_bars_go_on_a_line_of_the_desk_two_on_paper_and_one_on_a_phone():
    bars = [Bar.of("4/4", "1/4 1/4 1/4 1/4", number) for number in range(1, 5)]
    assert [len(strips(bars, UKULELE, options)) for options in (DESK, PAPER, PHONE)] == [1, 2, 4]


def test_dense_bars_take_two_lines_rather_than_touch():
    bars = [replace(sixteenths(), number=number) for number in range(1, 5)]
    assert len(strips(bars, UKULELE, DESK)) == 2


def test_the_count_of_sixteenths_is_one_e_and_a():
    [svg] = strips([sixteenths()], UKULELE, PHONE)
    said = {element.get("id"): element.text for element in parsed(svg).iter(f"{SVG}text")}
    assert [said[f"b1c{i}"] for i in range(1, 6)] == ["1", "e", "&", "a", "2"]


def test_a_held_count_is_in_brackets_and_smaller():
    [system] = systems([Bar.of("3/4", "1/4 1/2")], UKULELE, DESK, Findings({}, {}, {}))
    struck, held = (next(t for t in system.texts if t.text == text) for text in ("2", "(3)"))
    assert held.size < struck.size and held.look == "hd"


def test_a_bar_like_an_earlier_one_says_so_and_loses_its_tint():
    bars = [Bar.of("4/4", "1/1", number) for number in (1, 5)]
    [svg] = strips(bars, UKULELE, DESK, same_as={5: 1})
    assert ">5 as 1<" in svg
    assert svg.count('class="band"') == 1


def test_paper_has_no_tint_and_its_counts_are_black():
    svg = strip([Bar.of("4/4", "1/1")], UKULELE, PAPER)
    assert "#eee" not in svg and "#00573d" not in svg


def test_hard_counts_stand_under_a_bracket_that_ends_with_their_last_count():
    bar = Bar.of("4/4", "1/4 1/8 1/8 1/2")
    [svg] = strips([bar], UKULELE, DESK, hard={1: (Fraction(1, 4), Fraction(1, 2))})
    counts = {e.text: float(e.get("x")) for e in parsed(svg).iter(f"{SVG}text") if "c" in e.get("id", "")}
    [bracket] = [e.get("d") for e in parsed(svg).iter(f"{SVG}path") if e.get("class") == "hard"]
    left = float(bracket[1:].split()[0])
    right = float(bracket.split("H")[1].split("v")[0])
    assert counts["1"] < left < counts["2"]
    assert counts["&"] < right < counts["(3)"] if "(3)" in counts else right < counts["3"]


def test_a_tied_fret_is_in_brackets_and_a_muted_one_is_a_cross():
    tied = Event(Fraction(0), Fraction(1, 2), (Note.at(UKULELE, 1, 3, tied=True),))
    muted = Event(Fraction(1, 2), Fraction(1, 2), (Note.at(UKULELE, 1, 0, muted=True),))
    svg = strip([Bar(2, Meter(4, 4), (tied, muted))], UKULELE)
    assert ">(3)<" in svg and ">×<" in svg


def test_a_change_of_meter_is_always_shown_and_the_first_only_when_wanted():
    bars = [Bar.of("4/4", "1/1", 1), Bar.of("3/4", "3/4", 2)]
    shown = [
        t.text for s in systems(bars, UKULELE, DESK, Findings({}, {}, {})) for t in s.texts if t.look == "ink"
    ]
    assert shown == ["3", "4"]
    with_meter = systems(bars[:1], UKULELE, DESK.but(meter=True), Findings({}, {}, {}))
    assert [t.text for t in with_meter[0].texts if t.look == "ink"] == ["4", "4"]


def test_a_bar_that_cannot_be_counted_is_still_drawn():
    odd = Bar.of("4/4", "1/28 27/28")
    assert "b1e2" in strip([odd], UKULELE)


def test_the_bars_of_each_line_are_known_before_they_are_drawn():
    dense = [replace(sixteenths(), number=number) for number in range(1, 5)]
    plain = [Bar.of("4/4", "1/2 1/2", number) for number in range(5, 11)]
    lines = lines_of_bars([*dense, *plain], UKULELE, DESK)
    assert [[bar.number for bar in line] for line in lines] == [[1, 2], [3, 4], [5, 6, 7, 8], [9, 10]]
    assert len(strips([*dense, *plain], UKULELE, DESK)) == len(lines)


def test_the_maker_of_pdfs_draws_strip_staff_and_shape_without_complaint(caplog):
    bars = [Bar.of("4/4", "1/4 1/8 1/8 1/2", 1), replace(sixteenths(), number=2)]
    drawn = [*strips(bars, UKULELE, PAPER), staff(Score(bars=tuple(bars))), diagram(SHAPES["G7"])]

    def printed(pictures):
        images = (f"data:image/svg+xml;base64,{b64encode(p.encode()).decode()}" for p in pictures)
        html = "".join(f'<img alt="bars" style="width:10cm" src="{image}">' for image in images)
        return len(weasyprint.HTML(string=html).write_pdf(uncompressed_pdf=True))

    with caplog.at_level("WARNING", "weasyprint"):
        empty, *full = (printed(pictures) for pictures in ([], *([picture] for picture in drawn)))
    assert all(size > empty + 1500 for size in full)
    assert not caplog.records


def test_no_bars_give_no_systems():
    assert strips([], UKULELE) == []


@pytest.mark.parametrize("symbol", SYMBOLS)
def test_a_chord_name_wider_than_its_bar_stays_in_the_drawing(symbol):
    bar = replace(Bar.of("1/4", "1/4"), chords=(ChordMark(Fraction(0), symbol * 3),))
    [system] = systems([bar], UKULELE, PHONE.but(width=120), Findings({}, {}, {}))
    assert all(text.box.right <= system.width for text in system.texts)

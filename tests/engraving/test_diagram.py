"""Fret diagrams: each finger where it belongs, in either hand."""

from xml.etree import ElementTree

import pytest

from pieces.engraving.diagram import NUT, STRING_GAP, diagram
from pieces.music.shapes import Shape

SVG = "{http://www.w3.org/2000/svg}"
# Ukulele shapes of any method book (common practice, no source).
C = Shape("C", (0, 0, 0, 3), (0, 0, 0, 3), 0)
AM = Shape("Am", (2, 0, 0, 0), (2, 0, 0, 0), 0)
B_FLAT = Shape("Bb", (3, 2, 1, 1), (3, 2, 1, 1), 0)
HIGH = Shape("D", (7, 6, 5, 5), (3, 2, 1, 1), 0)
MUTED = Shape("D7", (None, 2, 0, 2), (None, 1, 0, 2), 0)


def texts(svg: str) -> dict[str, tuple[float, float]]:
    root = ElementTree.fromstring(svg)
    return {e.text: (float(e.get("x")), float(e.get("y"))) for e in root.iter(f"{SVG}text")}


def circles(svg: str, **wanted):
    root = ElementTree.fromstring(svg)
    return [c for c in root.iter(f"{SVG}circle") if all(c.get(k) == v for k, v in wanted.items())]


def test_the_little_marks_are_open_strings():
    assert len(circles(diagram(C), r="2.6")) == 3


def test_a_left_handed_diagram_is_the_mirror_of_the_right_handed_one():
    right, left = texts(diagram(C))["3"], texts(diagram(C, left_handed=True))["3"]
    assert right[0] - left[0] == STRING_GAP * 3 and right[1] == left[1]


def test_a_finger_that_stays_is_ringed():
    assert len(circles(diagram(AM, stays=(2,)), r="8.6")) == 1
    assert not circles(diagram(AM), r="8.6")


def test_a_finger_on_no_sounding_string_is_dashed():
    dashed = [c for c in circles(diagram(B_FLAT, needed=(1, 2))) if c.get("stroke-dasharray")]
    assert len(dashed) == 2
    assert "stroke-dasharray" not in diagram(B_FLAT)


def test_a_barre_is_one_bar_over_its_strings_with_one_finger():
    root = ElementTree.fromstring(diagram(B_FLAT))
    [barre] = list(root.iter(f"{SVG}rect"))
    assert float(barre.get("width")) == STRING_GAP + 12
    assert sorted(texts(diagram(B_FLAT))) == ["1", "2", "3"]


@pytest.mark.parametrize("left_handed", [False, True])
def test_a_high_shape_names_its_first_fret_and_has_no_nut(left_handed):
    svg = diagram(HIGH, left_handed=left_handed)
    assert "5" in texts(svg)
    assert 'stroke-width="3"' not in svg and 'stroke-width="3"' in diagram(C)
    root = ElementTree.fromstring(svg)
    width = float(root.get("viewBox").split()[2])
    assert 0 <= texts(svg)["5"][0] < width - 5


def test_a_string_that_does_not_sound_has_a_cross():
    assert diagram(MUTED).count("l5.2 5.2") == 1


def test_the_title_says_the_shape_in_words():
    assert "<title>Am: 2000. Finger 2 on string 4 fret 2.</title>" in diagram(AM)
    assert "finger 1 across strings 2 to 1 at fret 1" in diagram(B_FLAT).lower()


def test_dots_of_shapes_on_four_and_six_strings_are_of_one_size_on_the_page():
    guitar = Shape("E", (0, 2, 2, 1, 0, 0), (0, 2, 3, 1, 0, 0), 0)

    def units_a_rem(svg):
        root = ElementTree.fromstring(svg)
        return float(root.get("viewBox").split()[2]) / float(root.get("width").removesuffix("rem"))

    assert units_a_rem(diagram(guitar)) == pytest.approx(units_a_rem(diagram(C)), rel=0.01)


def test_the_first_fret_lies_under_the_nut():
    y = texts(diagram(Shape("F", (2, 0, 1, 0), (2, 0, 1, 0), 0)))
    assert NUT < y["1"][1] < y["2"][1]

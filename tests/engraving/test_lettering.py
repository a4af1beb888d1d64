"""Widths of texts, against the font files the pages use."""

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from pieces.engraving.lettering import ADVANCES, text_width

FONTS = Path(__file__).resolve().parents[2] / "studio/static/studio/fonts"
FILES = {
    "said": "besley-latin-800-normal.woff2",
    "said light": "besley-latin-500-normal.woff2",
    "read": "libre-franklin-latin-400-normal.woff2",
    "read bold": "libre-franklin-latin-700-normal.woff2",
    "read italic": "libre-franklin-latin-400-italic.woff2",
}


@pytest.mark.parametrize("voice", FILES)
def test_widths_are_those_of_the_font_file(voice):
    font = TTFont(FONTS / FILES[voice])
    signs, widths, em = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
    for sign, width in ADVANCES[voice].items():
        if ord(sign) in signs:
            assert width >= widths[signs[ord(sign)]][0] / em - 0.001, sign


def test_an_unknown_sign_is_given_the_room_of_the_widest():
    assert text_width("\N{SNOWMAN}", 10, "read") >= text_width("W", 10, "read")

"""Verovio's SVG made plain: one ``<svg>``, glyphs in their places, our classes and ids.

What Verovio leaves to a style sheet is written as attributes, and an id stays only if
we gave it, so that two staves on a page keep apart.
"""

import re
from html import escape
from xml.etree import ElementTree as ET

from pieces.engraving.ink import num
from pieces.engraving.lettering import FACES

_SVG = "{http://www.w3.org/2000/svg}"
_SHAPES = {"path", "polygon", "polyline", "rect", "ellipse", "circle"}
_STROKED = re.compile(r"^M[-\d. ]+L[-\d. ]+$")
_KEPT = ("d", "points", "x", "y", "width", "height", "rx", "cx", "cy", "r", "ry", "stroke-width")
# Verovio leaves room for the narrower Times.
_BESLEY = 0.78
_KEPT_OF_TEXT = ("x", "y", "dx", "dy", "text-anchor")


def flatten(svg: str, prefix: str, title: str) -> str:
    """The SVG as a single drawing with ``title``; ids that do not begin with ``prefix`` + b are dropped."""
    root = ET.fromstring(svg)
    box = root.get("viewBox")
    inner = next(root.iter(f"{_SVG}svg") if root.tag != f"{_SVG}svg" else root.iterfind(f"{_SVG}svg"))
    factor = float(box.split()[2]) / float(inner.get("viewBox").split()[2])
    glyphs = {g.get("id"): g for g in root.iterfind(f"{_SVG}defs/{_SVG}g")}
    ours = re.compile(rf"^{re.escape(prefix)}b\d+(e\d+(p\d+)?)?$")
    body = "".join(_plain(child, glyphs, ours) for child in inner)
    left, top, width, height = map(float, box.split())
    return (
        f'<svg class="strip staff" viewBox="{num(left)} {num(top)} {num(width)} {num(height)}" role="img" '
        f'xmlns="http://www.w3.org/2000/svg"><title>{escape(title, quote=False)}</title>'
        f'<g transform="scale({factor:g})">{body}</g></svg>'
    )


def _plain(element: ET.Element, glyphs: dict[str, ET.Element], ours: re.Pattern, kind: str = "") -> str:
    tag = element.tag.removeprefix(_SVG)
    if tag in _SHAPES:
        return _shape(element, tag)
    if tag == "use":
        place = element.get("transform")
        shapes = "".join(_shape(path, "path") for path in glyphs[element.get("href")[1:]])
        return f'<g transform="{place}">{shapes}</g>'
    if tag == "text":
        return _text(element, kind)
    if tag != "g" or "placeholder" in element.get("class", ""):
        return ""
    inside = "".join(_plain(child, glyphs, ours, element.get("class", "")) for child in element)
    if not inside:
        return ""
    attributes = f' transform="{element.get("transform")}"' if element.get("transform") else ""
    if ours.match(element.get("id", "")):
        attributes = f' id="{element.get("id")}"{attributes}'
    return f"<g{attributes}>{inside}</g>" if attributes else inside


def _shape(element: ET.Element, tag: str) -> str:
    """A line of the staff is stroked; a glyph, beam or slur is filled."""
    attributes = "".join(f' {name}="{element.get(name)}"' for name in _KEPT if element.get(name) is not None)
    if element.get("transform"):
        attributes += f' transform="{element.get("transform")}"'
    lined = tag == "polyline" or _STROKED.match(element.get("d", "")) or element.get("fill") == "none"
    if lined:
        return f'<{tag} class="bl" fill="none" stroke="#000"{attributes}/>'
    attributes = re.sub(r' stroke-width="[^"]*"', "", attributes)
    return f'<{tag} class="ink" fill="#000"{attributes}/>'


def _text(element: ET.Element, kind: str) -> str:
    """A text with its words in one run: Verovio wraps them in several."""
    words = "".join(element.itertext()).strip()
    if not words:
        return ""
    places = {name: element.get(name) for name in _KEPT_OF_TEXT}
    size = None
    for inner in element.iter():
        for name in _KEPT_OF_TEXT:
            places[name] = places[name] or inner.get(name)
        if (inner.get("font-size") or "0px") != "0px":
            size = inner.get("font-size")
    attributes = "".join(f' {name}="{value}"' for name, value in places.items() if value)
    chord = kind == "harm"
    face = FACES["said" if chord else "read"]
    look = "ink said" if chord else "ink"
    set_at = float((size or "300px").removesuffix("px")) * (_BESLEY if chord else 1)
    return (
        f'<text class="{look}" fill="#000" font-family="{face.family}" font-weight="{face.weight}" '
        f'font-size="{num(set_at)}"'
        f"{attributes}>{escape(words, quote=False)}</text>"
    )

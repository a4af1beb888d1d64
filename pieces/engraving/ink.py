"""A drawing as plain SVG text, and the texts in it as values with a box.

Colours written as attributes are those of print. On screen the page's tokens win
through the classes: ``band halo st gr sm bl fr c am hd ink in2 on hard``, and
``said`` for what is set in Besley.
"""

from collections.abc import Iterable
from html import escape
from typing import Literal, NamedTuple

from pieces.engraving.lettering import FACES, Voice, text_depth, text_rise, text_width

Anchor = Literal["start", "middle", "end"]

INK, INK_2, GREEN, STRING, HAIR, TINT, WHITE = "#000", "#333", "#00573d", "#555", "#bbb", "#eee", "#fff"
FILLS = {"ink": INK, "in2": INK_2, "fr": INK, "c": GREEN, "am": GREEN, "hd": INK_2, "on": WHITE}

# Besley has no prime, as in A′.
_PRIME = '<tspan font-family="Franklin, sans-serif">′</tspan>'


class Box(NamedTuple):
    """A rectangle; y runs downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: "Box") -> bool:
        """Whether the two share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


class Text(NamedTuple):
    """A text at its baseline. ``look`` is one of ``FILLS``; ``extra`` more attributes."""

    x: float
    y: float
    text: str
    size: float
    voice: Voice = "read"
    look: str = "in2"
    anchor: Anchor = "middle"
    extra: str = ""

    @property
    def width(self) -> float:
        return text_width(self.text, self.size, self.voice)

    @property
    def kind(self) -> tuple:
        """What texts share that are set alike."""
        return self.look, self.voice, self.size, self.anchor

    @property
    def box(self) -> Box:
        """The rectangle its signs fill, from the metrics of the face."""
        left = self.x - self.width * {"start": 0, "middle": 0.5, "end": 1}[self.anchor]
        return Box(
            left,
            self.y - text_rise(self.size, self.voice),
            left + self.width,
            self.y + text_depth(self.text, self.size, self.voice),
        )


def num(value: float) -> str:
    """A coordinate to a tenth of a unit.

    >>> num(12.0), num(3.14159)
    ('12', '3.1')
    """
    text = f"{value:.1f}"
    return text[:-2] if text.endswith(".0") else text


def type_attributes(text: Text, *, black: bool = False) -> str:
    """The attributes that texts of one kind share."""
    face = FACES[text.voice]
    fill = INK if black and text.look in ("c", "am") else FILLS[text.look]
    style = f' font-style="{face.style}"' if face.style != "normal" else ""
    return (
        f'class="{text.look}" fill="{fill}" font-family="{face.family}" font-weight="{face.weight}"'
        f'{style} font-size="{num(text.size)}" text-anchor="{text.anchor}"'
    )


def draw_texts(texts: Iterable[Text], *, black: bool = False, bare: Text | None = None) -> str:
    """SVG of ``texts``, those of one kind in one group.

    ``black``: counts in ink, for paper. Texts of the kind of ``bare`` get no group,
    as they will stand in one.
    """
    kinds: dict[tuple, list[str]] = {}
    heads: dict[tuple, str] = {bare.kind: ""} if bare else {}
    for text in texts:
        if text.kind not in heads:
            heads[text.kind] = f"<g {type_attributes(text, black=black)}>"
        signs = escape(text.text, quote=False).replace("′", _PRIME)
        said = _said(text)
        kinds.setdefault(text.kind, []).append(
            f'<text{said} x="{num(text.x)}" y="{num(text.y)}"{text.extra}>{signs}</text>'
        )
    return "".join(
        f"{heads[kind]}{''.join(items)}{'</g>' if heads[kind] else ''}" for kind, items in kinds.items()
    )


def _said(text: Text) -> str:
    """The class by which a page sets one text in Besley, since it sets all others in Franklin."""
    if not text.voice.startswith("said"):
        return ""
    return f' class="{text.look}"' if text.look in ("c", "am", "hd") else f' class="{text.look} said"'


def line(d: str, look: str, width: float | None = None, *, more: str = "") -> str:
    """A stroked path; nothing for an empty one."""
    if not d:
        return ""
    colour = {"gr": HAIR, "st": STRING}.get(look, INK)
    thick = f' stroke-width="{width:g}"' if width else ""
    return f'<path class="{look}" fill="none" stroke="{colour}"{thick}{more} d="{d}"/>'


def solid(d: str, look: str = "ink") -> str:
    """A filled path; nothing for an empty one."""
    colour = {"halo": WHITE}.get(look, INK)
    return f'<path class="{look}" fill="{colour}" d="{d}"/>' if d else ""


def dot(x: float, y: float, radius: float) -> str:
    """Path data of a filled circle."""
    r = f"{radius:g}"
    return f"M{num(x - radius)} {num(y)}a{r} {r} 0 1 0 {2 * radius:g} 0a{r} {r} 0 1 0 {-2 * radius:g} 0z"


def rectangle(left: float, top: float, right: float, bottom: float) -> str:
    """Path data of a rectangle."""
    return f"M{num(left)} {num(top)}H{num(right)}V{num(bottom)}H{num(left)}z"

"""Fret diagrams: where the fingers of the left hand go.

The figure in a dot is the finger. A finger that stays from the shape before is
ringed; a finger that is not needed for the strings that sound is dashed and hollow.
"""

from collections.abc import Collection
from html import escape
from typing import NamedTuple

from pieces.engraving.ink import Text, draw_texts, num
from pieces.music.shapes import Shape

STRING_GAP = 12
FRET_GAP = 13
NUT = 13
_OPEN = 6
_DOT = 6
_RING = 8.6
_LEFT = 9
_FEWEST_FRETS = 3
# A shape that reaches no higher is drawn from the nut.
_LAST_FROM_NUT = 4


class Figure(NamedTuple):
    """A drawn diagram without its ``<svg>``, so that a strip can set it among its bars."""

    svg: str
    width: float
    height: float


def diagram(
    shape: Shape,
    *,
    needed: Collection[int] | None = None,
    stays: Collection[int] = (),
    left_handed: bool = False,
    width: str = "3.5rem",
) -> str:
    """The fret diagram of ``shape`` as an ``<svg>``.

    ``needed``: the strings that sound, where not all do; fingers on other strings only
    are drawn dashed. ``stays``: fingers that were down already, drawn with a ring.
    ``width`` is a CSS width for a shape of four strings at the nut; a wider one grows
    in proportion, so that all dots of a page are of one size.

    >>> diagram(Shape("C", (0, 0, 0, 3), (0, 0, 0, 3), 0.0)).count("<text")
    1
    """
    figure = draw_shape(shape, needed=needed, stays=stays, left_handed=left_handed)
    size, unit = _css_length(width)
    return (
        f'<svg class="shape strip" width="{size * figure.width / 54:.4g}{unit}" role="img" '
        f'viewBox="0 0 {num(figure.width)} {num(figure.height)}" xmlns="http://www.w3.org/2000/svg">'
        f"<title>{escape(title_of(shape, needed=needed), quote=False)}</title>{figure.svg}</svg>"
    )


def draw_shape(
    shape: Shape,
    *,
    needed: Collection[int] | None = None,
    stays: Collection[int] = (),
    left_handed: bool = False,
) -> Figure:
    """The same diagram as bare SVG with its size; see ``diagram``."""
    count = len(shape.frets)
    base, rows = _window(shape)
    number = _fret_number(base)
    left = _LEFT + (number.width + 1 if number and left_handed else 0)
    right = 9 + (number.width + 1 if number and not left_handed else 0)

    def x_of(string: int) -> float:
        place = string - 1 if left_handed else count - string
        return left + STRING_GAP * place

    foot = NUT + FRET_GAP * rows
    drawing = [_board(left, count, rows, base)]
    texts = []
    if number:
        texts.append(number._replace(x=0 if left_handed else left + STRING_GAP * (count - 1) + 9))
    for finger, fret, high, low in shape.barres:
        y = _y_of(fret, base)
        dashed = not _is_needed(range(low, high + 1), needed)
        drawing.append(_barre(x_of(high), x_of(low), y, dashed))
        if finger in stays:
            drawing.append(_barre_ring(x_of(high), x_of(low), y))
        texts.append(_finger(x_of(high), y, finger, dashed))
    barred = {(finger, fret) for finger, fret, _, _ in shape.barres}
    for place, (fret, finger) in enumerate(zip(shape.frets, shape.fingers, strict=True)):
        string = count - place
        if not fret:
            drawing.append(_silent(x_of(string)) if fret is None else _open(x_of(string)))
        elif (finger, fret) not in barred:
            dashed = not _is_needed((string,), needed)
            drawing.append(_stopped(x_of(string), _y_of(fret, base), dashed, finger in stays))
            if finger:
                texts.append(_finger(x_of(string), _y_of(fret, base), finger, dashed))
    return Figure("".join(drawing) + draw_texts(texts), left + STRING_GAP * (count - 1) + right, foot + 2)


def title_of(shape: Shape, *, needed: Collection[int] | None = None) -> str:
    """The shape in words, for a screen reader.

    >>> title_of(Shape("Am", (2, 0, 0, 0), (2, 0, 0, 0), 0.0))
    'Am: 2000. Finger 2 on string 4 fret 2.'
    """
    count = len(shape.frets)
    barred = {finger for finger, *_ in shape.barres}
    said = [
        f"finger {finger} across strings {high} to {low} at fret {fret}"
        for finger, fret, high, low in shape.barres
    ]
    for place, (fret, finger) in enumerate(zip(shape.frets, shape.fingers, strict=True)):
        if fret and finger not in barred:
            who = f"finger {finger}" if finger else "a finger"
            said.append(f"{who} on string {count - place} fret {fret}")
    silent = [str(count - place) for place, fret in enumerate(shape.frets) if fret is None]
    if silent:
        said.append(f"string{'s' if len(silent) > 1 else ''} {', '.join(silent)} not played")
    if needed is not None:
        said.append(f"only strings {', '.join(map(str, sorted(needed, reverse=True)))} sound")
    text = ", ".join(said) or "all strings open"
    return f"{shape.symbol}: {shape.written}. {text[0].upper()}{text[1:]}."


def _window(shape: Shape) -> tuple[int, int]:
    """The first fret shown and how many are."""
    stopped = [fret for fret in shape.frets if fret]
    if not stopped or max(stopped) <= _LAST_FROM_NUT:
        return 1, max(_FEWEST_FRETS, max(stopped, default=0))
    base = min(stopped)
    return base, max(_FEWEST_FRETS, max(stopped) - base + 1)


def _y_of(fret: int, base: int) -> float:
    return NUT + FRET_GAP * (fret - base + 0.5)


def _is_needed(strings: Collection[int], needed: Collection[int] | None) -> bool:
    return needed is None or any(string in needed for string in strings)


def _board(left: float, count: int, rows: int, base: int) -> str:
    across = STRING_GAP * (count - 1)
    strings = "".join(f"M{num(left + STRING_GAP * i)} {NUT}v{FRET_GAP * rows}" for i in range(count))
    frets = "".join(f"M{num(left)} {NUT + FRET_GAP * (row + 1)}h{across}" for row in range(rows))
    nut = 3 if base == 1 else 1
    return (
        f'<path class="st" fill="none" stroke="#555" d="{strings}{frets}"/>'
        f'<path class="bl" stroke="#000" stroke-width="{nut}" d="M{num(left - 0.5)} {NUT}h{across + 1}"/>'
    )


def _fret_number(base: int) -> Text | None:
    if base == 1:
        return None
    return Text(0, _y_of(base, base) + 3.8, str(base), 11, "read bold", "in2", "start")


def _open(x: float) -> str:
    return f'<circle class="sm" fill="none" stroke="#000" cx="{num(x)}" cy="{_OPEN}" r="2.6"/>'


def _silent(x: float) -> str:
    return (
        f'<path class="sm" fill="none" stroke="#000" stroke-width="1.2" '
        f'd="M{num(x - 2.6)} {_OPEN - 2.6}l5.2 5.2m0 -5.2l-5.2 5.2"/>'
    )


def _stopped(x: float, y: float, dashed: bool, stays: bool) -> str:
    ring = (
        f'<circle class="sm" fill="none" stroke="#000" stroke-width="1.3" '
        f'cx="{num(x)}" cy="{num(y)}" r="{_RING}"/>'
    )
    if dashed:
        mark = (
            f'<circle class="halo sm" fill="#fff" stroke="#000" stroke-dasharray="2 1.6" '
            f'cx="{num(x)}" cy="{num(y)}" r="{_DOT - 0.5}"/>'
        )
    else:
        mark = f'<circle class="ink" fill="#000" cx="{num(x)}" cy="{num(y)}" r="{_DOT}"/>'
    return (ring if stays else "") + mark


def _capsule(x1: float, x2: float, y: float, radius: float) -> str:
    left, right = min(x1, x2), max(x1, x2)
    return (
        f'x="{num(left - radius)}" y="{num(y - radius)}" width="{num(right - left + 2 * radius)}" '
        f'height="{2 * radius:g}" rx="{radius:g}"'
    )


def _barre(x1: float, x2: float, y: float, dashed: bool) -> str:
    if dashed:
        return (
            f'<rect class="halo sm" fill="#fff" stroke="#000" stroke-dasharray="2 1.6" '
            f"{_capsule(x1, x2, y, _DOT - 0.5)}/>"
        )
    return f'<rect class="ink" fill="#000" {_capsule(x1, x2, y, _DOT)}/>'


def _barre_ring(x1: float, x2: float, y: float) -> str:
    return f'<rect class="sm" fill="none" stroke="#000" stroke-width="1.3" {_capsule(x1, x2, y, _RING)}/>'


def _finger(x: float, y: float, finger: int, dashed: bool) -> Text:
    return Text(x, y + 3.4, str(finger), 9 if dashed else 10.5, "read bold", "ink" if dashed else "on")


def _css_length(text: str) -> tuple[float, str]:
    digits = text.rstrip("abcdefghijklmnopqrstuvwxyz%")
    return float(digits), text[len(digits) :]

"""The line of rhythm under the strings: stems, flags, beams, dots, rests and tuplets."""

from fractions import Fraction

from pieces.engraving.ink import Text, dot, line, num, rectangle, solid
from pieces.engraving.options import StripOptions
from pieces.engraving.place import Lines, PlacedBar
from pieces.engraving.rhythm import Value, beam_groups, tuplet_groups, written
from pieces.music.score import Event

# In units of half a figure, about the middle of the sign.
_QUARTER_REST = (
    "M-.45 -2.2L.75 -.65Q-.1 .2 .85 1.3Q-.55 .75 .05 2.2Q-1.3 1.1 -.35 .35L-.75 -.35Q.3 -1.2 -.45 -2.2z"
)


def draw_rhythm(placed: PlacedBar, lines: Lines, options: StripOptions) -> tuple[str, list[Text]]:
    """SVG of the stems, beams and tuplet brackets of a bar, and the tuplets' numbers."""
    groups = beam_groups(placed.bar)
    beamed = {i for group in groups for i in group}
    stems, flags, dots = [], [], []
    for i, event in enumerate(placed.bar.events):
        if event.is_rest:
            continue
        onset = event.onset
        values = written(event.duration, event.tuplet)
        for part, value in enumerate(values):
            x = placed.x(onset)
            stems.append(_stem(x, value, lines))
            if i not in beamed:
                flags.append(_flags(x, value, lines, options))
            dots.append(_dots(x, value, lines, options, i in beamed))
            if part:
                stems.append(_tie(placed.x(onset - values[part - 1].length), x, lines))
            onset += _sounding(value, event)
    beams = "".join(_beams(placed, group, lines, options) for group in groups)
    brackets, numbers = _tuplets(placed, groups, lines, options)
    svg = (
        line("".join(stems), "sm", options.stem)
        + line(brackets, "sm", 0.8)
        + solid(beams + "".join(flags) + "".join(dots))
    )
    return svg, numbers


def draw_rest(placed: PlacedBar, event: Event, lines: Lines, options: StripOptions) -> str:
    """The signs of a rest, amid the strings; a rest of a whole bar stands in its middle."""
    unit = options.fret * 0.5
    if event.duration == placed.bar.length and not placed.bar.is_pickup:
        last = placed.measured.counts[-1].onset if placed.measured.counts else Fraction(0)
        return _rest_sign((placed.x(0) + placed.x(last)) / 2, Value(Fraction(1), 0), lines, unit)
    onset, signs = event.onset, []
    for value in written(event.duration, event.tuplet):
        signs.append(_rest_sign(placed.x(onset), value, lines, unit))
        onset += _sounding(value, event)
    return "".join(signs)


def _sounding(value: Value, event: Event) -> Fraction:
    return value.length / Fraction(*event.tuplet) if event.tuplet else value.length


def _stem(x: float, value: Value, lines: Lines) -> str:
    if value.base >= 1:
        return ""
    half = (lines.stem_foot - lines.stem_top) / 2
    top = lines.stem_top if value.base < Fraction(1, 2) else lines.stem_foot - half
    return f"M{num(x)} {num(top)}V{num(lines.stem_foot)}"


def _tie(left: float, right: float, lines: Lines) -> str:
    y = lines.stem_foot - 1
    return f"M{num(left + 3)} {num(y)}Q{num((left + right) / 2)} {num(y + 4)} {num(right - 3)} {num(y)}"


def _flags(x: float, value: Value, lines: Lines, options: StripOptions) -> str:
    s = options.fret / 13
    gap = options.beam * 1.75
    flag = (
        f"c{num(0.3 * s)} {num(-3.4 * s)} {num(6 * s)} {num(-3.2 * s)} {num(4.6 * s)} {num(-8.4 * s)}"
        f"c{num(0.4 * s)} {num(4.2 * s)} {num(-3.4 * s)} {num(3.6 * s)} {num(-4.6 * s)} {num(5.6 * s)}z"
    )
    left = x - options.stem / 2
    return "".join(f"M{num(left)} {num(lines.stem_foot - gap * i)}{flag}" for i in range(value.beams))


def _dots(x: float, value: Value, lines: Lines, options: StripOptions, beamed: bool) -> str:
    """Dots at the foot of a stem, clear of its flag or above its beams."""
    radius = round(options.fret * 0.09, 2)
    shift = options.fret * (0.6 if value.beams and not beamed else 0.3)
    y = lines.stem_foot - radius - (value.beams * options.beam * 1.75 if beamed else 0)
    return "".join(dot(x + shift + options.fret * 0.3 * i, y, radius) for i in range(value.dots))


def _beams(placed: PlacedBar, group: tuple[int, ...], lines: Lines, options: StripOptions) -> str:
    """The beams of a group as rectangles: the first along the foot, finer ones above it."""
    events = placed.bar.events
    xs = [placed.x(events[i].onset) for i in group]
    depth = [written(events[i].duration, events[i].tuplet)[0].beams for i in group]
    half = options.stem / 2
    drawn = []
    for level in range(max(depth)):
        foot = lines.stem_foot - level * options.beam * 1.75
        for left, right in _beam_runs(xs, [d > level for d in depth], options.fret * 0.5):
            drawn.append(rectangle(left - half, foot - options.beam, right + half, foot))
    return "".join(drawn)


def _beam_runs(xs: list[float], beamed: list[bool], stub: float) -> list[tuple[float, float]]:
    """Stretches of one level of beams; a single note gets a stub toward its neighbour."""
    runs = []
    start = None
    for i, on in enumerate([*beamed, False]):
        if on and start is None:
            start = i
        elif not on and start is not None:
            if i - 1 > start:
                runs.append((xs[start], xs[i - 1]))
            elif start == 0:
                runs.append((xs[0], xs[0] + stub))
            else:
                runs.append((xs[start] - stub, xs[start]))
            start = None
    return runs


def _tuplets(placed, groups, lines: Lines, options: StripOptions) -> tuple[str, list[Text]]:
    brackets, numbers = [], []
    size = options.note
    for first, last, number in tuplet_groups(placed.bar.events):
        left = placed.x(placed.bar.events[first].onset)
        right = placed.x(placed.bar.events[last].onset)
        text = Text((left + right) / 2, lines.tuplet, str(number), size, "read italic", "ink")
        numbers.append(text)
        if tuple(range(first, last + 1)) not in groups:
            y = lines.tuplet - size * 0.3
            half = text.width / 2 + 2
            hook = y - size * 0.3
            brackets.append(
                f"M{num(left - 2)} {num(hook)}V{num(y)}H{num(max(left - 2, text.x - half))}"
                f"M{num(min(right + 2, text.x + half))} {num(y)}H{num(right + 2)}V{num(hook)}"
            )
    return "".join(brackets), numbers


def _rest_sign(x: float, value: Value, lines: Lines, u: float) -> str:
    """A rest amid the strings; ``u`` is half the size of a figure.

    A whole rest hangs from the upper of the two middle strings, a half rest sits on
    the lower.
    """
    middle = lines.middle
    if value.base > Fraction(1, 4):
        hangs = value.base >= 1
        edge = lines.y(max(1, lines.strings // 2)) if hangs else lines.y(lines.strings // 2 + 1)
        top = edge if hangs else edge - u * 0.85
        dots = _rest_dots(x, value, top + u * 0.4, u)
        return solid(rectangle(x - u * 0.95, top, x + u * 0.95, top + u * 0.85) + dots)
    dots = _rest_dots(x, value, middle - u * 0.4, u)
    if value.base == Fraction(1, 4):
        return solid(_scaled(_QUARTER_REST, x, middle, u) + dots)
    hooks = value.beams
    top = middle - u * (0.3 + 0.5 * hooks)
    blobs, stroke = [], []
    for i in range(hooks):
        y = top + i * u
        shift = -0.28 * u * i
        blobs.append(dot(x + shift - u * 0.55, y + u * 0.1, round(u * 0.3, 2)))
        stroke.append(
            f"M{num(x + shift - u * 0.5)} {num(y + u * 0.35)}"
            f"Q{num(x + shift + u * 0.2)} {num(y + u * 0.4)} {num(x + shift + u * 0.6)} {num(y - u * 0.2)}"
        )
    fall = u * (1.5 + hooks)
    stroke.append(f"M{num(x + u * 0.6)} {num(top - u * 0.2)}l{num(-fall * 0.28)} {num(fall)}")
    return solid("".join(blobs) + dots) + line("".join(stroke), "sm", round(u * 0.22, 2))


def _rest_dots(x: float, value: Value, y: float, u: float) -> str:
    return "".join(dot(x + u * (1.5 + 0.6 * i), y, round(u * 0.2, 2)) for i in range(value.dots))


def _scaled(d: str, x: float, y: float, u: float) -> str:
    """Path data in units of ``u`` about (x, y); coordinates come in pairs parted by a space."""
    out, token, axis = [], "", 0
    for sign in d + " ":
        if sign.isdigit() or sign in "-.":
            token += sign
            continue
        if token:
            out.append(num((x if axis == 0 else y) + float(token) * u))
            axis, token = 1 - axis, ""
        out.append(sign)
    return "".join(out).strip()

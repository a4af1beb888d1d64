"""Lines to write on by hand: empty tab with its count band, and empty fret diagrams."""

from pieces.engraving.ink import Text, draw_texts, line, num
from pieces.engraving.lettering import text_width
from pieces.engraving.options import PAPER, StripOptions
from pieces.music.tuning import Tuning

STRING_GAP, FRET_GAP, NUT = 12, 13, 16
FRETS = 5


def blank_strip(tuning: Tuning, *, bars: int = 4, beats: int = 4, options: StripOptions = PAPER) -> str:
    """One empty system: a line a string, ``bars`` bars, and a band for the count under it.

    Short strokes above the band mark ``beats`` to a bar, where the counts go.
    """
    size = options.fret * 0.7
    names = [_letter(pitch) for pitch in reversed(tuning.open_pitches)]
    left = max(text_width(name, size, "read") for name in names) + 5
    right = options.width - 3
    top = options.chord + options.chord_gap
    low = top + options.spacing * (len(names) - 1)
    band_top = low + options.room
    foot = band_top + options.band
    strings = "".join(
        f"M{num(left)} {num(top + n * options.spacing)}H{num(right)}" for n in range(len(names))
    )
    edges = f"M{num(left)} {num(band_top)}H{num(right)}M{num(left)} {num(foot)}H{num(right)}"
    bar = (right - left) / bars
    places = [left + bar * (at + (beat + 0.36) / beats) for at in range(bars) for beat in range(beats)]
    counts = "".join(f"M{num(x)} {num(band_top - 3)}v6" for x in places)
    walls = "".join(f"M{num(left + bar * n)} {num(top)}V{num(foot)}" for n in range(bars + 1))
    letters = [
        Text(0, top + n * options.spacing + size * 0.35, name, size, "read", "in2", "start")
        for n, name in enumerate(names)
    ]
    title = f"Empty tab for {tuning.name}: {bars} bars, with a band for the count."
    return _svg(
        options.width,
        foot + 2,
        title,
        line(strings, "st")
        + line(edges, "bl", 0.8)
        + line(counts, "gr")
        + line(walls, "bl")
        + draw_texts(letters),
    )


def blank_diagram(strings: int, *, frets: int = FRETS) -> str:
    """An empty fret diagram with room above it for the name and for open strings."""
    left, width = 9, STRING_GAP * (strings - 1)
    foot = NUT + FRET_GAP * frets
    lines = "".join(f"M{left + STRING_GAP * n} {NUT}V{foot}" for n in range(strings))
    lines += "".join(f"M{left} {NUT + FRET_GAP * (n + 1)}h{width}" for n in range(frets))
    nut = line(f"M{left - 0.5} {NUT}h{width + 1}", "bl", 3)
    return _svg(width + 2 * left, foot + 2, "Empty fret diagram.", line(lines, "st") + nut)


def _letter(pitch: int) -> str:
    return ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")[pitch % 12]


def _svg(width: float, height: float, title: str, drawing: str) -> str:
    return (
        f'<svg class="strip" viewBox="0 0 {num(width)} {num(height)}" role="img" '
        f'xmlns="http://www.w3.org/2000/svg"><title>{title}</title>{drawing}</svg>'
    )

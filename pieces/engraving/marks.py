"""What stands on the strings: frets, and how each is reached and held.

H is hammered on, P pulled off, sl slid (common practice, no source); a tie is an arc
to a fret in brackets.
"""

from dataclasses import dataclass, field

from pieces.engraving.columns import (
    FINGER,
    GRACE_AIR,
    column_half,
    finger_width,
    fret_half,
    fret_size,
    fret_text,
    fret_voice,
    grace_size,
    join_letters,
    join_size,
)
from pieces.engraving.ink import Text, draw_texts, line, num, rectangle, solid
from pieces.engraving.lettering import text_width
from pieces.engraving.options import StripOptions
from pieces.engraving.place import Lines, PlacedBar
from pieces.engraving.stems import draw_rest
from pieces.music.score import Event, Note


@dataclass(slots=True)
class Trail:
    """Where the last fret of each string ended, so that the next can be joined to it."""

    ends: dict[int, tuple[float, int | None]] = field(default_factory=dict)
    column: float | None = None


def draw_event(
    placed: PlacedBar, index: int, lines: Lines, trail: Trail, options: StripOptions
) -> tuple[str, list[Text]]:
    """One event as a group with its id, to stand in a group of ``fret_style``; and its texts."""
    event = placed.bar.events[index]
    x = placed.x(event.onset)
    if event.is_rest:
        body, texts = draw_rest(placed, event, lines, options), []
        trail.ends.clear()
    else:
        arcs, halos, texts = _draw_notes(event, x, placed, lines, trail, options)
        body = (
            line("".join(arcs), "sm", options.stem * 0.75)
            + solid("".join(halos), "halo")
            + draw_texts(texts, bare=fret_style(options))
        )
    trail.column = x
    return f'<g id="{placed.id}e{index + 1}" data-at="{event.onset}">{body}</g>', texts


def fret_style(options: StripOptions) -> Text:
    """How a plain fret is set."""
    return Text(0, 0, "", options.fret, "read bold", "fr")


def join_text(event: Event, x: float, before: float, y: float, options: StripOptions) -> Text | None:
    """The letters between a column and ``before``, on the line ``y``."""
    letters = join_letters(event)
    return Text((x + before) / 2, y, letters, join_size(options), "read", "in2") if letters else None


def _draw_notes(event: Event, x: float, placed: PlacedBar, lines: Lines, trail: Trail, options: StripOptions):
    notes = [note for note in event.notes if note.string is not None]
    arcs: list[str] = []
    halos: list[str] = []
    texts: list[Text] = []
    _draw_graces(event, x - column_half(event, options), lines, trail, options, halos, texts)
    for note in notes:
        y = lines.y(note.string)
        half = fret_half(note, options)
        wide = finger_width(note, options)
        arcs.append(_reach(note, x - half, y, placed, trail, lines))
        halos.append(rectangle(x - half, y - options.fret * 0.42, x + half + wide, y + options.fret * 0.42))
        texts.append(_fret_at(note, x, y, fret_size(note, options)))
        if wide:
            size = options.fret * FINGER
            sits = y + options.fret * 0.42
            texts.append(Text(x + half, sits, str(note.finger), size, "read", "in2", "start"))
        trail.ends[note.string] = (x + half + wide, note.fret)
    return arcs, halos, texts


def _draw_graces(event, right, lines, trail, options, halos, texts) -> None:
    """Grace notes leftwards from ``right``, the last of them nearest the note it leads to."""
    size = grace_size(options)
    for note in reversed(event.grace):
        half = text_width(fret_text(note), size, fret_voice(note)) / 2
        x = right - half - GRACE_AIR
        right -= 2 * half + GRACE_AIR
        if note.string is None:
            continue
        y = lines.y(note.string)
        halos.append(rectangle(x - half - 0.5, y - size * 0.45, x + half + 0.5, y + size * 0.45))
        texts.append(_fret_at(note, x, y, size))
        trail.ends.setdefault(note.string, (x + half, note.fret))


def _fret_at(note: Note, x: float, y: float, size: float) -> Text:
    look = "in2" if note.tied else "fr"
    sits = y + size * (0.33 if note.tied else 0.35)
    return Text(x, sits, fret_text(note), size, fret_voice(note), look)


def _reach(note: Note, right: float, y: float, placed: PlacedBar, trail: Trail, lines: Lines) -> str:
    """The arc or the slant that leads to a note; from the bar line where nothing stands before it."""
    if not (note.join or note.tied):
        return ""
    left, fret = trail.ends.get(note.string, (max(placed.left + 2, right - lines.spacing), None))
    left, right = left + 0.5, right - 0.5
    if right - left < 2:
        return ""
    if note.join == "slide":
        rise = lines.spacing * 0.28
        if fret is not None and note.fret is not None and fret > note.fret:
            rise = -rise
        return f"M{num(left)} {num(y + rise)}L{num(right)} {num(y - rise)}"
    bend = min(lines.spacing * 0.55, 1.5 + (right - left) * 0.12)
    foot = y - lines.spacing * 0.16
    crest = f"{num((left + right) / 2)} {num(foot - bend * 1.2)}"
    return f"M{num(left)} {num(foot)}Q{crest} {num(right)} {num(foot)}"

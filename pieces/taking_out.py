"""Taking a piece out as a file: everything that was worked out goes with it."""

from collections.abc import Callable
from dataclasses import dataclass

from django.utils.text import slugify

from pieces.models import Arrangement
from pieces.music.findings import Workup
from pieces.music.tab import write_tab
from pieces.reading import Frame, write_abc, write_midi, write_musicxml
from pieces.workup import workup_of


@dataclass(frozen=True)
class Way:
    """A kind of file: its ending, its media type, and what it is good for."""

    ending: str
    media: str
    name: str
    holds: str
    write: Callable[[Workup], str | bytes]


def _musicxml(workup: Workup) -> str:
    frames = {shape.symbol: Frame(shape.frets, shape.fingers) for shape in reversed(workup.shapes)}
    return write_musicxml(workup.score, frames)


# Media types: IANA's registry for MusicXML and ABC; audio/midi is what browsers and players use.
WAYS: dict[str, Way] = {
    way.ending: way
    for way in (
        Way(
            "musicxml",
            "application/vnd.recordare.musicxml+xml",
            "MusicXML",
            "All of it: notes, strings, frets, fingers, chords and their shapes. For notation programs.",
            _musicxml,
        ),
        Way(
            "txt",
            "text/plain; charset=utf-8",
            "Counted tab",
            "All of it, as text that can be typed on, mailed, and brought in again.",
            lambda workup: write_tab(workup.score),
        ),
        Way(
            "abc",
            "text/vnd.abc; charset=utf-8",
            "ABC",
            "Notes and chord names as text, without strings and fingers.",
            lambda workup: write_abc(workup.score),
        ),
        Way(
            "mid",
            "audio/midi",
            "MIDI",
            "What is heard, with its repeats, to play along with.",
            lambda workup: write_midi(workup.score, workup.order),
        ),
    )
}


@dataclass(frozen=True)
class Taken:
    """A file on its way out."""

    name: str
    media: str
    content: bytes


def take_out(arrangement: Arrangement, ending: str) -> Taken:
    """The arrangement as a file of that ending. Raises KeyError for an ending that is not in ``WAYS``."""
    way = WAYS[ending]
    piece = arrangement.piece
    content = way.write(workup_of(arrangement))
    name = slugify(f"{piece.title} {arrangement.name}") or f"piece-{piece.pk}"
    return Taken(f"{name}.{ending}", way.media, content.encode() if isinstance(content, str) else content)

"""The only door by which files come in, and the way they go out again.

``read_upload`` takes a file's bytes through the guard and has it read in a child
process under limits; ``write_musicxml``, ``write_midi`` and ``write_abc`` write a score.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from pieces.music.score import Problem, Score, UnreadableScore
from pieces.music.stored import score_from
from pieces.reading.abc_out import write_abc
from pieces.reading.guard import admit
from pieces.reading.helper import ask, warm
from pieces.reading.midi_out import write_midi
from pieces.reading.musicxml_marks import Frame
from pieces.reading.musicxml_out import write_musicxml
from pieces.reading.refusals import refused

__all__ = ["Frame", "Reading", "read_upload", "warm", "write_abc", "write_midi", "write_musicxml"]


@dataclass(frozen=True, slots=True)
class Reading:
    """What a file gave.

    ``score`` may not be set on strings yet (``score.is_set``). ``parts`` names what
    could have been chosen where there are several and none was: ``score`` is then the
    first. ``frames`` are drawn chord shapes by symbol: frets and fingers from the
    highest string number to string 1. ``grid`` is what MIDI was set to, None otherwise.
    """

    score: Score
    problems: list[Problem] = field(default_factory=list)
    parts: list[str] = field(default_factory=list)
    frames: Mapping[str, Frame] = field(default_factory=dict)
    grid: Fraction | None = None


def read_upload(
    name: str, data: bytes, *, part: int | None = None, grid: Fraction | str | None = None
) -> Reading:
    """Read a MusicXML, .mxl, ABC, MIDI or counted tab file.

    ``part`` is an index into ``Reading.parts`` as an earlier reading gave them;
    ``grid`` is the shortest step of MIDI as a part of a whole note ("1/16"). Raises
    ``UnreadableScore``, and nothing else, where the file cannot be read.
    """
    upload = admit(name, data)
    content = upload.content.encode() if isinstance(upload.content, str) else upload.content
    head = {"kind": upload.kind, "part": part, "grid": _grid(grid)}
    answer = ask(head, content)
    if "refused" in answer:
        raise UnreadableScore(Problem(**problem) for problem in answer["refused"])
    parts = answer["parts"]
    return Reading(
        score=score_from(answer["score"]),
        problems=[Problem(**problem) for problem in answer["problems"]],
        parts=parts if len(parts) > 1 and part is None else [],
        frames={s: Frame(tuple(f), tuple(g)) for s, (f, g) in answer.get("frames", {}).items()},
        grid=Fraction(answer["grid"]) if answer.get("grid") else None,
    )


def _grid(grid: Fraction | str | None) -> str | None:
    if grid is None or grid == "":
        return None
    try:
        step = Fraction(grid)
    except (ValueError, ZeroDivisionError) as error:
        raise refused(f"{grid!s:.20} is no grid.", "Choose a part of a whole note, such as 1/16.") from error
    if not (Fraction(1, 480) <= step <= 1):
        raise refused(f"{step} is no grid.", "Choose a part of a whole note, such as 1/16.")
    return str(step)

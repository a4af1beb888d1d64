"""What a child does with one file: read it into plain data, or say why not."""

from fractions import Fraction

from pieces.music.score import Problem, Score, UnreadableScore
from pieces.music.stored import to_data
from pieces.music.tab import check_tab
from pieces.reading.abc import parts_of_abc, read_tune
from pieces.reading.midi import read_midi
from pieces.reading.musicxml import read_musicxml
from pieces.reading.refusals import refuse, refused


def warm() -> None:
    """Import everything a job needs, so that each fork finds it ready."""
    read_musicxml(_SMALLEST, None)


def run(head: dict, content: bytes) -> dict:
    """Read ``content`` as ``head`` says: kind, part (an index or None), grid ("1/16" or None)."""
    part = head.get("part")
    if head["kind"] == "abc":
        return _abc(content.decode(), part)
    if head["kind"] == "tab":
        return _tab(content.decode())
    if head["kind"] == "midi":
        grid = Fraction(head["grid"]) if head.get("grid") else None
        return _data(*read_midi(content, part, grid))
    return _data(*read_musicxml(content.decode(), part))


def _abc(text: str, part: int | None) -> dict:
    parts = parts_of_abc(text)
    tune, voice, _ = parts[_within(part, len(parts))] if parts else _no_tune()
    score, problems = read_tune(tune, voice)
    return _data(score, problems, [name for _, _, name in parts], {})


def _tab(text: str) -> dict:
    score, problems = check_tab(text)
    if score is None:
        raise UnreadableScore(problems)
    return _data(score, problems, [], {})


def _within(part: int | None, count: int) -> int:
    if part is not None and not 0 <= part < count:
        raise refused(f"There is no part {part + 1} in this file.", "Choose one of its parts.")
    return part or 0


def _no_tune():
    raise refused("No notes stand in this ABC text.", "A tune has a K: line and notes after it.")


def _data(score: Score, problems: list[Problem], parts: list[str], more: dict) -> dict:
    return {
        "score": to_data(score),
        "problems": [to_data(problem) for problem in problems],
        "parts": parts,
        **more,
    }


def refusal(error: Exception) -> dict:
    """The answer where a file cannot be read; what a library says of itself is not repeated."""
    if isinstance(error, UnreadableScore):
        problems = error.problems
    else:
        problems = [refuse("This file is damaged or not written as its kind should be.", "Save it again.")]
    return {"refused": [to_data(problem) for problem in problems]}


_SMALLEST = (
    "<score-partwise><part-list><score-part id='P1'><part-name>a</part-name></score-part></part-list>"
    "<part id='P1'><measure number='1'><attributes><divisions>1</divisions></attributes>"
    "<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration></note></measure></part>"
    "</score-partwise>"
)

"""Any file a teacher may bring, as a score on an instrument's strings. No database."""

from dataclasses import dataclass

from pieces.music.score import Problem, Score, UnreadableScore
from pieces.music.setting import out_of_range, set_on_strings
from pieces.music.tab import check_tab
from pieces.music.tuning import Tuning
from pieces.reading import read_upload

TAB_ENDINGS = (".txt", ".tab")


@dataclass(frozen=True)
class Opened:
    """What a file holds. ``parts`` as in ``pieces.reading.Reading``."""

    score: Score
    problems: list[Problem]
    parts: list[str]


def open_music(name: str, data: bytes, *, part: int | None = None, grid=None) -> Opened:
    """Read a file by its name's ending. Raises ``UnreadableScore`` with every reason."""
    if name.lower().endswith(TAB_ENDINGS):
        score, problems = check_tab(data.decode("utf-8", "replace"))
        if score is None:
            raise UnreadableScore(problems)
        return Opened(score, problems, [])
    reading = read_upload(name, data, grid=grid)
    parts = list(reading.parts)
    if part in range(len(parts)):
        reading = read_upload(name, data, part=part, grid=grid)
    return Opened(reading.score, list(reading.problems), parts)


def open_on_strings(name: str, data: bytes, tuning: Tuning | None = None) -> Opened:
    """As ``open_music``, set on ``tuning`` (or the file's own). Raises ``UnreadableScore`` where it does not fit."""
    opened = open_music(name, data)
    wanted = tuning or opened.score.tuning
    if outside := out_of_range(opened.score, wanted):
        raise UnreadableScore([*opened.problems, *outside])
    return Opened(set_on_strings(opened.score, wanted), opened.problems, opened.parts)

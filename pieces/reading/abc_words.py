"""The words of an ABC tune: each ``w:`` line set under the notes of its line.

Source: the ABC notation standard 2.1, section 5.
"""

import re
from dataclasses import replace

from pieces.music.score import Bar

_PIECE = re.compile(r"[_*|\-]|(?:\\-|[^\s_*|\-])+|\s+")


def sing(bars: tuple[Bar, ...], line_starts: list[int], words: list[tuple[int, str]]) -> tuple[Bar, ...]:
    """``bars`` with the first verse under its notes.

    ``line_starts`` is the number of notes before each line of music, ``words`` are
    (index of the line of music, text of the ``w:`` line); further verses are left.
    """
    syllables: dict[int, str] = {}
    bar_of = _bar_of_each_note(bars)
    for line, text in dict(reversed(words)).items():
        _set_line(text, line_starts[line], bar_of, syllables)
    if not syllables:
        return bars
    note, sung = 0, []
    for bar in bars:
        events = []
        for event in bar.events:
            events.append(replace(event, lyric=syllables.get(note, "")) if event.notes else event)
            note += bool(event.notes)
        sung.append(replace(bar, events=tuple(events)))
    return tuple(sung)


def _bar_of_each_note(bars: tuple[Bar, ...]) -> list[int]:
    return [at for at, bar in enumerate(bars) for event in bar.events if event.notes]


def _set_line(text: str, note: int, bar_of: list[int], syllables: dict[int, str]) -> None:
    fresh = False  # whether a syllable has just been set, so that "-" joins it to the next
    for piece in _PIECE.findall(text.strip()):
        if piece.isspace():
            fresh = False
        elif piece == "-":
            if fresh:
                syllables[note - 1] += "-"
                fresh = False
            else:
                note += 1
        elif piece in "_*":
            note += 1
        elif piece == "|":
            while 0 < note < len(bar_of) and bar_of[note] == bar_of[note - 1]:
                note += 1
        else:
            syllables[note] = piece.replace("~", " ").replace("\\-", "-")[:60]
            note, fresh = note + 1, True

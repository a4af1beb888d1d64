"""What is heard of a score: each sound once, ties joined, in time from the start.

Times are fractions of a whole note. Two scores that are written differently and
sound the same have the same sounds.
"""

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from pieces.music.score import Score


class Sound(NamedTuple):
    """One string or voice sounding. ``string`` and ``fret`` are None where not set."""

    start: Fraction
    duration: Fraction
    pitch: int | None
    string: int | None
    fret: int | None


def sounds(score: Score, order: Iterable[int] | None = None) -> list[Sound]:
    """Every sound of ``score``, in order of start and pitch.

    ``order`` lists bar numbers as they are played (``form.unfold``); None plays each
    bar once, as written. Grace notes take no time and are left out.

    >>> from pieces.music.score import Bar
    >>> [str(sound.start) for sound in sounds(Score(bars=(Bar.of("3/4", "1/4 1/2"),)))]
    ['0', '1/4']
    """
    bars = score.bars if order is None else [score.bar(number) for number in order]
    found: list[Sound] = []
    held: dict[tuple, int] = {}  # what may be tied on: (pitch, string) and its end, to its place in found
    at = Fraction(0)
    for bar in bars:
        for event in bar.events:
            start = at + event.onset
            for note in event.notes:
                lasts = note.length if note.length is not None else event.duration
                before = held.pop((note.pitch, note.string, start), None) if note.tied else None
                if before is None:
                    before = len(found)
                    found.append(Sound(start, lasts, note.pitch, note.string, note.fret))
                else:
                    sound = found[before]
                    found[before] = sound._replace(duration=sound.duration + lasts)
                held[note.pitch, note.string, start + lasts] = before
        at += bar.length
    return sorted(
        found, key=lambda s: (s.start, -1 if s.pitch is None else s.pitch, s.string or 0, s.duration)
    )

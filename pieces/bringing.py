"""A brought file on its way to becoming a piece: read, set on strings, moved only by choice."""

from dataclasses import dataclass, replace
from pathlib import PurePath

from pieces.models import BroughtFile
from pieces.music.counting import BEATS_AND, Syllables
from pieces.music.score import Problem, Score
from pieces.music.setting import KeyChoice, fitting_keys, out_of_range, set_on_strings, transpose
from pieces.music.tuning import TUNINGS, Tuning
from pieces.opening import open_music
from pieces.showing import draft_strips
from pieces.studio_count import count_of

MIDI_ENDINGS = (".mid", ".midi")


@dataclass(frozen=True)
class Brought:
    """What was read with the answers given so far. ``asks`` is what must be answered next."""

    score: Score
    parts: list[str]
    keys: list[KeyChoice]
    problems: list[Problem]
    tuning: Tuning
    semitones: int
    title: str
    from_midi: bool
    asks: str = ""
    syllables: Syllables = BEATS_AND

    @property
    def ready(self) -> bool:
        return bool(self.score.bars and not self.asks)

    @property
    def melody_alone(self) -> bool:
        return all(len(event.notes) < 2 for bar in self.score.bars for event in bar.events)

    @property
    def strips(self) -> list[str]:
        return draft_strips(self.score, self.syllables)

    def titled(self, title: str) -> Score:
        return replace(self.score, title=title or self.title)


def look_at(kept: BroughtFile, *, part=None, tuning=None, semitones=0, grid=None) -> Brought:
    """Read a kept file. Raises ``UnreadableScore`` where it cannot be read at all."""
    name = kept.name.lower()
    from_midi = name.endswith(MIDI_ENDINGS)
    opened = open_music(kept.name, bytes(kept.data), part=part, grid=grid)
    score, problems, parts = opened.score, opened.problems, opened.parts
    title = score.title or PurePath(kept.name).stem
    wanted = TUNINGS[tuning] if tuning else score.tuning
    brought = _set(score, wanted, semitones or 0, parts, problems, title, from_midi)
    brought = replace(brought, syllables=count_of(kept.studio))
    if parts and part not in range(len(parts)):
        return replace(brought, asks="There are several parts. Choose the one to bring; this is the first.")
    return brought


def _set(score, tuning, semitones, parts, problems, title, from_midi) -> Brought:
    moved = transpose(score, semitones) if semitones else score
    outside = out_of_range(moved, tuning)
    keys = fitting_keys(score, tuning) if outside or semitones else []
    placed = set_on_strings(moved, tuning)
    asks = ""
    if outside:
        asks = f"This does not fit on {tuning.name} as written. Choose a key in which it does."
        if not keys:
            asks = f"This has a wider range than {tuning.name}. Choose another instrument."
    return Brought(placed, parts, keys, [*problems, *outside], tuning, semitones, title, from_midi, asks)

"""An open data package of shapes and fingers, as something to measure ours against.

Source: npm package ``@tombatossals/chords-db`` 0.5.1 (MIT; the licence stands in the
file). Positions that do not sound the chord they name, or whose fingers contradict
themselves, are left out (``known_bad_*.csv``). The package lists what a player would
reach for first as a chord's first position.
"""

import csv
import json
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

from pieces.music.fingering import hands
from pieces.music.shapes import Shape, find_shapes
from pieces.music.tuning import TUNINGS

FOLDER = Path(__file__).parents[2] / "fixtures" / "shapes"
TUNING_OF = {"ukulele": TUNINGS["ukulele high G"], "guitar": TUNINGS["guitar"]}
QUALITY_OF = {"major": "", "minor": "m", "69": "6/9"}
EASY_QUALITIES = frozenset({"major", "minor", "7", "m7", "maj7"})
# The weights were tuned on these roots; the other six were kept back to check them.
TUNED_ROOTS = frozenset({"C", "D", "E", "F#", "Gb", "Ab", "Bb"})
# Strings that both shapes sound, to call them the same up to muted strings.
FEWEST_COMMON_STRINGS = 4


class Position(NamedTuple):
    """One shape of the package; ``place`` counts from 0 in the package's order."""

    root: str
    quality: str
    place: int
    frets: tuple[int | None, ...]
    fingers: tuple[int | None, ...]

    @property
    def symbol(self) -> str:
        return self.root + QUALITY_OF.get(self.quality, self.quality)

    @property
    def is_tuned_on(self) -> bool:
        return self.root in TUNED_ROOTS


@cache
def positions(instrument: str) -> tuple[Position, ...]:
    """Every sound position of the common qualities for "ukulele" or "guitar"."""
    stored = json.loads((FOLDER / "chords-db-0.5.1.json").read_text())["shapes"][instrument]
    bad = _known_bad(instrument)
    return tuple(
        Position(root, quality, place, *_read(text))
        for root, qualities in stored.items()
        for quality, texts in qualities.items()
        for place, text in enumerate(texts)
        if (root, quality, place) not in bad
    )


def first_positions(instrument: str) -> list[Position]:
    return [position for position in positions(instrument) if position.place == 0]


def same_frets(shape: Shape, position: Position) -> bool:
    return shape.frets == position.frets


def same_up_to_muted(shape: Shape, position: Position) -> bool:
    """Whether the frets agree on every string that both sound.

    Those must be at least four, or all that the package sounds.
    """
    both = [
        (ours, theirs)
        for ours, theirs in zip(shape.frets, position.frets, strict=True)
        if ours is not None and theirs is not None
    ]
    theirs_sounding = sum(fret is not None for fret in position.frets)
    enough = min(FEWEST_COMMON_STRINGS, theirs_sounding)
    return len(both) >= enough and all(ours == theirs for ours, theirs in both)


def rank(instrument: str, position: Position, same=same_frets, within: int = 10) -> int | None:
    """The place, from 1, of the first of our shapes that is the ``same``, None if it is not ``within``."""
    shapes = find_shapes(position.symbol, TUNING_OF[instrument], limit=within)
    return next((place for place, shape in enumerate(shapes, 1) if same(shape, position)), None)


def recall(instrument: str, wanted: Iterable[Position], within: int, same=same_frets) -> float:
    """Share of positions found among our first ``within`` shapes."""
    ranks = [rank(instrument, position, same) for position in wanted]
    return sum(place is not None and place <= within for place in ranks) / len(ranks)


def finger_agreement(wanted: Iterable[Position]) -> float:
    """Share of positions to whose frets we give the very fingers of the package."""
    found = [bool(ways := hands(p.frets)) and ways[0].fingers == p.fingers for p in wanted]
    return sum(found) / len(found)


def _known_bad(instrument: str) -> set[tuple[str, str, int]]:
    with (FOLDER / f"known_bad_{instrument}.csv").open() as file:
        return {(row["key"], row["suffix"], int(row["idx"])) for row in csv.DictReader(file)}


def _read(text: str) -> Iterator[tuple[int | None, ...]]:
    for marks in text.split():
        yield tuple(None if mark == "x" else int(mark, 36) for mark in marks)

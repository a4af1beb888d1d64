"""How a studio counts: one way, which every strip, outline, handout and voice follows."""

from functools import lru_cache

from pieces.music.counting import BEATS_AND, Syllables, way_of_counting
from studio.accounts.models import Studio


def count_of(studio: Studio) -> Syllables:
    """The studio's way of counting; "1 & 2 &" where what it keeps can no longer be read."""
    return _read(studio.syllables, studio.felt_beats)


@lru_cache(maxsize=64)
def _read(said: str, felt: bool) -> Syllables:
    try:
        return way_of_counting(said, felt=felt)
    except ValueError:
        return BEATS_AND

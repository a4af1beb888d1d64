"""A piece set for another instrument: what changes, and how it then looks."""

from pieces.engraving.options import ONE_BAR
from pieces.engraving.strip import strips
from pieces.models import Arrangement
from pieces.music.instruments import Moved, set_for
from pieces.music.tuning import Tuning
from pieces.studio_count import count_of
from pieces.workup import add_arrangement, decided_score


def instrument_page(arrangement: Arrangement, tuning: Tuning, keep: str) -> dict:
    """The piece on ``tuning`` with what changes. Raises ``CannotMove``."""
    moved = _moved(arrangement, tuning, keep)
    syllables = count_of(arrangement.studio)
    return {
        "tuning": tuning,
        "changes": moved.changes or ("Nothing changes.",),
        "strips": strips(moved.score.bars, tuning, ONE_BAR.but(syllables=syllables)),
    }


def keep_moved(arrangement: Arrangement, tuning: Tuning, keep: str) -> Arrangement:
    """Store the piece on ``tuning`` as another arrangement. Raises ``CannotMove``."""
    moved = _moved(arrangement, tuning, keep)
    return add_arrangement(
        arrangement.piece,
        moved.score,
        name=f"{arrangement.name}, {tuning.name}",
        picking=arrangement.picking,
        goal=arrangement.goal_tempo,
    )


def _moved(arrangement: Arrangement, tuning: Tuning, keep: str) -> Moved:
    return set_for(decided_score(arrangement), tuning, keep)

"""How a piece is built: what is the same, in what order it is played, where it is cut.

The names other rooms use; the ideas live in ``alike`` (identical and near bars) and
``order`` (repeats and endings).
"""

from pieces.music.alike import NearRepeat, bar_classes, near_repeats, rhythm_classes, shape_classes
from pieces.music.order import unfold

__all__ = [
    "NearRepeat",
    "bar_classes",
    "near_repeats",
    "rhythm_classes",
    "shape_classes",
    "unfold",
]

"""How a piece is built: what is the same, in what order it is played, where it is cut.

The names other rooms use; the ideas live in ``alike`` (identical and near bars),
``order`` (repeats and endings), ``phrases`` and ``sections``.
"""

from pieces.music.alike import NearRepeat, bar_classes, near_repeats, rhythm_classes, shape_classes
from pieces.music.order import unfold
from pieces.music.phrases import melody_of, phrase_boundaries, phrase_probabilities
from pieces.music.sections import Section, find_sections

__all__ = [
    "NearRepeat",
    "Section",
    "bar_classes",
    "find_sections",
    "melody_of",
    "near_repeats",
    "phrase_boundaries",
    "phrase_probabilities",
    "rhythm_classes",
    "shape_classes",
    "unfold",
]

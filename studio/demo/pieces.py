"""The six pieces of the demo studio, as counted tab under ``fixtures/demo``.

Two Lanterns, Harbour Steps and Weir Waltz are our own. The other three are old tunes,
written down from memory and set for the strings here.
"""

from dataclasses import dataclass
from pathlib import Path

from pieces.models import Arrangement
from pieces.music.tab import read_tab
from pieces.workup import add_piece

FOLDER = Path(__file__).resolve().parent.parent.parent / "fixtures" / "demo"


@dataclass(frozen=True)
class DemoPiece:
    """A file of counted tab, what its arrangement is called, and whose it is."""

    file: str
    arrangement: str
    rights: str

    @property
    def typed(self) -> str:
        return (FOLDER / self.file).read_text()


PIECES = (
    DemoPiece("two-lanterns.tab", "melody and thumb", "own"),
    DemoPiece("harbour-steps.tab", "melody over chords", "own"),
    DemoPiece("weir-waltz.tab", "melody and thumb", "own"),
    DemoPiece("scarborough-fair.tab", "melody over chords", "public"),
    DemoPiece("greensleeves.tab", "melody and thumb", "public"),
    DemoPiece("simple-gifts.tab", "melody and thumb", "public"),
)


def add_pieces(studio, by) -> dict[str, Arrangement]:
    """Store the pieces as if ``by`` had typed them; return the arrangements by title."""
    added = {}
    for piece in PIECES:
        score = read_tab(piece.typed)
        added[score.title] = add_piece(
            studio, score, by=by, typed=piece.typed, arrangement=piece.arrangement, rights=piece.rights
        )
    return added

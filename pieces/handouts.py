"""The piece on paper."""

from pieces.engraving.options import PAPER
from pieces.models import Arrangement
from pieces.music.findings import Workup, work_up
from pieces.music.keys import key_in_words
from pieces.music.score import Score
from pieces.paper import as_image, pdf_of
from pieces.showing import piece_strips, shape_drawings
from pieces.workup import workup_of

UNSETTLED = "Rights not settled: for the learner's own use only, where local law allows it."


def piece_handout(arrangement: Arrangement, *, paper: str, left_handed=False) -> bytes:
    """The whole piece: bars with their count, the shapes used, sections and rights."""
    piece = arrangement.piece
    context = {
        "title": piece.title,
        "name": arrangement.name,
        "credit": piece.credit,
        "studio": arrangement.studio,
        "rights": rights_line(piece),
    }
    return _set(workup_of(arrangement), context, paper=paper, left_handed=left_handed)


def score_handout(score: Score, *, paper: str, left_handed=False) -> bytes:
    """A score that no studio has stored, on paper."""
    context = {
        "title": score.title or "Untitled",
        "name": score.tuning.name,
        "credit": score.credit,
        "studio": {"name": "Fourbar"},
        "rights": UNSETTLED,
    }
    return _set(work_up(score), context, paper=paper, left_handed=left_handed)


def _set(workup: Workup, context: dict, *, paper: str, left_handed: bool) -> bytes:
    score = workup.score
    facts = (str(score.meter), key_in_words(score.key), f"goal {workup.goal}")
    strips = piece_strips(workup, PAPER.but(left_handed=left_handed))
    numbers = [bar.number for bar in score.bars]
    drawings = shape_drawings(workup, numbers, left_handed=left_handed, width="17mm")
    shown = {
        "summary": " · ".join(fact for fact in facts if fact),
        "strips": [as_image(strip) for strip in strips],
        "shapes": [{**line, "drawing": as_image(line["drawing"], css_class="shape")} for line in drawings],
    }
    return pdf_of("print/piece.html", {**context, **shown}, paper=paper)


def rights_line(piece) -> str:
    """What stands at the foot of every page that shows the piece."""
    said = {
        "public": "Traditional or out of copyright; this arrangement is the studio's own.",
        "own": "Our own piece.",
        "licensed": "Printed by permission; do not copy further.",
    }
    line = said.get(piece.rights, UNSETTLED)
    return f"{piece.credit} {line}".strip()

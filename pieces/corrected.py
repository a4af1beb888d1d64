"""Difficulty as this studio's learners found it: computed, and moved by what they needed."""

from pieces.models import Arrangement, NeededTime
from pieces.music.difficulty import Corrected, Evidence, correct_ratings
from pieces.music.findings import Workup


def corrected_of(arrangement: Arrangement, workup: Workup) -> dict[int, Corrected]:
    """The bars of the current revision that learners have played, corrected: one query."""
    found = NeededTime.objects.filter(arrangement=arrangement, revision=arrangement.current_id).first()
    return corrected_by(found.by_bar, workup) if found else {}


def corrected_by(by_bar: dict, workup: Workup) -> dict[int, Corrected]:
    """As ``corrected_of``, from pairs of minutes by bar as ``NeededTime`` keeps them."""
    evidence = {int(number): [Evidence(*pair) for pair in pairs] for number, pairs in by_bar.items()}
    return correct_ratings(workup.ratings, workup.classes, evidence, workup.judged)

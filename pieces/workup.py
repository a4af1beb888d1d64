"""Runs the music on an arrangement, and keeps what the teacher decided.

What is found is a pure function of the revision, the overrides and the studio's way
of counting, so it is kept in memory only, under exactly those.
"""

import json
from collections import OrderedDict
from itertools import count
from threading import Lock

from django.db import transaction

from pieces.models import Arrangement, Override, Piece, Revision
from pieces.music.decisions import Decisions
from pieces.music.findings import Workup, work_up
from pieces.music.score import Score
from pieces.music.stored import to_data
from pieces.studio_count import count_of

KEPT = 128
_kept: OrderedDict[tuple, Workup] = OrderedDict()
_lock = Lock()


def workup_of(arrangement: Arrangement, revision: Revision | None = None) -> Workup:
    """The workup of an arrangement's current revision, or of an earlier one."""
    revision = revision or arrangement.current
    rows = dict(Override.objects.filter(arrangement_id=arrangement.pk).values_list("key", "value"))
    return workup_with(arrangement, revision, rows)


def workup_with(arrangement: Arrangement, revision: Revision, overrides: dict) -> Workup:
    """As ``workup_of``, with the overrides already at hand (for lists of many)."""
    syllables = count_of(arrangement.studio)
    key = (
        revision.pk,
        revision.made,  # a restored studio may use a number anew
        arrangement.goal_tempo,
        arrangement.picking,
        arrangement.movement,
        syllables,
        json.dumps(overrides, sort_keys=True),
    )
    with _lock:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key]
    found = work_up(
        revision.to_score(),
        goal=arrangement.goal_tempo,
        picking=arrangement.picking,
        syllables=syllables,
        decisions=Decisions.of(overrides),
        movement=arrangement.movement,
    )
    with _lock:
        _kept[key] = found
        while len(_kept) > KEPT:
            _kept.popitem(last=False)
    return found


def add_piece(
    studio, score: Score, *, by=None, typed="", arrangement="melody and thumb", rights=""
) -> Arrangement:
    """Store a new piece with its first arrangement."""
    with transaction.atomic():
        piece = Piece.objects.create(
            studio=studio, title=score.title or "Untitled", credit=score.credit, rights=rights, made_by=by
        )
        return add_arrangement(piece, score, name=arrangement, typed=typed)


def add_arrangement(
    piece: Piece, score: Score, *, name: str, typed="", picking="thumb and two", goal: int | None = None
) -> Arrangement:
    """Store another arrangement of a piece, with its first revision. ``goal`` is by default the score's tempo.

    Where the piece has one of that name already, this is ``name`` 2, 3 and so on.
    """
    with transaction.atomic():
        arrangement = Arrangement.objects.create(
            studio_id=piece.studio_id,
            piece=piece,
            name=_free_name(piece, name),
            goal_tempo=goal or score.tempo or 76,
            picking=picking,
            position=piece.arrangements.count(),
        )
        return revise(arrangement, score, typed=typed)


def _free_name(piece: Piece, name: str) -> str:
    taken = set(piece.arrangements.values_list("name", flat=True))
    longest = Arrangement._meta.get_field("name").max_length
    tries = (name[:longest] if n == 1 else f"{name[: longest - 4]} {n}" for n in count(1))
    return next(free for free in tries if free not in taken)


def revise(arrangement: Arrangement, score: Score, *, typed="") -> Arrangement:
    """Make the next revision and have the arrangement point to it; the same music makes none."""
    data = to_data(score)
    with transaction.atomic():
        current = arrangement.current
        if current and current.score == data and current.typed == typed:
            return arrangement
        arrangement.current = Revision.objects.create(
            studio_id=arrangement.studio_id,
            arrangement=arrangement,
            number=current.number + 1 if current else 1,
            score=data,
            typed=typed,
        )
        arrangement.save(update_fields=["current"])
    return arrangement


def decided_score(arrangement: Arrangement) -> Score:
    """The music of the current revision with the teacher's own chords, fingers and picking in it."""
    rows = dict(Override.objects.filter(arrangement_id=arrangement.pk).values_list("key", "value"))
    found = workup_with(arrangement, arrangement.current, rows)
    return Decisions.of(rows).applied_to(arrangement.to_score(), found.classes)


def decide(arrangement: Arrangement, key: str, value, *, by=None) -> None:
    """Keep a teacher's decision. Raises ValueError where no finding has that key or value."""
    Decisions.of({key: value})
    Override.objects.update_or_create(
        arrangement=arrangement,
        key=key,
        defaults={"studio_id": arrangement.studio_id, "value": value, "by": by},
    )


def undecide(arrangement: Arrangement, key: str) -> None:
    """Forget a decision: what is found counts again."""
    Override.objects.filter(arrangement=arrangement, key=key).delete()

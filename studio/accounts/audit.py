"""What an owner can look up later: who signed in, made a card, erased a learner, decided rights."""

from studio.accounts.models import AuditRow, User


def note(
    studio_id: int,
    what: str,
    *,
    by: User | None = None,
    learner: int | None = None,
    piece: int | None = None,
    more: str = "",
) -> None:
    """Write down that ``what`` happened (see ``AuditRow.WHAT``)."""
    AuditRow.objects.create(
        studio_id=studio_id, what=what, by=by, learner=learner, piece=piece, more=more[:40]
    )

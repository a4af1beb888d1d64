"""The workups of many arrangements at once, for lists."""

from collections import defaultdict
from collections.abc import Iterable

from pieces.models import Arrangement, Override
from pieces.music.findings import Workup
from pieces.workup import workup_with


def workups_of(arrangements: Iterable[Arrangement]) -> dict[int, Workup]:
    """The workup of each arrangement's current revision, by its number: one query.

    The arrangements come with ``current`` and ``studio``.
    """
    wanted = {arrangement.pk: arrangement for arrangement in arrangements}
    overrides: dict[int, dict] = defaultdict(dict)
    for row in Override.objects.filter(arrangement__in=wanted):
        overrides[row.arrangement_id][row.key] = row.value
    return {pk: workup_with(each, each.current, overrides[pk]) for pk, each in wanted.items()}

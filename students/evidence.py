"""What learners needed for each bar of a piece, gathered once a day."""

from collections import defaultdict
from datetime import date, timedelta

from pieces.corrected import corrected_by
from pieces.models import Arrangement, NeededTime
from pieces.music.findings import Workup
from students.models import Tick
from students.planning.history import History
from students.planning.pace import evidence_by_bar, pace_from
from students.records import changed_bars, tick_record

LOOK_BACK = timedelta(days=365)


def corrected_scores(arrangement: Arrangement, workup: Workup, today: date) -> dict[int, float]:
    """Bar number to the difficulty that planning goes by, where learners have played the bar."""
    by_bar = needed_by_bar(arrangement, today)
    return {number: found.score for number, found in corrected_by(by_bar, workup).items()}


def needed_by_bar(arrangement: Arrangement, today: date) -> dict[str, list[list[float]]]:
    """Pairs of minutes expected and needed by bar, one a learner; kept for the day.

    Four queries the first time on a day, however many learners, and one after that.
    """
    kept = NeededTime.objects.filter(arrangement=arrangement).first()
    if kept and kept.day == today and kept.revision_id == arrangement.current_id:
        return kept.by_bar
    by_bar = _gather(arrangement, today)
    NeededTime.objects.update_or_create(
        arrangement=arrangement,
        defaults={
            "studio_id": arrangement.studio_id,
            "revision_id": arrangement.current_id,
            "day": today,
            "by_bar": by_bar,
        },
    )
    return by_bar


def _gather(arrangement: Arrangement, today: date) -> dict[str, list[list[float]]]:
    measured = Tick.objects.standing().since(today - LOOK_BACK).filter(minutes__gt=0, planned__gt=0)
    ticks = list(
        measured.filter(assignment__arrangement=arrangement, kind__in=["bar", "pair"]).prefetch_related(
            "revision"
        )
    )
    current = arrangement.current
    then = {tick.revision_id: tick.revision for tick in ticks}
    changed = {pk: changed_bars(revision, current) for pk, revision in then.items()}
    by_student: dict[int, list[Tick]] = defaultdict(list)
    for tick in ticks:
        if changed[tick.revision_id].isdisjoint(range(tick.first, tick.last + 1)):
            by_student[tick.student_id].append(tick)
    pairs: dict[int, list[tuple[int, int]]] = defaultdict(list)
    played = measured.filter(student__in=list(by_student)).values_list("student_id", "minutes", "planned")
    for student_id, minutes, planned in played:
        pairs[student_id].append((minutes, planned))
    histories = [History(tuple(map(tick_record, mine))) for mine in by_student.values()]
    paces = [pace_from(pairs[student_id]).pace for student_id in by_student]
    found = evidence_by_bar(histories, paces)
    return {
        str(bar): [[round(minutes, 2) for minutes in pair] for pair in found[bar]] for bar in sorted(found)
    }

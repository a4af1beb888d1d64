"""The Overview: who needs me first, today's lessons, the bars that hold everyone up.

However many learners there are, the number of queries stays the same.
"""

from collections import defaultdict
from datetime import timedelta

from pieces.engraving.options import NOTE
from pieces.engraving.strip import strips
from pieces.models import Arrangement
from pieces.music.findings import Workup
from pieces.showing import bars_of, hard_spans
from students.models import Assignment
from students.planning.attention import Need, attention
from studio.accounts.models import Studio
from studio.lessons.timetable import Meeting
from studio.overview.facts import Look, all_facts, look_at, worked_up

FIRST_NEEDS = 6
HOLDING = 3


def overview_page(studio: Studio) -> dict:
    """Everything the page shows."""
    look = look_at(studio)
    today = look.today
    needs = attention(all_facts(look))
    shown = [_need_shown(need, look.assignments[need.student]) for need in needs]
    monday = today - timedelta(days=today.weekday())
    return {
        "today": today,
        "needs": shown[:FIRST_NEEDS],
        "later": shown[FIRST_NEEDS:],
        "others": len(look.students) - len(needs),
        "learners": len(look.students),
        "practised": sum(any(t.day >= monday for t in look.ticks[s.pk]) for s in look.students),
        "lessons": _lessons(look, {need.student: need for need in needs}),
        "holding": holding_bars(studio, look.ticks),
    }


def _need_shown(need: Need, assignments: list[Assignment]) -> dict:
    first = next((a for a in assignments if a.pk == need.of), assignments[0] if assignments else None)
    return {"need": need, "assignment": first, "letters": first.letters if first else []}


def _lessons(look: Look, needs: dict[int, Need]) -> list[dict]:
    """Today's lessons that take place, the one that comes next marked."""
    now = look.studio.now
    todays = [m for m in look.lessons if m.day == look.today and m.takes_place and m.starts]
    coming = next((meeting for meeting in todays if meeting.is_coming(now)), None)
    return [_lesson_shown(meeting, needs, coming) for meeting in todays]


def _lesson_shown(meeting: Meeting, needs: dict[int, Need], coming: Meeting | None) -> dict:
    return {
        "student": meeting.student,
        "starts": meeting.starts,
        "need": needs.get(meeting.student.pk),
        "next": meeting is coming,
    }


def holding_bars(studio: Studio, ticks: dict[int, list]) -> list[dict]:
    """The bars on which most learners spend most days, with how many and how long."""
    days: dict[tuple[int, int], dict[int, set]] = defaultdict(lambda: defaultdict(set))
    arrangements = dict(Assignment.objects.of(studio).running().values_list("pk", "arrangement_id"))
    learners: dict[int, set] = defaultdict(set)
    for student, rows in ticks.items():
        for tick in rows:
            arrangement = arrangements.get(tick.assignment_id)
            if arrangement is None:
                continue
            learners[arrangement].add(student)
            if tick.felt != "clean" and tick.kind in ("bar", "pair", "join", "drill"):
                for number in range(tick.first, tick.last + 1):
                    days[arrangement, number][student].add(tick.day)
    ranked = sorted(days.items(), key=lambda item: (-len(item[1]), -sum(map(len, item[1].values())), item[0]))
    chosen = [(key, by) for key, by in ranked if len(by) > 1][:HOLDING]
    wanted = {arrangement for (arrangement, _number), _by in chosen}
    found = worked_up(studio, wanted)
    return [
        shown
        for (arrangement, number), by in chosen
        if (shown := _holding(*found[arrangement], number, by, len(learners[arrangement])))
    ]


def _holding(arrangement: Arrangement, workup: Workup, number: int, by: dict, among: int) -> dict | None:
    bars = bars_of(workup, [number])
    if not bars:
        return None
    options = NOTE.but(width=400, per_system=1, closed=False, names=False, syllables=workup.syllables)
    average = round(sum(len(days) for days in by.values()) / len(by))
    reasons = workup.ratings[number].reasons
    return {
        "strip": "".join(strips(bars, workup.score.tuning, options, hard=hard_spans(workup, least=0))),
        "arrangement": arrangement,
        "number": number,
        "said": f"{len(by)} of {among} learners, {average} day{'s' if average != 1 else ''} on average.",
        "reason": reasons[0] if reasons else "",
    }

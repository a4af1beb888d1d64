"""The Overview: who needs me first, today's lessons, the bars that hold everyone up.

However many learners there are, the number of queries stays the same.
"""

from collections import defaultdict
from datetime import date, timedelta

from pieces.engraving.options import NOTE
from pieces.engraving.strip import strips
from pieces.models import Arrangement, Override
from pieces.showing import bars_of, hard_spans
from pieces.workup import workup_with
from students.models import Assignment, PlannedTask, SignInCard, Student, Tick
from students.planning.attention import Facts, attention
from students.planning.history import History, TickRecord
from students.planning.stuck import find_stuck
from studio.accounts.models import Studio
from studio.lessons.models import LessonSlot

LOOK_BACK = 28  # days of ticks that are looked at
FIRST_NEEDS = 6
HOLDING = 3


def overview_page(studio: Studio) -> dict:
    """Everything the page shows."""
    today = studio.today
    students = list(Student.objects.of(studio).learning())
    since = today - timedelta(days=LOOK_BACK)
    ticks = _by_student(Tick.objects.of(studio).standing().filter(day__gte=since, day__lte=today))
    tasks = _by_student(
        PlannedTask.objects.of(studio).filter(day__gte=since, day__lt=today).only("student", "day")
    )
    assignments = _by_student(
        Assignment.objects.of(studio)
        .running()
        .select_related("arrangement__piece")
        .prefetch_related("standings")
    )
    cards = _by_student(SignInCard.objects.of(studio).in_force().filter(holder="learner"))
    slots = _by_student(LessonSlot.objects.of(studio))
    facts = [
        _facts(s, today, ticks[s.pk], tasks[s.pk], assignments[s.pk], cards[s.pk], slots[s.pk])
        for s in students
    ]
    needs = attention(facts)
    by_student = {need.student: need for need in needs}
    monday = today - timedelta(days=today.weekday())
    return {
        "today": today,
        "needs": [_need_shown(need, assignments[need.student]) for need in needs[:FIRST_NEEDS]],
        "others": len(students) - min(len(needs), FIRST_NEEDS),
        "learners": len(students),
        "practised": sum(any(t.day >= monday for t in ticks[s.pk]) for s in students),
        "lessons": _lessons(students, slots, today, by_student, studio),
        "holding": holding_bars(studio, ticks),
    }


def _by_student(rows) -> dict[int, list]:
    grouped: dict[int, list] = defaultdict(list)
    for row in rows:
        grouped[row.student_id].append(row)
    return grouped


def _facts(student, today, ticks, tasks, assignments, cards, slots) -> Facts:
    history = History(tuple(_record(tick) for tick in ticks))
    last = max((tick.day for tick in ticks), default=None)
    planned = {task.day for task in tasks}
    fits = [a.fit for a in assignments if a.fit and not a.fit.get("fits", True)]
    performances = [a.until for a in assignments if a.performance and a.until >= today]
    standings = [standing.standing for a in assignments for standing in a.standings.all()]
    return Facts(
        student=student.pk,
        name=student.name,
        today=today,
        piece=assignments[0].arrangement.piece.title if assignments else "",
        lesson=_next_slot(slots, today),
        performance=min(performances, default=None),
        short=sum(fit["needed"] - fit["available"] for fit in fits) or len(fits),
        needed=sum(fit["needed"] for fit in fits),
        available=sum(fit["available"] for fit in fits),
        last_tick=last,
        missed=len([day for day in planned if last is None or day > last]),
        stuck=tuple(find_stuck(history)),
        done=bool(standings) and all(s in ("secure", "due again") for s in standings),
        assigned=bool(assignments),
        has_card=bool(cards),
        card_used=max((card.last_used.date() for card in cards if card.last_used), default=None),
    )


def _record(tick: Tick) -> TickRecord:
    key = f"{tick.assignment_id}/{tick.key}"
    return TickRecord(key, tick.section, tick.first, tick.last, tick.day, tick.tempo, tick.felt, tick.kind)


def _next_slot(slots, today: date) -> date | None:
    days = [(slot.weekday - today.weekday()) % 7 for slot in slots]
    return today + timedelta(days=min(days)) if days else None


def _need_shown(need, assignments) -> dict:
    first = assignments[0] if assignments else None
    return {"need": need, "assignment": first, "letters": first.letters if first else []}


def _lessons(students, slots, today, needs, studio) -> list[dict]:
    names = {student.pk: student for student in students}
    todays = sorted(
        (slot for rows in slots.values() for slot in rows if slot.weekday == today.weekday()),
        key=lambda slot: slot.starts,
    )
    now = studio.now.time()
    coming = next((slot for slot in todays if slot.starts >= now), None)
    return [
        {
            "student": names[slot.student_id],
            "starts": slot.starts,
            "need": needs.get(slot.student_id),
            "next": slot is coming,
        }
        for slot in todays
        if slot.student_id in names
    ]


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
    found = {
        a.pk: a
        for a in Arrangement.objects.of(studio)
        .filter(pk__in=wanted)
        .select_related("piece", "current", "studio")
    }
    overrides: dict[int, dict] = defaultdict(dict)
    for row in Override.objects.filter(arrangement__in=wanted):
        overrides[row.arrangement_id][row.key] = row.value
    return [
        shown
        for (arrangement, number), by in chosen
        if (
            shown := _holding(
                found[arrangement], number, by, len(learners[arrangement]), overrides[arrangement]
            )
        )
    ]


def _holding(arrangement: Arrangement, number: int, by: dict, among: int, overrides: dict) -> dict | None:
    workup = workup_with(arrangement, arrangement.current, overrides)
    bars = bars_of(workup, [number])
    if not bars:
        return None
    options = NOTE.but(width=400, per_system=1, closed=False, syllables=workup.syllables)
    average = round(sum(len(days) for days in by.values()) / len(by))
    reasons = workup.ratings[number].reasons
    return {
        "strip": "".join(strips(bars, workup.score.tuning, options, hard=hard_spans(workup, least=0))),
        "arrangement": arrangement,
        "number": number,
        "said": f"{len(by)} of {among} learners, {average} day{'s' if average != 1 else ''} on average.",
        "reason": reasons[0] if reasons else "",
    }

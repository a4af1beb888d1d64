"""Backward from a performance: learned by, run daily from, rest before.

Two weeks before the day everything is learned; in the last week the whole is played
once on each day of practice, whatever else is still needed; the day before is for one
play-through and rest. Shorter leads are cut in proportion (common practice, no source).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from students.planning.days import plan_days
from students.planning.history import History
from students.planning.loops import Chunk
from students.planning.plan import Calendar, Day, Learner, Plan, Returns, Task
from students.planning.tempo import climb
from students.planning.visits import State, Visit, minutes_for
from students.planning.words import on_day

LEARNED_DAYS, RUN_DAYS = 14, 7


@dataclass(frozen=True)
class Backward:
    """The dates that lead to a performance."""

    learned_by: date
    run_from: date
    rest_on: date

    @property
    def text(self) -> str:
        return (
            f"Learned by {_day(self.learned_by)}, run daily from {_day(self.run_from)}, "
            f"one play-through and rest {on_day(self.rest_on)}."
        )


def backward_from(performance: date, starts: date) -> Backward:
    """The dates for a performance that is prepared from ``starts`` on.

    >>> backward_from(date(2026, 3, 28), date(2026, 2, 20)).text
    'Learned by 14 March, run daily from 21 March, one play-through and rest on Friday 27 March.'
    >>> backward_from(date(2026, 3, 28), date(2026, 3, 22)).run_from
    datetime.date(2026, 3, 26)
    """
    lead = max(0, (performance - starts).days)
    return Backward(
        performance - timedelta(days=max(1, min(LEARNED_DAYS, lead // 2))),
        performance - timedelta(days=max(1, min(RUN_DAYS, lead // 3))),
        performance - timedelta(days=1),
    )


def plan_toward(
    chunks: Sequence[Chunk],
    calendar: Calendar,
    learner: Learner,
    history: History,
    today: date,
    returns: Sequence[Returns] = (),
) -> Plan:
    """``plan_days``, and before a performance its daily runs and the rest besides.

    The minutes of the runs are set aside first, so that ``Plan.fit`` is about the rest.
    """
    if calendar.performance is None or calendar.performance != calendar.end:
        return plan_days(chunks, calendar, learner, history, today, returns)
    dates = backward_from(calendar.performance, min((*calendar.days, today)))
    runs = _runs(chunks, learner, history, today)
    minutes = sum(visit.minutes for _chunk, visit in runs)
    without = _set_aside(calendar, dates, minutes)
    plan = plan_days(chunks, without, learner, history, today, returns)
    known_from = _known_from(chunks, plan, history, today)
    if known_from is None:
        # Some section never gets whole: every minute goes to learning it.
        return plan_days(chunks, calendar, learner, history, today, returns)
    by_date = {day.date: day for day in plan.days}
    for day in calendar.days:
        if day >= max(today, dates.run_from, known_from) and minutes <= calendar.room(day):
            planned = by_date.get(day, Day(day))
            by_date[day] = replace(
                planned, tasks=(*planned.tasks, *_tasks(runs, planned, day, dates, calendar))
            )
    return replace(plan, days=tuple(by_date[day] for day in sorted(by_date)))


def _runs(
    chunks: Sequence[Chunk], learner: Learner, history: History, today: date
) -> list[tuple[Chunk, Visit]]:
    """The whole once through: the run, or the sections where there is none."""
    whole = [c for c in chunks if c.kind == "run"] or [c for c in chunks if c.kind == "section"]
    sections = [c for c in chunks if c.kind == "section"]
    before = history.before(today)
    found = []
    for chunk in whole:
        state = State.of(before.by_loop.get(chunk.key, ()))
        parts = [State.of(before.by_loop.get(section.key, ())) for section in sections]
        met = [
            part.tempo(section, today) for part, section in zip(parts, sections, strict=True) if part.is_met
        ]
        tempo = state.tempo(chunk, today) if state.is_met or not met else min(*met, chunk.goal)
        to_tempo = climb(tempo, chunk.goal, 1)
        passes = 2 if to_tempo > tempo else 1
        found.append(
            (chunk, Visit(passes, tempo, to_tempo, minutes_for(passes, chunk.beats, tempo, learner.pace)))
        )
    return found


def _known_from(chunks: Sequence[Chunk], plan: Plan, history: History, today: date) -> date | None:
    """The first day on which every section has been played whole, as planned; None where it never has."""
    days = []
    for section in (chunk for chunk in chunks if chunk.kind == "section"):
        played = [tick.day for tick in history.before(today).by_loop.get(section.key, ())]
        planned = [day.date for day in plan.days for task in day.tasks if task.key == section.key]
        if not played and not planned:
            return None
        days.append(min((*played, *planned)))
    return max(days, default=None)


def _set_aside(calendar: Calendar, dates: Backward, run_minutes: int) -> Calendar:
    """``calendar`` without the minutes of the daily runs, and with nothing else on the day of rest."""
    minutes = dict(calendar.minutes)
    for day in calendar.days:
        room = calendar.room(day)
        if day < dates.run_from or run_minutes > room:
            continue
        left = 0 if day >= dates.rest_on else room - run_minutes
        minutes[day] = 2 * left if day in calendar.gentle else left
    return replace(calendar, minutes=minutes)


def _tasks(
    runs: Sequence[tuple[Chunk, Visit]], planned: Day, day: date, dates: Backward, calendar: Calendar
) -> list[Task]:
    """The runs of one day, less those that the plan has there already."""
    there = {task.key for task in planned.tasks}
    rest = day >= dates.rest_on
    when = on_day(calendar.performance)
    why = (
        f"Once through and no more: rest before you perform {when}."
        if rest
        else f"Run daily: you perform {when}."
    )
    return [
        Task(
            key=chunk.key,
            label=chunk.label,
            minutes=visit.minutes,
            passes=visit.passes,
            from_tempo=visit.from_tempo,
            to_tempo=visit.to_tempo,
            new=False,
            why=why,
            kind=chunk.kind,
            first=chunk.first,
            last=chunk.last,
        )
        for chunk, visit in runs
        if chunk.key not in there
    ]


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"

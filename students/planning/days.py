"""Which loop on which day: the plan of an assignment.

A plan is a pure function of the loops, the calendar, the learner, their history and
today: the same input gives the same plan. It is made for today as the morning found
it, so that a day does not change while it is being played; the days after follow
what was ticked and marked since. The formula that it keeps small, and the rules that
are hard, stand in ``loads``.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

from students.planning import why
from students.planning.fit import fit_of
from students.planning.history import History, TickRecord
from students.planning.laying import lay_out
from students.planning.loads import Days, Stop, due
from students.planning.loops import Chunk
from students.planning.needs import Need, days_ahead, needs_of
from students.planning.plan import (
    WHOLES,
    Calendar,
    Day,
    Fit,
    Learner,
    Plan,
    Returns,
    Task,
    Turn,
    WayOut,
    add_minutes,
    gentle_return,
    weeks_later,
)
from students.planning.spare import PlayThrough, lengthen
from students.planning.visits import Visit, longer, play_through, visit

__all__ = [
    "Calendar",
    "Day",
    "Fit",
    "Learner",
    "Plan",
    "Returns",
    "Task",
    "Turn",
    "WayOut",
    "add_minutes",
    "gentle_return",
    "plan_days",
    "weeks_later",
]

# A loop with so many passes is worth splitting where loops alternate.
WORTH_SPLITTING = 4


def plan_days(
    chunks: Sequence[Chunk],
    calendar: Calendar,
    learner: Learner,
    history: History,
    today: date,
    returns: Sequence[Returns] = (),
) -> Plan:
    """Plan every day of practice from ``today`` to the lesson.

    ``chunks`` come parts before wholes (``build_chunks``). ``returns`` are secure
    things of other pieces that may come due. ``Plan.fit`` says whether everything has
    its days, and if not, what would make it fit.

    >>> from fractions import Fraction
    >>> loop = Chunk("bar:1", "bar", 1, 1, "Bar 1", (1,), Fraction(4), 2.0, (), "A", 50, 76, why="bar 1")
    >>> week = Calendar({date(2026, 3, d): 10 for d in range(13, 19)}, date(2026, 3, 19))
    >>> plan = plan_days([loop], week, Learner(), History(), date(2026, 3, 13))
    >>> for day in plan.days:
    ...     for task in day.tasks:
    ...         print(day.date.day, task.from_tempo, task.to_tempo, task.why)
    13 50 54 New: bar 1.
    14 54 58 Comes back after one night.
    15 58 63 Comes back after one night.
    16 63 69 On from 63, on the way to 76.
    """
    morning = _plan(chunks, calendar, learner, history.before(today), today, returns)
    so_far = history.until(today)
    played = {tick.key for tick in so_far.ticks if tick.day == today}
    if not played and not any(mark.day == today for mark in so_far.marks):
        return morning
    first = [day for day in morning.days if day.date == today]
    still = [t for day in first for t in day.tasks if t.key not in played]
    assumed = [tick for task in still if (tick := _as_planned(task, today, (*chunks, *morning.apart)))]
    evening = History((*so_far.ticks, *assumed), so_far.marks)
    spent = sum(day.minutes for day in first)
    rest = _plan(chunks, calendar, learner, evening, today + timedelta(days=1), returns, spent)
    apart = {chunk.key: chunk for chunk in (*morning.apart, *rest.apart)}
    return Plan((*first, *rest.days), rest.fit, tuple(apart.values()))


def _as_planned(task: Task, day: date, chunks: Sequence[Chunk]) -> TickRecord | None:
    """The tick of a task that is still to be played today, taken to go as planned."""
    for chunk in chunks:
        if chunk.key == task.key:
            ends = chunk.section, chunk.first, chunk.last
            return TickRecord(chunk.key, *ends, day, task.to_tempo, "clean", chunk.kind)
    return None


def _plan(
    chunks: Sequence[Chunk],
    calendar: Calendar,
    learner: Learner,
    history: History,
    today: date,
    returns: Sequence[Returns],
    spent: int = 0,
) -> Plan:
    needs = needs_of(chunks, calendar, learner, history, today)
    days = days_ahead(calendar, learner, today, needs)
    laid = lay_out(needs, days, returns, learner.pace)
    visits = lengthen(needs, laid.stops, list(laid.free), learner.pace)
    tasks: dict[int, list[tuple[tuple, Task]]] = {day: [] for day in range(len(days.room))}
    ties = {part for need in needs if not need.chunk.is_whole for part in need.chunk.parts}
    for at, need in enumerate(needs):
        extra = {stop.day for stop in laid.more if stop.load == at}
        stops = sorted((s for s in visits if s.load == at), key=lambda s: s.day)
        for stop, task in _tasks(need, stops, extra, days, calendar, learner):
            gentle = date.fromordinal(days.ordinals[stop.day]) in calendar.gentle
            # Sections come after the loops, but for one so short that a join is made of it.
            last = need.chunk.is_whole and need.chunk.key not in ties
            tasks[stop.day].append(((last, stop.new and gentle, at), task))
    for number, item in enumerate(laid.returns):
        tasks[item.day].append(((2, False, number), _returning(item, days)))
    written = tuple(
        Day(
            date.fromordinal(days.ordinals[at]),
            _alternating([t for _, t in sorted(row, key=_order)], learner),
        )
        for at, row in tasks.items()
    )
    given = {chunk.key for chunk in chunks}
    apart = tuple(need.chunk for need in needs if need.chunk.key not in given)
    fit = fit_of(needs, days, laid, chunks, calendar, learner, history, today, spent, returns)
    return Plan(written, fit, apart)


def _order(ordered: tuple[tuple, Task]) -> tuple:
    return ordered[0]


def _tasks(
    need: Need, stops: Sequence[Stop], extra: set[int], days: Days, calendar: Calendar, learner: Learner
) -> Iterator[tuple[Stop, Task]]:
    """The tasks of one loop in order of days, each taken up where the one before left it."""
    chunk, state = need.chunk, need.state
    before = None
    for number, stop in enumerate(stops):
        day = date.fromordinal(days.ordinals[stop.day])
        tempo = need.after(number)
        if before is None and need.was_long_away(day):
            tempo = min(tempo, state.tempo(chunk, day))
        played = visit(chunk, tempo, new=stop.new, pace=learner.pace, share=need.share)
        if need.secure or played.minutes > stop.minutes:
            played = play_through(chunk.beats, tempo, learner.pace)
        elif need.is_slow and played.from_tempo < chunk.goal:
            played = longer(chunk, played, stop.minutes, learner.pace)
        is_last = stop.day == len(days.room) - 1
        if need.holds and before is None:
            reason = why.alone_first(chunk, need.holds)
        elif stop.new:
            reason = why.new(chunk)
        elif chunk.kind == "section" and is_last:
            is_performance = calendar.performance == calendar.end
            reason = why.before_the_lesson(day, calendar.end, performance=is_performance)
        elif need.secure or not (before or state.is_met):
            reason = why.KEEP
        elif before is None:
            reason = _why_after(need, played, day, days)
        elif stop.day in extra:
            reason = why.onward(chunk, played)
        else:
            reason = why.comes_back(day, before)
        yield stop, _task(chunk, played, stop.new, reason)
        before = day


def _why_after(need: Need, played: Visit, day: date, days: Days) -> str:
    wanted = date.fromordinal(due(need.load.since, days.goal, anew=need.load.anew))
    away = need.was_long_away(day)
    return why.after(need.chunk, need.state.ticks[-1], played, day, wanted, long_away=away)


def _task(chunk: Chunk, played: Visit, new: bool, reason: str) -> Task:
    return Task(
        key=chunk.key,
        label=chunk.label,
        minutes=played.minutes,
        passes=played.passes,
        from_tempo=played.from_tempo,
        to_tempo=played.to_tempo,
        new=new,
        why=reason,
        kind=chunk.kind,
        first=chunk.first,
        last=chunk.last,
    )


def _returning(item: PlayThrough, days: Days) -> Task:
    day = date.fromordinal(days.ordinals[item.day])
    known, reason = item.returns, why.due_again(item.returns.due, day)
    return Task(known.key, known.label, item.minutes, 1, known.tempo, known.tempo, False, reason, "run")


def _alternating(tasks: Sequence[Task], learner: Learner) -> tuple[Task, ...]:
    """The same tasks; those already met are split in two rounds where two or more can alternate."""
    split = {t.key for t in tasks if not t.new and t.kind not in WHOLES and t.passes >= WORTH_SPLITTING}
    if not learner.interleave or len(split) < 2:
        return tuple(tasks)
    return tuple(replace(task, rounds=2) if task.key in split else task for task in tasks)

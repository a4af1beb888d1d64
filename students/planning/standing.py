"""Where a learner stands with a section, and the evidence for it.

new → learning → at tempo → secure → due again, from ticks and marks only. At tempo:
the section went clean at its goal. Secure: so on two different days, or by the
teacher's mark. Due again: secure, but its recall has run down. A teacher's mark
outweighs ticks until a later lesson; from then on it is where the ticks go on from.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from fsrs import Rating

from students.planning.history import History, MarkRecord, TickRecord, clean_days_at
from students.planning.loops import Chunk
from students.planning.retention import Memory, ratings_by_day, remember
from students.planning.words import on_day

# From least to most; what is due again was secure, and one clean pass makes it so again.
STANDINGS = ("new", "learning", "at tempo", "due again", "secure")
SECURE_DAYS = 2
# What a mark says of a day's recall.
MARK_RATINGS = {"learning": Rating.Hard, "at tempo": Rating.Good, "secure": Rating.Easy}


@dataclass(frozen=True)
class Standing:
    """``name`` is one of STANDINGS; ``why`` lists its evidence in words; ``since`` is its day."""

    name: str
    why: tuple[str, ...] = ()
    since: date | None = None
    memory: Memory | None = None


def standing_of(
    section: str,
    chunks: Sequence[Chunk],
    history: History,
    today: date,
    *,
    lessons: Iterable[date] = (),
    performance: date | None = None,
) -> Standing:
    """The standing of the section with this letter on ``today``.

    ``lessons`` are the days of lessons; a day on which anything was marked counts as
    one. Ticks and marks after ``today`` are not looked at.
    """
    history = history.until(today)
    whole = [c for c in chunks if c.kind == "section" and c.section == section]
    wholes = {c.key for c in whole} | {c.key for c in chunks if c.kind == "run"}
    goal = max((c.goal for c in whole), default=0)
    on_whole = [t for t in history.ticks if t.key in wholes or (t.kind == "section" and t.section == section)]
    marks = [mark for mark in history.marks if mark.section == section]
    ratings = ratings_by_day(on_whole, goal)
    for mark in marks:
        judged = MARK_RATINGS.get(mark.standing, Rating.Hard)
        ratings[mark.day] = max(judged, ratings.get(mark.day, Rating.Again))
    any_tick = [t for t in history.ticks if t.section == section or t.key in wholes]
    if marks:
        met_since = {mark.day for mark in history.marks} | {day for day in lessons if day <= today}
        later_lesson = max(met_since) > marks[-1].day
        standing = _from_mark(marks[-1], on_whole, goal, later_lesson=later_lesson)
        if not later_lesson:
            # Until then a break-down does not overrule what the teacher heard.
            ratings = {d: r for d, r in ratings.items() if d <= marks[-1].day or r > Rating.Again}
    else:
        standing = _from_ticks(section, any_tick, on_whole, goal)
    memory = remember(ratings, performance=performance)
    if standing.name == "secure" and memory and memory.due <= today:
        due = f"Last played whole {on_day(memory.last)}; due again since {on_day(memory.due, short=True)}."
        return Standing("due again", (*standing.why, due), memory.due, memory)
    return Standing(standing.name, standing.why, standing.since, memory)


def _from_mark(mark: MarkRecord, on_whole: list[TickRecord], goal: int, *, later_lesson: bool) -> Standing:
    said = f"Marked {mark.standing} {on_day(mark.day)}."
    marked = Standing(mark.standing, (said,), mark.day)
    if not later_lesson:
        return marked
    since = [tick for tick in on_whole if tick.day > mark.day]
    days = clean_days_at(since, goal)
    enough = SECURE_DAYS - (mark.standing == "at tempo")
    if mark.standing != "secure" and len(days) >= enough:
        return Standing("secure", (said, *_clean(goal, days[:enough])), days[enough - 1])
    if mark.standing in ("new", "learning") and days:
        return Standing("at tempo", (said, *_clean(goal, days)), days[0])
    return marked


def _from_ticks(section: str, ticks: list[TickRecord], on_whole: list[TickRecord], goal: int) -> Standing:
    if not ticks:
        return Standing("new", (f"Section {section} has not been played yet.",))
    days = clean_days_at(on_whole, goal)
    if len(days) >= SECURE_DAYS:
        return Standing("secure", _clean(goal, days[:SECURE_DAYS]), days[SECURE_DAYS - 1])
    if days:
        again = "Secure once it goes so on another day."
        return Standing("at tempo", (*_clean(goal, days), again), days[0])
    if not on_whole:
        loops = len({tick.key for tick in ticks})
        return Standing("learning", (f"{loops} of its loops played, not yet whole.",), ticks[0].day)
    best = max((t for t in on_whole if t.felt == "clean"), key=lambda t: t.tempo, default=None)
    if best:
        why = f"Clean at {best.tempo} {on_day(best.day)}; the goal is {goal}."
    else:
        why = f"Played whole {on_day(on_whole[-1].day)}, not yet clean."
    return Standing("learning", (why,), ticks[0].day)


def _clean(goal: int, days: Iterable[date]) -> tuple[str, ...]:
    return tuple(f"Clean at {goal} {on_day(day)}." for day in days)

"""How long a section is remembered, and when it is due again.

One memory state for each section, by the ``fsrs`` library (free spaced repetition
scheduler 6: a model of forgetting fitted to cards, not to hands, so it says when to
look again and no more). One rating a day, the day's best: broke down; with slips or
slow; clean at the tempo asked; clean at the goal. A day counts as its noon in UTC.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache

from fsrs import Card, Rating, Scheduler

from students.planning.history import TickRecord

# Nothing rests longer than this before a performance; without one, half a year.
LONGEST_BEFORE_PERFORMANCE = 28
LONGEST = 180
# A clean pass under this share of the goal counts as slow.
SLOW = 0.8
# The recall at which a section is due.
RECALL = 0.9


@dataclass(frozen=True)
class Memory:
    """What is remembered of a section: last played on ``last``, due again on ``due``.

    ``stability`` is the number of days after which recall falls to nine in ten.
    """

    last: date
    due: date
    stability: float

    def recall(self, on: date) -> float:
        """The chance, 0 to 1, that it still goes on day ``on``."""
        card = Card(card_id=1, stability=self.stability, last_review=_noon(self.last))
        return _scheduler(LONGEST).get_card_retrievability(card, _noon(on))


def rate(tick: TickRecord, goal: int) -> Rating:
    """The rating of one tick.

    >>> tick = TickRecord("section:A", "A", 1, 4, date(2026, 3, 17), 72, "clean", "section")
    >>> rate(tick, 76).name, rate(tick, 72).name, rate(tick, 100).name
    ('Good', 'Easy', 'Hard')
    """
    if tick.felt == "broke":
        return Rating.Again
    if tick.felt == "slips" or tick.tempo < SLOW * goal:
        return Rating.Hard
    return Rating.Easy if tick.tempo >= goal else Rating.Good


def ratings_by_day(ticks: Iterable[TickRecord], goal: int) -> dict[date, Rating]:
    """The best rating of each day, in order of days."""
    best: dict[date, Rating] = {}
    for tick in sorted(ticks, key=lambda t: t.day):
        best[tick.day] = max(best.get(tick.day, Rating.Again), rate(tick, goal))
    return best


def remember(ratings: Mapping[date, Rating], *, performance: date | None = None) -> Memory | None:
    """The memory that these days leave, or None where there are none.

    Before a ``performance`` nothing rests longer than 28 days.

    >>> days = {date(2026, 3, 2): Rating.Good, date(2026, 3, 4): Rating.Good}
    >>> remember(days).due
    datetime.date(2026, 3, 15)
    """
    if not ratings:
        return None
    scheduler = _scheduler(LONGEST_BEFORE_PERFORMANCE if performance else LONGEST)
    card = Card(card_id=1, due=_noon(min(ratings)))
    for day in sorted(ratings):
        card, _ = scheduler.review_card(card, ratings[day], _noon(day))
    last = max(ratings)
    return Memory(last, max(card.due.date(), last + timedelta(days=1)), card.stability)


def _noon(day: date) -> datetime:
    return datetime.combine(day, time(12), UTC)


@lru_cache(maxsize=4)
def _scheduler(longest: int) -> Scheduler:
    # No steps within a day: hands need the night, and one rating a day is all there is.
    return Scheduler(
        desired_retention=RECALL,
        learning_steps=(),
        relearning_steps=(),
        maximum_interval=longest,
        enable_fuzzing=False,
    )

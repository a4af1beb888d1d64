"""Who needs the teacher first, and why, in words.

A pure function of facts about each learner. The weights are the order in which a
teacher would want to know (common practice, no source): a date that will be missed,
then a learner who is stuck, then one who has stopped, then one who waits for more.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from students.planning.stuck import Stuck

Action = Literal["fit", "lesson", "card", "next", "choose"]

SILENT = 3  # practice days without a tick
LONG_SILENT = 6
PERFORMANCE_NEAR = 21  # days


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of one learner on ``today``.

    ``missed`` are planned days since the last tick, today not counted. ``short`` is how
    many minutes the plan lacks, 0 where it fits. ``done``: every assigned section is
    secure. ``card_used``: the day the sign-in card was last used.
    """

    student: int
    name: str
    today: date
    piece: str = ""
    lesson: date | None = None
    performance: date | None = None
    short: int = 0
    needed: int = 0
    available: int = 0
    last_tick: date | None = None
    missed: int = 0
    stuck: tuple[Stuck, ...] = ()
    done: bool = False
    assigned: bool = True
    has_card: bool = True
    card_used: date | None = None


@dataclass(frozen=True, slots=True)
class Need:
    """One learner's first need. ``head`` says it, ``text`` gives the evidence, ``action`` what to do."""

    student: int
    name: str
    weight: int
    head: str
    text: str
    action: Action
    bar: int | None = None


def attention(learners: Iterable[Facts]) -> list[Need]:
    """The learners who need something, most urgent first; each with their first need only.

    >>> facts = Facts(1, "Nell", date(2026, 3, 19), piece="Two Lanterns", done=True)
    >>> attention([facts])[0].head
    'Ahead: everything assigned is secure.'
    """
    needs = [need for facts in learners if (need := _first_need(facts))]
    return sorted(needs, key=lambda need: (-need.weight, need.name))


def _first_need(facts: Facts) -> Need | None:
    found = [need for ask in (_date, _stuck, _silent, _ahead, _unassigned, _tight) if (need := ask(facts))]
    return max(found, key=lambda need: need.weight, default=None)


def _need(facts: Facts, weight: int, head: str, text: str, action: Action, bar=None) -> Need:
    soon = 5 if facts.lesson and (facts.lesson - facts.today).days <= 1 else 0
    return Need(facts.student, facts.name, weight + soon, head, text, action, bar)


def _date(facts: Facts) -> Need | None:
    if not facts.performance or not facts.short:
        return None
    days = (facts.performance - facts.today).days
    if not 0 <= days <= PERFORMANCE_NEAR:
        return None
    when = "today" if days == 0 else "tomorrow" if days == 1 else f"in {days} days"
    text = f"{facts.available} minutes are left to practise and {facts.needed} are needed."
    return _need(facts, 90 - days, f"Performs {when} and the plan does not fit.", text, "fit")


def _stuck(facts: Facts) -> Need | None:
    if not facts.stuck:
        return None
    stuck = facts.stuck[0]
    where = f"bar {stuck.first}" if stuck.first == stuck.last else f"bars {stuck.first} to {stuck.last}"
    head = f"Stuck at {where} for {stuck.days} days."
    return _need(facts, 60 + min(stuck.days, 9), head, stuck.text, "lesson", stuck.first)


def _silent(facts: Facts) -> Need | None:
    if not facts.assigned or facts.missed < SILENT:
        return None
    if facts.last_tick is None:
        if not facts.has_card:
            head, text = "Cannot tick yet.", "There is no sign-in card; print one."
            return _need(facts, 58, head, text, "card")
        return _need(facts, 57, "Nothing ticked yet.", f"{facts.missed} days were planned.", "lesson")
    gone = (facts.today - facts.last_tick).days
    head = f"Nothing ticked for {gone} days."
    if facts.missed >= LONG_SILENT and facts.card_used and (facts.today - facts.card_used).days >= gone:
        since = f"{facts.card_used:%A} {facts.card_used.day} {facts.card_used:%B}"
        text = f"{facts.missed} days were planned. The card was last used on {since}; perhaps it is lost."
        return _need(facts, 55, head, text, "card")
    return _need(facts, 50 + min(facts.missed, 7), head, f"{facts.missed} days were planned.", "lesson")


def _ahead(facts: Facts) -> Need | None:
    if not facts.assigned or not facts.done:
        return None
    return _need(facts, 40, "Ahead: everything assigned is secure.", "Ready for more.", "next")


def _unassigned(facts: Facts) -> Need | None:
    if facts.assigned:
        return None
    return _need(facts, 35, "Nothing is assigned.", "There is no page to open today.", "choose")


def _tight(facts: Facts) -> Need | None:
    # On the day of the lesson no day is left to change, and the lesson is where it is settled.
    if not facts.assigned or not facts.short or facts.lesson == facts.today:
        return None
    text = f"{facts.available} minutes until then and {facts.needed} are needed."
    return _need(facts, 20, "The plan does not fit before the lesson.", text, "fit")

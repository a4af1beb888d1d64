"""Who needs the teacher first, and why, in words.

A pure function of facts about each learner. The weights are the order in which a
teacher would want to know (common practice, no source): a date that will be missed,
then a learner who is stuck, then one who has stopped, then one who waits for more,
then what can wait until there is time.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from pieces.music.words import listed
from students.planning.stuck import Stuck
from students.planning.words import ago, on_day

Action = Literal["fit", "lesson", "card", "next", "choose", "student"]

SILENT = 3  # practice days without a tick
SILENT_BEFORE_LESSON = 2  # where the lesson is today or tomorrow
LONG_SILENT = 6
PERFORMANCE_NEAR = 21  # days
PERFORMANCE_SOON = 14  # days; by then everything should be at tempo
LONG_DUE = 14  # days for which a learned piece has been due
LAST_FELT = {"slips": "some slips", "broke": "a break-down"}
ALSO = 2  # other reasons that are named beside the first


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of one learner on ``today``.

    ``missed`` are planned days since the last tick, today not counted. ``short`` is how
    many minutes a plan lacks, 0 where all fit, and ``why_short`` what the plan itself
    says. ``done``: every assigned section is secure, and ``then`` is the letter that
    comes next ("" where there is none). ``card_used``: the day the sign-in card was last
    used. ``unready`` are sections for the performance that are not at tempo. ``passed``
    is the lesson for which something was given that ran on since, ``performed`` a
    performance that is over. ``long_due`` is a learned piece that has been due since
    ``due``. Names that begin with ``of_`` say which assignment it is about, by its number.
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
    then: str = ""
    unready: tuple[str, ...] = ()
    passed: date | None = None
    performed: date | None = None
    long_due: str = ""
    due: date | None = None
    of_short: int | None = None
    of_performance: int | None = None
    of_stuck: int | None = None
    of_done: int | None = None
    of_passed: int | None = None
    of_performed: int | None = None
    why_short: str = ""


@dataclass(frozen=True, slots=True)
class Need:
    """One learner's first need. ``head`` says it, ``text`` gives the evidence, ``action`` what to do.

    ``of`` is the number of the assignment it is about, None where it is about none or
    any. ``also`` are the heads of the learner's next needs.
    """

    student: int
    name: str
    weight: int
    head: str
    text: str
    action: Action
    bar: int | None = None
    of: int | None = None
    also: tuple[str, ...] = ()


def attention(learners: Iterable[Facts]) -> list[Need]:
    """The learners who need something, most urgent first; each once, by their first need.

    >>> facts = Facts(1, "Nell", date(2026, 3, 19), piece="Two Lanterns", done=True, then="B")
    >>> attention([facts])[0].head
    'Ahead: ready for section B.'
    """
    needs = [need for facts in learners if (need := _first_need(facts))]
    return sorted(needs, key=lambda need: (-need.weight, need.name))


def _first_need(facts: Facts) -> Need | None:
    found = [need for ask in ASKED if (need := ask(facts))]
    if not found:
        return None
    found.sort(key=lambda need: -need.weight)
    return replace(found[0], also=tuple(need.head for need in found[1 : 1 + ALSO]))


def _need(facts: Facts, weight: int, head: str, text: str, action: Action, bar=None, of=None) -> Need:
    soon = 5 if _lesson_is_near(facts) else 0
    return Need(facts.student, facts.name, weight + soon, head, text, action, bar, of)


def _lesson_is_near(facts: Facts) -> bool:
    return facts.lesson is not None and (facts.lesson - facts.today).days <= 1


def _lesson_said(facts: Facts) -> str:
    if not _lesson_is_near(facts):
        return ""
    return " Lesson today." if facts.lesson == facts.today else " Lesson tomorrow."


def _days_to_perform(facts: Facts, within: int) -> int | None:
    if facts.performance is None:
        return None
    days = (facts.performance - facts.today).days
    return days if 0 <= days <= within else None


def _performs(days: int) -> str:
    return "Performs " + ("today" if days == 0 else "tomorrow" if days == 1 else f"in {days} days")


def _date(facts: Facts) -> Need | None:
    days = _days_to_perform(facts, PERFORMANCE_NEAR)
    if days is None or not _performance_is_short(facts):
        return None
    text = f"{facts.available} minutes are left to practise and {facts.needed} are needed."
    text = text if facts.needed > facts.available else facts.why_short
    head = f"{_performs(days)} and the plan does not fit."
    return _need(facts, 90 - days, head, text, "fit", of=facts.of_short)


def _performance_is_short(facts: Facts) -> bool:
    return bool(facts.short) and facts.of_short == facts.of_performance


def _unready(facts: Facts) -> Need | None:
    days = _days_to_perform(facts, PERFORMANCE_SOON)
    if days is None or not facts.unready:
        return None
    one = len(facts.unready) == 1
    sections = f"section{'' if one else 's'} {listed(facts.unready)} {'is' if one else 'are'}"
    head = f"{_performs(days)} and {sections} not at tempo."
    text = "Two weeks before, everything should be learned."
    return _need(facts, 72 - days, head, text, "lesson", of=facts.of_performance)


def _stuck(facts: Facts) -> Need | None:
    if not facts.stuck:
        return None
    stuck = facts.stuck[0]
    between = "and" if stuck.last == stuck.first + 1 else "to"
    bars = f"Bars {stuck.first} {between} {stuck.last} have"
    where = f"Bar {stuck.first} has" if stuck.first == stuck.last else bars
    moved = f"moved off {stuck.tempo}" if stuck.even else "moved up"
    last = f"Last with {LAST_FELT[stuck.felt]}." if stuck.even else stuck.text
    text = f"{last}{_lesson_said(facts)}"
    head = f"{where} not {moved} for {stuck.days} days."
    return _need(facts, 60 + min(stuck.days, 9), head, text, "lesson", stuck.first, facts.of_stuck)


def _silent(facts: Facts) -> Need | None:
    enough = SILENT_BEFORE_LESSON if _lesson_is_near(facts) else SILENT
    if not facts.assigned or facts.missed < enough:
        return None
    planned = f"{facts.missed} days were planned.{_lesson_said(facts)}"
    if facts.last_tick is None:
        if not facts.has_card:
            return _need(facts, 58, "Cannot tick yet.", "There is no sign-in card; print one.", "card")
        return _need(facts, 57, "Nothing ticked yet.", planned, "lesson")
    gone = (facts.today - facts.last_tick).days
    head = f"No practice since {_since(facts.last_tick, facts.today)}."
    if facts.missed >= LONG_SILENT and facts.card_used and (facts.today - facts.card_used).days >= gone:
        text = f"{planned} The card was last used {on_day(facts.card_used)}; perhaps it is lost."
        return _need(facts, 55, head, text, "card")
    return _need(facts, 50 + min(facts.missed, 7), head, planned, "lesson")


def _passed(facts: Facts) -> Need | None:
    if facts.passed is None:
        return None
    head = f"Nothing new was given at the lesson {ago(facts.passed, facts.today)}."
    return _need(
        facts, 45, head, "What was given then runs on to the next lesson.", "next", of=facts.of_passed
    )


def _ahead(facts: Facts) -> Need | None:
    if not facts.assigned or not facts.done:
        return None
    text = "Everything assigned is secure."
    if facts.then:
        head = f"Ahead: ready for section {facts.then}."
        return _need(facts, 40, head, text, "next", of=facts.of_done)
    return _need(facts, 40, "Ahead: ready for a new piece.", text, "choose", of=facts.of_done)


def _performed(facts: Facts) -> Need | None:
    if facts.performed is None:
        return None
    head = f"Performed {ago(facts.performed, facts.today)}."
    return _need(
        facts, 38, head, "Put the piece away as learned, or give it on.", "student", of=facts.of_performed
    )


def _unassigned(facts: Facts) -> Need | None:
    if facts.assigned:
        return None
    return _need(facts, 35, "Nothing is assigned.", "There is no page to open today.", "choose")


def _long_due(facts: Facts) -> Need | None:
    if not facts.long_due or (facts.today - facts.due).days < LONG_DUE:
        return None
    head = f"{facts.long_due} has been due for {(facts.today - facts.due).days} days."
    text = "One play-through keeps it; no day had the minutes, or it was not ticked."
    return _need(facts, 25, head, text, "student")


def _tight(facts: Facts) -> Need | None:
    # On the day of the lesson no day is left to change, and the lesson is where it is settled.
    if not facts.assigned or not facts.short or facts.lesson == facts.today:
        return None
    if _days_to_perform(facts, PERFORMANCE_NEAR) is not None and _performance_is_short(facts):
        return None
    text = f"{facts.available} minutes until then and {facts.needed} are needed."
    text = text if facts.needed > facts.available else facts.why_short
    return _need(facts, 20, "The plan does not fit before the lesson.", text, "fit", of=facts.of_short)


ASKED = (
    _date, _unready, _stuck, _silent, _passed, _ahead, _performed, _unassigned, _long_due, _tight
)  # fmt: skip


def _since(day: date, today: date) -> str:
    said = ago(day, today)
    return said.removeprefix("on ")

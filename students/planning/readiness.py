"""Whether a piece is ready for its performance, and why."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from pieces.music.words import listed
from students.planning.performing import Backward
from students.planning.words import on_day

State = Literal["ready", "on the way", "late", "not given"]


@dataclass(frozen=True)
class Section:
    """A section of a piece as it stands for a learner; ``standing`` is "" where it was never given."""

    letter: str
    standing: str
    why: str = ""


@dataclass(frozen=True)
class Readiness:
    """``state`` in a word, ``reasons`` in sentences."""

    state: State
    reasons: tuple[str, ...]


NOT_GIVEN = Readiness("not given", ())


def readiness(
    sections: Sequence[Section], dates: Backward, today: date, *, last_new: date | None = None, fit: str = ""
) -> Readiness:
    """How ready a piece is on ``today``.

    ``last_new`` is the last day on which the plan has something new, ``fit`` says why the
    plan does not fit, "" where it does. Late is what is not at tempo once everything
    should be learned, or will not be by then as planned.

    >>> from students.planning.performing import backward_from
    >>> dates = backward_from(date(2026, 3, 28), date(2026, 2, 20))
    >>> parts = [Section("A", "secure"), Section("B", "learning", "Clean at 60; the goal is 72.")]
    >>> readiness(parts, dates, date(2026, 3, 2)).state
    'on the way'
    >>> readiness(parts, dates, date(2026, 3, 20)).state
    'late'
    """
    missing = [section.letter for section in sections if not section.standing]
    behind = [section for section in sections if section.standing in ("new", "learning")]
    nearly = [section.letter for section in sections if section.standing == "at tempo"]
    due = [section.letter for section in sections if section.standing == "due again"]
    reasons = []
    if missing:
        reasons.append(f"{_sections(missing)} {_was(missing)} never given.")
    reasons += [_behind(section) for section in behind]
    if nearly:
        reasons.append(f"{_sections(nearly)} {_is(nearly)} at tempo, not yet secure.")
    if due:
        reasons.append(f"{_sections(due)} {_is(due)} due again.")
    too_late = last_new is not None and last_new > dates.learned_by
    if too_late:
        reasons.append(f"Something new is planned {on_day(last_new)}, after the day it should be learned.")
    if fit:
        reasons.append(fit)
    if not reasons:
        return Readiness("ready", ("Every section is secure.",))
    unlearned = bool(missing or behind)
    if too_late or fit or (unlearned and today > dates.learned_by):
        return Readiness("late", tuple(reasons))
    return Readiness("on the way" if unlearned or nearly else "ready", tuple(reasons))


def _behind(section: Section) -> str:
    said = f"Section {section.letter} is {section.standing}."
    # Of what is new the reason says all there is to say.
    return section.why if section.standing == "new" and section.why else f"{said} {section.why}".strip()


def _sections(letters: Sequence[str]) -> str:
    return f"Section{'' if len(letters) == 1 else 's'} {listed(letters)}"


def _is(letters: Sequence[str]) -> str:
    return "is" if len(letters) == 1 else "are"


def _was(letters: Sequence[str]) -> str:
    return "was" if len(letters) == 1 else "were"

"""Whether a plan fits, in words and numbers, and what would make it fit.

The ways out are computed, not guessed: each is planned again as it would be applied,
and offered only where that plan has a day for everything.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from pieces.music.words import counted, listed
from students.planning.history import History
from students.planning.laying import Laid, Short, lay_out_first
from students.planning.loads import Days, Placed
from students.planning.loops import Chunk, keep_sections, letters_of, lower_goal
from students.planning.needs import RETURNS, Need, days_ahead, needs_of
from students.planning.plan import Calendar, Fit, Learner, Returns, WayOut, add_minutes, weeks_later
from students.planning.tempo import MARKS

MOST_MINUTES_MORE = 60
MOST_WEEKS_LATER = 12
# How many choices of sections are planned before none is offered.
MOST_CHOICES = 12
# Three ways are offered; a later date only where the other kinds do not make three.
WAYS = 3
# Minutes a day that may be added at once (see ``cautions``).
ADDED_AT_ONCE = 10


class Trial(NamedTuple):
    """What a change to the plan comes to."""

    fits: bool
    needed: int
    available: int


@dataclass(frozen=True)
class _Question:
    """What is planned again with one thing changed; ``spent`` are minutes of today already given."""

    chunks: Sequence[Chunk]
    calendar: Calendar
    learner: Learner
    history: History
    today: date
    spent: int
    needs: Sequence[Need]
    returns: Sequence[Returns] = ()

    def with_chunks(self, chunks: Sequence[Chunk]) -> Trial:
        needs = needs_of(chunks, self.calendar, self.learner, self.history, self.today)
        return self._trial(needs, self.calendar)

    def with_more_minutes(self, more: int) -> Trial:
        # The same days: what the loops need of them is the same too.
        return self._trial(self.needs, add_minutes(self.calendar, more, self.today))

    def with_weeks_more(self, weeks: int) -> Trial:
        calendar = weeks_later(self.calendar, weeks)
        if sum(day >= self.today for day in self.calendar.days) > RETURNS:
            # There were days enough to come back on: more change nothing in what is needed.
            return self._trial(self.needs, calendar)
        needs = needs_of(self.chunks, calendar, self.learner, self.history, self.today)
        return self._trial(needs, calendar)

    def _trial(self, needs: Sequence[Need], calendar: Calendar) -> Trial:
        days = days_ahead(calendar, self.learner, self.today, needs)
        laid = lay_out_first(needs, days, self.returns, self.learner.pace)
        if laid is None:
            needed = sum(need.minutes for need in needs)
            return Trial(False, needed + self.spent, sum(days.room) + self.spent)
        needed = laid.minutes(days) + sum(short.minutes for short in laid.short)
        return Trial(not laid.short, needed + self.spent, sum(days.room) + self.spent)


def fit_of(
    needs: Sequence[Need],
    days: Days,
    laid: Laid,
    chunks: Sequence[Chunk],
    calendar: Calendar,
    learner: Learner,
    history: History,
    today: date,
    spent: int = 0,
    returns: Sequence[Returns] = (),
) -> Fit:
    """Say whether ``laid`` has a day for all of ``needs`` and takes sections to their goal; if not, what would."""
    placed = laid.placed
    needed = sum(need.minutes for need in needs) + spent
    available = sum(days.room) + spent
    if not placed.missing:
        needed = laid.minutes(days) + spent
        if not laid.short:
            return Fit(True, f"Fits: {needed} of {counted_minutes(available)}.", needed, available)
    question = _Question(chunks, calendar, learner, history, today, spent, needs, returns)
    if not placed.missing:
        needed += sum(short.minutes for short in laid.short)
        short = tuple((one.need.chunk.key, one.tempo) for one in laid.short)
        text = _not_at_the_goal(laid.short, calendar)
        return Fit(False, text, needed, available, tuple(_ways_out(question)), (), short)
    text = f"{_short(needed, available, needs, days, calendar, learner)} {_what_is_missing(needs, placed)}"
    missing = tuple(needs[at].chunk.key for at in sorted(placed.missing))
    return Fit(False, text.strip(), needed, available, tuple(_ways_out(question)), missing)


def apply_way(way: WayOut, chunks: Sequence[Chunk], calendar: Calendar, today: date):
    """``(chunks, calendar)`` as they are once a way out is taken."""
    match way.apply:
        case {"sections": letters}:
            return keep_sections(chunks, letters), calendar
        case {"goal": goal}:
            return lower_goal(chunks, goal), calendar
        case {"more_minutes": more}:
            return chunks, add_minutes(calendar, more, today)
        case {"weeks_later": weeks}:
            return chunks, weeks_later(calendar, weeks)
    raise ValueError(f"No way out is applied by {way.apply!r}.")


def _ways_out(question: _Question) -> Iterator[WayOut]:
    found = 0
    for way in (_fewer_sections, _lower_goal, _more_minutes):
        if out := way(question):
            found += 1
            yield out
    if found < WAYS and (out := _later(question)):
        yield out


def _not_at_the_goal(short: Sequence[Short], calendar: Calendar) -> str:
    """Which sections will not be at their goal, and where they will be."""
    by = "performance" if calendar.performance == calendar.end else "lesson"
    goal = max(one.need.chunk.goal for one in short)
    where = listed([f"section {one.need.chunk.section} comes to about {one.tempo}" for one in short])
    return f"Will not be at {goal} by the {by}: {where}."


def counted_minutes(minutes: int) -> str:
    """Minutes in figures.

    >>> counted_minutes(1), counted_minutes(48)
    ('1 minute', '48 minutes')
    """
    return f"{minutes} minute{'' if minutes == 1 else 's'}"


def _short(
    needed: int, available: int, needs: Sequence[Need], days: Days, calendar: Calendar, learner: Learner
) -> str:
    if not days.room:
        return "Does not fit: there is no day of practice left before the date."
    unmet = [need for need in needs if need.load.new]
    returns = min((len(need.load.returns) for need in unmet), default=0)
    early = max(0, len(days.room) - returns)
    if len(unmet) > sum(days.caps[:early]):
        return (
            f"Does not fit: {counted(len(unmet), 'new loop')} at {learner.new_loops} a day, and "
            f"{counted(early, 'day')} from which each can still come back."
        )
    if needed > available:
        return f"Does not fit: {counted_minutes(needed - available)} short."
    return "Does not fit: there are minutes enough, but not on the days that need them."


def _what_is_missing(needs: Sequence[Need], placed: Placed) -> str:
    """Name what has no day, by section, and what comes back too seldom."""
    missing = [(needs[at], count) for at, count in sorted(placed.missing.items())]
    none = [need.chunk for need, count in missing if need.load.new]
    seldom = [need.chunk.label for need, _ in missing if not need.load.new]
    said = [_missing_in(letter, [c for c in none if c.section == letter]) for letter in letters_of(none)]
    if any(chunk.kind == "run" for chunk in none):
        said.append("The run has no day.")
    if seldom:
        few = listed(seldom) if len(seldom) < 4 else counted(len(seldom), "loop").capitalize()
        said.append(f"{few} {'comes' if len(seldom) == 1 else 'come'} back too seldom.")
    return " ".join(said)


def _missing_in(letter: str, chunks: Sequence[Chunk]) -> str:
    loops = [chunk.label for chunk in chunks if chunk.kind != "section"]
    verb = "have" if len(loops) > 1 else "has"
    few = listed([label[:1].lower() + label[1:] for label in loops]) if len(loops) < 3 else ""
    if len(loops) == len(chunks):
        subject = few or f"{counted(len(loops), 'loop')} of section {letter}"
        return f"{subject[:1].upper()}{subject[1:]} {verb} no day."
    if not loops:
        return f"Section {letter} is never whole."
    few = few or f"{counted(len(loops), 'loop')} of it"
    return f"Section {letter} is never whole, and {few} {verb} no day."


def _way(kind: str, text: str, trial: Trial, apply: dict) -> WayOut:
    spare = trial.available - trial.needed
    left = f"{spare} spare" if spare else "nothing spare"
    text = f"{text} Needs {trial.needed} of {trial.available}: fits, {left}."
    return WayOut(kind, text, trial.needed, trial.available, apply)


def _fewer_sections(question: _Question) -> WayOut | None:
    letters = letters_of(question.chunks)
    if len(letters) < 2:
        return None
    size = dict.fromkeys(letters, 0)
    for need in question.needs:
        if need.chunk.section:
            size[need.chunk.section] += need.minutes
    choices = {(letter,) for letter in letters} | {letters[at:] for at in range(1, len(letters))}
    over = sum(need.minutes for need in question.needs if need.chunk.kind != "run") - sum(
        question.calendar.room(day) for day in question.calendar.days if day >= question.today
    )
    in_order = sorted(choices, key=lambda out: (sum(size[letter] for letter in out), out))
    worth_trying = [out for out in in_order if sum(size[letter] for letter in out) >= over]
    for left_out in worth_trying[:MOST_CHOICES]:
        kept = [letter for letter in letters if letter not in left_out]
        trial = question.with_chunks(keep_sections(question.chunks, kept))
        if trial.fits:
            text = f"Leave {listed(left_out)} out and play {listed(kept)}."
            return _way("sections", text, trial, {"sections": kept})
    return None


def _lower_goal(question: _Question) -> WayOut | None:
    chunks = question.chunks
    goal = max((chunk.goal for chunk in chunks), default=0)
    start = min((chunk.start for chunk in chunks), default=0)
    lower = [mark for mark in reversed(MARKS) if start <= mark < goal]
    best = _bisect(lower, lambda mark: question.with_chunks(lower_goal(chunks, mark)))
    if best is None:
        return None
    mark, trial = best
    start_goal = max(chunk.start_goal or chunk.goal for chunk in chunks)
    return _way("goal", f"{mark} instead of {goal} for now.", trial, {"goal": mark, "start_goal": start_goal})


def _more_minutes(question: _Question) -> WayOut | None:
    calendar, today = question.calendar, question.today
    more = range(1, MOST_MINUTES_MORE + 1)
    best = _bisect(more, question.with_more_minutes)
    if best is None:
        return None
    extra, trial = best
    sizes = {calendar.room(day) for day in calendar.days if day >= today}
    if len(sizes) == 1:
        usual = sizes.pop()
        text = f"{usual + extra} minutes a day instead of {usual}."
    else:
        text = f"{counted_minutes(extra)} more on each day."
    if extra > ADDED_AT_ONCE:
        text += f" More than {ADDED_AT_ONCE} at once is too much: add them over weeks."
    else:
        text += " Hold it there for the week."
    return _way("minutes", text, trial, {"more_minutes": extra})


def _later(question: _Question) -> WayOut | None:
    weeks = range(1, MOST_WEEKS_LATER + 1)
    best = _bisect(weeks, question.with_weeks_more)
    if best is None:
        return None
    more, trial = best
    moved = weeks_later(question.calendar, more)
    text = f"{counted(more, 'week').capitalize()} more, to {moved.end.day} {moved.end:%B}."
    return _way("later", text, trial, {"weeks_later": more, "lesson": moved.lesson})


def _bisect(choices: Sequence[int], attempt: Callable[[int], Trial]) -> tuple[int, Trial] | None:
    """The first of ``choices``, each more generous than the one before, whose trial fits."""
    if not choices:
        return None
    best = None
    low, high = 0, len(choices) - 1
    last = attempt(choices[high])
    if not last.fits:
        return None
    best = choices[high], last
    while low < high:
        middle = (low + high) // 2
        trial = attempt(choices[middle])
        if trial.fits:
            best, high = (choices[middle], trial), middle
        else:
            low = middle + 1
    return best

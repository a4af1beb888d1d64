"""From rows to the values that planning reads: days, learner, history, returns."""

from collections import OrderedDict, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from threading import Lock

from pieces.models import Revision
from pieces.music.alike import what_is_played
from pieces.music.difficulty import Rating
from pieces.music.findings import Workup
from students.models import WEEKDAYS, Assignment, Mark, Student, Tick
from students.planning import chunks as loops
from students.planning.history import History, MarkRecord, TickRecord
from students.planning.pace import pace_of
from students.planning.plan import Calendar, Learner, gentle_return

KEPT = 128
_cuts: OrderedDict[tuple, tuple[Workup, tuple[loops.Chunk, ...]]] = OrderedDict()
_lock = Lock()
LONGEST_RETURN = 28  # days in which the gentle days after an illness are looked for


@dataclass(frozen=True)
class Terms:
    """What is given and until when: the choices of the Assign page.

    ``minutes`` overrides the learner's own minutes by weekday ("mon": 15). ``scores``
    are the difficulties of bars as learners of the studio found them, where they did.
    """

    letters: tuple[str, ...]
    goal: int
    starts: date
    until: date
    performance: bool = False
    start_goal: int | None = None
    minutes: dict | None = None
    scores: Mapping[int, float] | None = None


def cut(workup: Workup, terms: Terms) -> tuple[loops.Chunk, ...]:
    """The loops of the sections that are given.

    The same piece is given to many, so what was cut is kept in memory for as long as its
    workup is (see ``pieces.workup``), under the workup itself and the terms that matter.
    """
    scores = terms.scores or {}
    key = id(workup), tuple(terms.letters), terms.goal, terms.start_goal, tuple(sorted(scores.items()))
    with _lock:
        if key in _cuts:
            _cuts.move_to_end(key)
            return _cuts[key][1]
    chunks = loops.build_chunks(
        workup.score,
        workup.sections,
        _as_found(workup.ratings, scores),
        goal=terms.goal,
        changes=[
            loops.ChangeInto(at.bar, at.before, at.after, at.change.cost, at.change.text)
            for at in workup.changes
        ],
        chosen=list(terms.letters),
        start_goal=terms.start_goal,
        syllables=workup.syllables,
    )
    with _lock:
        # The workup is held beside its loops, so that its id cannot become another's.
        _cuts[key] = workup, chunks
        while len(_cuts) > KEPT:
            _cuts.popitem(last=False)
    return chunks


def _as_found(ratings: Mapping[int, Rating], scores: Mapping[int, float]) -> dict[int, Rating]:
    """The ratings, with the score that learners found in place of the computed one."""
    return {
        number: replace(rating, score=scores[number]) if number in scores else rating
        for number, rating in ratings.items()
    }


def terms_of(assignment: Assignment) -> Terms:
    """The terms on which it was given."""
    return Terms(
        tuple(assignment.letters),
        assignment.goal_tempo,
        assignment.starts_on,
        assignment.until,
        assignment.performance,
        assignment.start_goal,
        scores={int(number): score for number, score in assignment.scores.items()},
    )


def learner_of(student: Student, ticks: list[Tick]) -> Learner:
    """The learner as planning sees one: level, pace from all ticks, and the choice to alternate."""
    everything = History(tuple(tick_record(tick) for tick in ticks))
    return Learner(student.level, pace=pace_of(everything).pace, interleave=student.alternate)


def calendar_of(student: Student, terms: Terms, *, taken=None) -> Calendar:
    """The learner's days until the lesson: minutes by weekday, less what is taken, none while away.

    On a gentle day, after an illness, half the minutes are shared by all pieces.
    """
    by_weekday, taken = terms.minutes or student.minutes, taken or {}
    away = list(student.away.filter(last__gte=terms.starts - timedelta(days=LONGEST_RETURN)))
    gentle = _gentle_days(by_weekday, away)
    minutes, day = {}, terms.starts
    while day < terms.until:
        usual = _minutes_on(day, by_weekday, away)
        left = (usual + 1) // 2 - taken.get(day, 0) if day in gentle else usual - taken.get(day, 0)
        if left > 0:
            minutes[day] = 2 * left if day in gentle else left
        day += timedelta(days=1)
    performance = terms.until if terms.performance else None
    return Calendar(minutes, terms.until, performance, gentle & frozenset(minutes))


def _minutes_on(day: date, by_weekday: dict, away: list) -> int:
    if any(a.first <= day <= a.last for a in away):
        return 0
    return by_weekday.get(WEEKDAYS[day.weekday()], 0)


def _gentle_days(by_weekday: dict, away: list) -> frozenset[date]:
    """The days of return after each illness, whatever is given and when."""
    gentle: frozenset[date] = frozenset()
    for illness in (a for a in away if a.ill):
        back = illness.last + timedelta(days=1)
        days = [back + timedelta(days=n) for n in range(LONGEST_RETURN)]
        own = Calendar({day: _minutes_on(day, by_weekday, away) for day in days}, days[-1])
        gentle |= gentle_return(own, back).gentle
    return gentle


def records_of(student: Student) -> tuple[list[Tick], list[Mark]]:
    """All ticks that count and all marks of a learner, oldest first: three queries.

    A revision is one object however many ticks name it, for its bars are large.
    """
    ticks = list(student.ticks.standing().prefetch_related("revision"))
    return ticks, list(student.marks.all())


def history_of(assignment: Assignment, revision: Revision, ticks: list[Tick], marks: list[Mark]) -> History:
    """What happened on one arrangement, less the ticks whose bars were edited since."""
    mine = [tick for tick in ticks if tick.assignment_id == assignment.pk]
    then = {tick.revision_id: tick.revision for tick in mine}
    changed = {pk: changed_bars(earlier, revision) for pk, earlier in then.items()}
    kept = [tick for tick in mine if changed[tick.revision_id].isdisjoint(range(tick.first, tick.last + 1))]
    return History(
        tuple(tick_record(tick) for tick in kept),
        tuple(
            MarkRecord(mark.section, mark.day, mark.standing)
            for mark in marks
            if mark.assignment_id == assignment.pk
        ),
    )


def tick_record(tick: Tick) -> TickRecord:
    """A stored tick as planning reads it."""
    return TickRecord(
        tick.key,
        tick.section,
        tick.first,
        tick.last,
        tick.day,
        tick.tempo,
        tick.felt,
        tick.kind,
        str(tick.uuid),
        tick.minutes or None,
        tick.planned or None,
    )


def changed_bars(then: Revision, now: Revision) -> frozenset[int]:
    """The numbers of bars, of either revision, that are not played as they were."""
    if then.pk == now.pk:
        return frozenset()
    old, new = then.to_score(), now.to_score()
    was, is_now = ({bar.number: what_is_played(bar) for bar in score.bars} for score in (old, new))
    if old.tuning != new.tuning:
        return frozenset(was | is_now)
    return frozenset(number for number in was | is_now if was.get(number) != is_now.get(number))


def letters_in(then: Workup, now: Workup, letters) -> list[str]:
    """Where sections were cut anew, the letters of those that hold the bars given before; all if none does."""
    given = {
        number
        for section in then.sections
        if section.letter in letters
        for number in range(section.first, section.last + 1)
    }
    found = [s.letter for s in now.sections if not given.isdisjoint(range(s.first, s.last + 1))]
    return list(dict.fromkeys(found or [section.letter for section in now.sections]))


def minutes_taken(student: Student, terms: Terms, *, but: Assignment | None) -> dict[date, int]:
    tasks = student.tasks.filter(day__gte=terms.starts, day__lt=terms.until, assignment__ended_on=None)
    taken: dict[date, int] = defaultdict(int)
    for day, minutes in tasks.exclude(assignment=but).values_list("day", "minutes"):
        taken[day] += minutes
    return taken

"""Simulated learners: Fourbar's plan against three plain habits, over twelve weeks.

    python -m tests.benchmarks.planning [pieces]

What is learned are bars (identical ones once) and the steps between them. Each has a
tempo ``can`` up to which it goes, at first 40 to 60 hundredths of the goal by difficulty.
The chance that it goes right in a pass falls as the tempo passes ``can``; where it goes
wrong, four beats are lost.
A pass gains each a share ``rate`` of what it lacks to 1.25 of the tempo played: less with
every pass of the same day (0.9 each), and a fifth where it went wrong. Each night loses
a share of what was gained, 1 - exp(-1/hold); ``hold`` is ``holds`` nights at first and
grows by half on each new day of practice.

| learner | rate | holds | minutes a pass | days kept |
| usual | 0.02 | 4 | as estimated | all |
| slow | 0.01 | 4 | 1.3 times | all |
| fast | 0.04 | 4 | 0.8 times | all |
| forgetful | 0.02 | 2 | as estimated | all |
| absent | 0.02 | 4 | as estimated | 6 in 10 |

There are two worlds. In the even one a pass teaches each bar as much however long the
loop is. In the close one what does not yet go right is learned in short loops only:
its gain halves with each doubling of the loop beyond two bars. Teachers' habit of
taking a piece apart supposes the second (common practice, no source).

A section is secure at a lesson where it goes clean at the goal eight times in ten, if it
did at the lesson before. All have 15 minutes on six days a week, climb by the same rule
(three clean in a row: up; three failed: down), and never see what the simulation
knows. Fourbar's teacher gives the whole piece for the first date at which it fits. The
habits use every minute; Fourbar what it plans. That nights and correct passes help is
put into both worlds, not shown by them.

What it shows (8 pieces, even world): the plan takes fewer minutes than the two habits that
come back to everything, and more weeks: 592 minutes in 8 weeks for the usual learner,
against 699 in 7.5 and 652 in 7; 325 in 6 for the fast one, against 370 in 4. It does not
win in weeks; it wins them only against never coming back. The first two weeks go into
meeting loops, at most three new ones a day, while both habits play everything from the
first day and go on with it on every later one. A slow learner is at the goal in twelve
weeks only by "all in order", an absent one mostly by the habits.
"""

import sys
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise
from math import exp, prod
from pathlib import Path
from random import Random
from statistics import median
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parents[2]))

from pieces.music.form import bar_classes
from students.planning.chunks import Chunk, build_chunks
from students.planning.days import Calendar, Learner, Returns, plan_days
from students.planning.history import History, TickRecord
from students.planning.pace import pace_of
from students.planning.standing import standing_of
from students.planning.tempo import CLEAN_IN_A_ROW, next_mark, start_tempo, step_down
from students.planning.visits import BREATH, clean_in_a_row, marks_played
from tests.planning.made_up import Hard, sections_of, tune

START = date(2026, 1, 5)
BARS, WEEKS, DAYS_A_WEEK, MINUTES, GOAL = 16, 12, 6, 15, 96
SIZE = 4
REACH, SATURATES, TOO_FAST, GROWS, WIDTH, STUMBLE = 1.25, 0.9, 0.2, 1.5, 0.03, 4


class Kind(NamedTuple):
    rate: float = 0.02
    holds: float = 4.0
    slowness: float = 1.0
    keeps: float = 1.0


KINDS = {
    "usual": Kind(),
    "slow": Kind(rate=0.01, slowness=1.3),
    "fast": Kind(rate=0.04, slowness=0.8),
    "forgetful": Kind(holds=2.0),
    "absent": Kind(keeps=0.6),
}


@dataclass
class Item:
    """A bar or a step between two bars, as a learner has it."""

    base: float
    can: float
    hold: float
    passes: int = 0
    played: bool = False


@dataclass
class Player:
    """A simulated learner and the clock."""

    kind: Kind
    items: dict
    chance: Random
    minutes: float = 0.0
    left: float = 0.0
    tempo: dict = field(default_factory=dict)
    is_close: bool = False

    def plays(self, row: tuple, tempo: int) -> bool:
        """One pass over the bars of these classes; whether it was clean."""
        beats = 4 * len(row) + BREATH
        clean, far = True, min(1.0, 2 / len(row)) if self.is_close else 1.0
        for key in (*row, *pairwise(row)):
            item = self.items[key]
            went = self.chance.random() < _goes_right(item, tempo)
            clean &= went
            beats += 0 if went else STUMBLE
            gain = self.kind.rate * SATURATES**item.passes * max(0.0, REACH * tempo - item.can)
            item.can += gain if went else TOO_FAST * far * gain
            item.passes += 1
            item.played = True
        time = beats / tempo * self.kind.slowness
        self.minutes += time
        self.left -= time
        return clean

    def sleeps(self) -> None:
        for item in self.items.values():
            if item.played:
                item.hold *= GROWS
            item.can -= (item.can - item.base) * (1 - exp(-1 / item.hold))
            item.passes, item.played = 0, False

    def goes(self, row: tuple) -> bool:
        """Whether it goes clean at the goal eight times in ten."""
        return prod(_goes_right(self.items[key], GOAL) for key in (*row, *pairwise(row))) >= 0.8

    def climbs(self, row: tuple, marks: tuple, passes: int, in_a_row: int, *, again: bool) -> tuple[int, str]:
        """Passes over ``marks`` by the rule of the ladder; the tempo reached, and how it felt.

        ``again``: it went at the first mark before, so one clean pass is enough there.
        """
        at, clean, failed, best, down = 0, in_a_row - 1 if again else 0, 0, 0, 0
        for _ in range(passes):
            if self.left <= 0:
                break
            tempo = step_down(marks[at], down) if down else marks[at]
            if self.plays(row, tempo):
                clean, failed = clean + 1, 0
                if clean >= in_a_row:
                    best, clean = max(best, tempo), 0
                    at, down = (min(at + 1, len(marks) - 1), 0) if not down else (at, down - 1)
            else:
                clean, failed = 0, failed + 1
                if failed == CLEAN_IN_A_ROW:
                    at, down, failed = (at - 1, down, 0) if at else (at, down + 1, 0)
        if best:
            return best, "clean"
        return (marks[0], "broke") if down else (marks[0], "slips")


def _goes_right(item: Item, tempo: int) -> float:
    return 1 / (1 + exp(-(item.can - tempo) / (WIDTH * GOAL) - 2))


@dataclass(frozen=True)
class Piece:
    chunks: tuple[Chunk, ...]
    classes: dict
    ratings: dict

    def row(self, chunk: Chunk) -> tuple:
        return tuple(self.classes[number] for number in chunk.bars)

    @property
    def sections(self) -> list[Chunk]:
        return [chunk for chunk in self.chunks if chunk.kind == "section"]

    @property
    def run(self) -> tuple:
        return self.row(self.chunks[-1])


def piece(seed: int) -> Piece:
    """Sections of four bars; about seven bars in ten are new, some are hard."""
    chance, frets = Random(seed), []
    for _ in range(BARS):
        frets.append(chance.choice(frets) if frets and chance.random() < 0.3 else len(frets))
    score = tune(*frets)
    classes = bar_classes(score)
    ratings = {n: Hard(chance.choice((1.0, 2.0, 3.0, 4.0, 6.5, 8.0))) for n in set(classes.values())}
    return Piece(
        build_chunks(score, sections_of(*[SIZE] * (BARS // SIZE)), ratings, goal=GOAL), classes, ratings
    )


def player(kind: Kind, work: Piece, seed: int) -> Player:
    items = {}
    for chunk in work.chunks:
        row = work.row(chunk)
        for key in (*row, *pairwise(row)):
            parts = key if isinstance(key, tuple) else (key,)
            hard = max(work.ratings[part].score for part in parts)
            base = GOAL * (0.6 - 0.02 * hard)
            items[key] = Item(base, base, kind.holds)
    return Player(kind, items, Random(seed))


# --- The habits ----------------------------------------------------------------------------


def whole_piece(who: Player, work: Piece, day: int) -> None:
    """The whole piece, over and over, every day."""
    hardest = max(chunk.rating for chunk in work.sections)
    _keep_at(who, "run", work.run, hardest)


def a_section_and_never_back(who: Player, work: Piece, day: int) -> None:
    """The days are shared out: each section has its days in one block, and never comes back."""
    at = min(day * len(work.sections) // (WEEKS * DAYS_A_WEEK), len(work.sections) - 1)
    section = work.sections[at]
    _keep_at(who, section.key, work.row(section), section.rating)


def everything_in_order(who: Player, work: Piece, day: int) -> None:
    """Each section in order for as long as a fair share of the day, every day; then the whole."""
    share = who.left / (len(work.sections) + 1)
    for section in work.sections:
        _keep_at(who, section.key, work.row(section), section.rating, until=who.left - share)
    _keep_at(who, "run", work.run, max(chunk.rating for chunk in work.sections))


def _keep_at(who: Player, key: str, row: tuple, rating: float, until: float = 0.0) -> None:
    """Up the ladder from where it was left, for as long as there is time."""
    until = max(until, 0)
    tempo, clean, failed = who.tempo.get(key, start_tempo(GOAL, rating)), 0, 0
    while who.left > until:
        if who.plays(row, tempo):
            clean, failed = clean + 1, 0
        else:
            clean, failed = 0, failed + 1
        if clean == CLEAN_IN_A_ROW:
            tempo, clean = min(GOAL, next_mark(tempo)), 0
        if failed == CLEAN_IN_A_ROW:
            tempo, failed = step_down(tempo), 0
    who.tempo[key] = tempo


# --- Fourbar -------------------------------------------------------------------------------


@dataclass
class Fourbar:
    """A teacher who gives the whole piece for the first date at which it fits, then from week to week."""

    ticks: list = field(default_factory=list)
    weeks: int = 0

    def __call__(self, who: Player, work: Piece, day: int) -> None:
        today = _date(day)
        history = History(tuple(self.ticks))
        learner = Learner("intermediate", pace=pace_of(history).pace)
        week = day // DAYS_A_WEEK
        if not self.weeks:
            fits = (n for n in range(1, WEEKS) if self._plan(work, n, learner, history, today).fit.fits)
            self.weeks = next(fits, WEEKS)
        plan = self._plan(work, max(self.weeks, week + 1), learner, history, today)
        by_key = {chunk.key: chunk for chunk in work.chunks}
        for task in plan.on(today).tasks:
            chunk, before = by_key[task.key], who.minutes
            marks = marks_played(chunk, task.from_tempo, task.to_tempo, new=task.new)
            last = history.by_loop.get(task.key, ())[-1:]
            again = bool(last) and last[0].felt == "clean"
            reached, felt = who.climbs(
                work.row(chunk), marks, task.passes, clean_in_a_row(chunk), again=again
            )
            ends = chunk.section, chunk.first, chunk.last
            spent = who.minutes - before
            if not spent:
                break
            self.ticks.append(
                TickRecord(chunk.key, *ends, today, reached, felt, chunk.kind, "", spent, task.minutes)
            )

    def _plan(self, work: Piece, weeks: int, learner: Learner, history: History, today: date):
        dates = [_date(n) for n in range(weeks * DAYS_A_WEEK)]
        calendar = Calendar(dict.fromkeys(dates, MINUTES), START + timedelta(weeks=weeks))
        return plan_days(work.chunks, calendar, learner, history, today, self._due(work, history, today))

    def _due(self, work: Piece, history: History, today: date) -> list[Returns]:
        due = []
        for section in work.sections:
            standing = standing_of(section.section, work.chunks, history, today)
            if standing.name in ("secure", "due again"):
                beats = Fraction(section.beats)
                due.append(Returns(section.key, section.label, beats, GOAL, standing.memory.due))
        return due


def _date(day: int) -> date:
    return START + timedelta(weeks=day // DAYS_A_WEEK, days=day % DAYS_A_WEEK)


# --- Twelve weeks --------------------------------------------------------------------------


class Outcome(NamedTuple):
    """The week at whose lesson all sections were secure (None: not in twelve), and the minutes until then.

    ``secure`` is the share of sections that are so at the end, ``joined`` the share of the
    steps between sections that go at the goal eight times in ten.
    """

    week: int | None
    secure: float
    minutes: float
    joined: float


def twelve_weeks(habit, kind: Kind, seed: int, *, close: bool) -> Outcome:
    work = piece(seed)
    who, absent = player(kind, work, seed), Random(seed + 1)
    who.is_close = close
    rows = [work.row(section) for section in work.sections]
    now = before = [False] * len(rows)
    all_secure, minutes_then = None, 0.0
    for week in range(WEEKS):
        for day in range(week * DAYS_A_WEEK, (week + 1) * DAYS_A_WEEK):
            if absent.random() < kind.keeps:
                who.left = float(MINUTES)
                habit(who, work, day)
            who.sleeps()
        who.sleeps()
        goes = [who.goes(row) for row in rows]
        now, before = [a and b for a, b in zip(goes, before, strict=True)], goes
        if all(now) and all_secure is None:
            all_secure, minutes_then = week + 1, who.minutes
    secure = sum(now) / len(now)
    steps = [step for step in pairwise(work.run) if not any(step in pairwise(row) for row in rows)]
    joined = sum(_goes_right(who.items[step], GOAL) >= 0.8 for step in steps) / max(1, len(steps))
    return Outcome(all_secure, secure, minutes_then if all_secure else who.minutes, joined)


HABITS = {
    "Fourbar": Fourbar,
    "whole piece": lambda: whole_piece,
    "never back": lambda: a_section_and_never_back,
    "all in order": lambda: everything_in_order,
}


def main(pieces: int = 20) -> None:
    print(f"{pieces} pieces of {BARS} bars in sections of {SIZE}, {WEEKS} weeks; medians")
    heads = ("world", "learner", "habit", "all secure", "week", "minutes", "sections at the end", "joins")
    print("{:6} {:10} {:13} {:>10} {:>5} {:>8} {:>20} {:>6}".format(*heads))
    for world in ("even", "close"):
        for name, kind in KINDS.items():
            for habit, make in HABITS.items():
                found = [twelve_weeks(make(), kind, seed, close=world == "close") for seed in range(pieces)]
                weeks = [one.week for one in found if one.week]
                week = f"{median(weeks):.1f}" if weeks else "-"
                minutes = median(one.minutes for one in found)
                end = sum(one.secure for one in found) / pieces
                joins = sum(one.joined for one in found) / pieces
                print(
                    f"{world:6} {name:10} {habit:13} {len(weeks):>7}/{pieces:<2} {week:>5} {minutes:8.0f} "
                    f"{end:20.0%} {joins:6.0%}",
                    flush=True,
                )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)

"""Invented pieces, calendars and histories for the planning tests."""

from dataclasses import replace
from datetime import date, timedelta
from random import Random
from typing import NamedTuple

from hypothesis import strategies as st

from pieces.music.score import Bar, Event, Meter, Note, Score
from pieces.music.sections import Section
from students.planning.chunks import ChangeInto, build_chunks
from students.planning.days import Calendar, Learner
from students.planning.history import History, MarkRecord, TickRecord

TODAY = date(2026, 3, 13)
RHYTHMS = ("1/4 1/4 1/4 1/4", "1/2 1/4 1/4", "1/4 1/8 1/8 1/2", "1/1", "1/8 1/8 1/8 1/8 1/4 1/4")


class Hard(NamedTuple):
    """A rating with nothing but what the planning reads."""

    score: float
    reasons: tuple[str, ...] = ("Many notes.",)
    kinds: tuple[str, ...] = ("pace", "between")


def tune(*frets: int, rhythm: str = RHYTHMS[0]) -> Score:
    """A piece with a bar for each number: equal numbers are equal bars, others not even alike."""
    bars = []
    for number, fret in enumerate(frets, 1):
        plain = Bar.of("4/4", rhythm)
        events = tuple(
            _at_fret(event, (fret * (2 * at + 1) + at) % 13) for at, event in enumerate(plain.events)
        )
        bars.append(Bar(number, Meter(4, 4), events))
    return Score(bars=tuple(bars))


def _at_fret(event: Event, fret: int) -> Event:
    return Event(event.onset, event.duration, (Note(69 + fret, 1, fret),))


def sections_of(*sizes: int) -> list[Section]:
    """Sections A, B, C of so many bars each."""
    sections, first = [], 1
    for letter, size in zip("ABCDEFGHIJ", sizes, strict=False):
        sections.append(Section(letter, first, first + size - 1, None, "", 1.0))
        first += size
    return sections


def daily(minutes: int, days: int, start: date = TODAY, **more) -> Calendar:
    """Practice on each of so many days; the lesson is on the day after."""
    dates = [start + timedelta(days=n) for n in range(days)]
    return Calendar(dict.fromkeys(dates, minutes), start + timedelta(days=days), **more)


def tick(key: str, day: date, tempo: int, felt: str = "clean", section: str = "A", **more) -> TickRecord:
    kind = key.partition(":")[0]
    return TickRecord(key, section, 1, 1, day, tempo, felt, kind, **more)


def piece(chance: Random, most_bars: int = 16):
    """A score, its sections, ratings and changes; some bars and sections repeat others."""
    count = chance.randint(1, most_bars)
    rhythms = [chance.choice(RHYTHMS) for _ in range(12)]
    bars = []
    for number in range(1, count + 1):
        fret = chance.randrange(12)
        events = tuple(_at_fret(event, fret) for event in Bar.of("4/4", rhythms[fret]).events)
        bars.append(Bar(number, Meter(4, 4), events, repeats=chance.choice((0, 0, 0, 2))))
    sizes = []
    while sum(sizes) < count:
        sizes.append(min(count - sum(sizes), chance.randint(1, 9)))
    sections = _same_letter_where_alike(sections_of(*sizes), bars)
    ratings = {n: Hard(chance.choice((0.0, 2.0, 4.5, 6.5, 9.0))) for n in range(1, count + 1)}
    changes = [
        ChangeInto(chance.randint(1, count), "C", "G7", chance.choice((0.5, 3.0)))
        for _ in range(chance.randrange(4))
    ]
    return Score(bars=tuple(bars)), sections, ratings, changes


def _same_letter_where_alike(sections, bars):
    """As ``find_sections`` gives letters: identical sections share theirs."""
    first, lettered = {}, []
    for section in sections:
        played = tuple(bar.events for bar in bars[section.first - 1 : section.last])
        like = first.setdefault(played, section)
        same_as = None if like is section else like.first
        lettered.append(replace(section, letter=like.letter, same_as=same_as))
    return lettered


def calendar(chance: Random, most_days: int = 14) -> Calendar:
    """Some days of practice before and after TODAY, and the lesson after the last."""
    days, before = chance.randint(1, most_days), chance.randrange(7)
    sizes = (0, 0, 5, 8, 10, 12, 15, 20, 30)
    start = TODAY - timedelta(days=before)
    minutes = {start + timedelta(days=n): chance.choice(sizes) for n in range(before + days)}
    return Calendar(minutes, TODAY + timedelta(days=days))


def history(chance: Random, chunks, days) -> History:
    """Ticks on ``days`` before TODAY, parts before wholes, and perhaps a mark."""
    past = [day for day in days if day < TODAY]
    ticks, met = [], set()
    for day in past:
        for chunk in chunks:
            if met.issuperset(chunk.parts) and chance.random() < 0.4:
                tempo = chance.choice((chunk.start, (chunk.start + chunk.goal) // 2, chunk.goal))
                felt = chance.choice(("clean", "clean", "slips", "broke"))
                ends = chunk.section, chunk.first, chunk.last
                ticks.append(TickRecord(chunk.key, *ends, day, tempo, felt, chunk.kind))
                met.add(chunk.key)
    marks = []
    letters = sorted({chunk.section for chunk in chunks if chunk.section})
    if past and chance.random() < 0.3:
        standing = chance.choice(("learning", "at tempo", "secure"))
        marks.append(MarkRecord(chance.choice(letters), chance.choice(past), standing))
    return History(tuple(ticks), tuple(marks))


def loops_from(seed: int, most_bars: int = 16):
    """The loops of an invented piece."""
    chance = Random(seed)
    score, sections, ratings, changes = piece(chance, most_bars)
    return build_chunks(score, sections, ratings, goal=chance.choice((50, 76, 96, 120)), changes=changes)


def case_from(seed: int, most_bars: int, most_days: int):
    """(loops, calendar, learner, history), the same for the same numbers."""
    chunks = loops_from(seed, most_bars)
    chance = Random(seed)
    days = calendar(chance, most_days)
    level = chance.choice(("beginner", "intermediate", "advanced"))
    learner = Learner(level, pace=chance.choice((0.6, 1.0, 1.1, 1.8)), interleave=chance.random() < 0.5)
    return chunks, days, learner, history(chance, chunks, days.days)


# Numbers are drawn and the case is made from them: drawing each note takes Hypothesis
# longer than all the planning.
seeds = st.integers(0, 10**6)
loops = st.builds(loops_from, seeds)
cases = st.builds(case_from, seeds, st.integers(1, 16), st.integers(1, 14))

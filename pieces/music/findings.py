"""The workup: everything Fourbar finds in a piece, from one score and what the teacher decided.

A pure function of its arguments, so that it can be stored, thrown away and made
again. What a teacher should look at is a ``Finding`` with its choices.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise, zip_longest

from pieces.music.changes import Change, change
from pieces.music.chords import UnknownChord, chord_tones
from pieces.music.counting import BEATS_AND, Syllables, UncountableRhythm, count_at, count_text
from pieces.music.decisions import Decisions
from pieces.music.difficulty import Rating, rate_bar
from pieces.music.form import NearRepeat, Section, bar_classes, find_sections, near_repeats, unfold
from pieces.music.held import FingerChoice, Hold, find_holds, finger_bars
from pieces.music.picking import assign_picking
from pieces.music.score import Bar, Problem, Score
from pieces.music.shapes import Shape

DEFAULT_GOAL = 76
BETWEEN = 0.5  # half way from textbook shapes to the least movement
UNSURE = 0.6  # a section below this is shown to the teacher
WIDEST_REACH = 4  # frets between the lowest and the highest stopped note of one moment


@dataclass(frozen=True, slots=True)
class Choice:
    """A way to decide a finding: what the button says, and the override it stores.

    ``key`` is the override's where it is not the finding's own.
    """

    label: str
    value: object
    key: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something to confirm. ``key`` is the override's; ``bar`` is where it shows."""

    key: str
    bar: int
    head: str
    text: str
    choices: tuple[Choice, ...] = ()


@dataclass(frozen=True, slots=True)
class ChangeAt:
    """A change of shape, where it happens and how long there is for it, in whole notes."""

    bar: int
    onset: Fraction
    before: str
    after: str
    change: Change
    time: Fraction


@dataclass(frozen=True, slots=True)
class Workup:
    """What was found. ``score`` has both hands' fingers written in; dicts go by bar number."""

    score: Score
    goal: int
    classes: Mapping[int, int]
    order: tuple[int, ...]
    counts: Mapping[int, str]
    ratings: Mapping[int, Rating]
    near: tuple[NearRepeat, ...]
    sections: tuple[Section, ...]
    holds: tuple[Hold, ...]
    changes: tuple[ChangeAt, ...]
    findings: tuple[Finding, ...]
    problems: tuple[Problem, ...]
    syllables: Syllables = BEATS_AND
    judged: frozenset[int] = frozenset()  # bars whose difficulty the teacher said

    @property
    def shapes(self) -> list[Shape]:
        """The shapes used, each once, in order of first use."""
        return list(dict.fromkeys(hold.shape for hold in self.holds if hold.shape))

    @property
    def new_bars(self) -> list[int]:
        """The bars to learn: the first of each class."""
        return [number for number, first in self.classes.items() if number == first]


def work_up(
    score: Score,
    *,
    goal: int | None = None,
    picking: str = "thumb and two",
    syllables: Syllables = BEATS_AND,
    decisions: Decisions | None = None,
    movement: float = BETWEEN,
) -> Workup:
    """Work a score up for teaching. ``goal`` is in beats a minute; by default the score's own.

    ``movement`` runs from 0, textbook shapes, to 1, the least movement between them.

    Every note must have its string and fret. Raises ValueError where one has not, or
    on an unknown picking style.
    """
    if not score.is_set:
        raise ValueError("Set the piece on the instrument's strings first.")
    decisions = decisions or Decisions()
    goal = goal or score.tempo or DEFAULT_GOAL
    classes = _classes(score, decisions)
    decided = decisions.applied_to(score, classes)
    holds = find_holds(
        decided,
        chosen=decisions.chosen_shapes(decided),
        fingered=decisions.fingered_symbols,
        movement=movement,
    )
    bars, fingers = finger_bars(decided, holds)
    picked = replace(decided, bars=assign_picking(bars, score.tuning, picking, tempo=goal))
    letters = dict(decisions.sections)
    sections = tuple(find_sections(score, cuts=sorted(letters), letters=letters))
    near = tuple(repeat for repeat in near_repeats(score) if classes[repeat.bar] == repeat.bar)
    return Workup(
        score=picked,
        goal=goal,
        classes=classes,
        order=unfold(score),
        counts={bar.number: _count(bar, syllables) for bar in score.bars},
        ratings=_rate(picked, goal, holds, decisions, syllables),
        near=near,
        sections=sections,
        holds=tuple(holds),
        changes=tuple(_changes(picked, holds)),
        findings=tuple(_to_confirm(decided, classes, fingers, sections, syllables)),
        problems=tuple(find_problems(decided, syllables)),
        syllables=syllables,
        judged=frozenset(decisions.difficulty),
    )


def find_problems(score: Score, syllables: Syllables = BEATS_AND) -> list[Problem]:
    """Bars that do not add up, frets no hand reaches, chord names that the notes contradict."""
    problems = []
    for place, bar in enumerate(score.bars):
        last = place == len(score.bars) - 1
        problems += _time_problems(bar, last=last)
        problems += _reach_problems(bar)
        problems += _chord_problems(bar, syllables)
    return problems


def _classes(score: Score, decisions: Decisions) -> dict[int, int]:
    classes = bar_classes(score)
    return {number: number if number in decisions.own else first for number, first in classes.items()}


def _count(bar: Bar, syllables: Syllables) -> str:
    try:
        return count_text(bar, syllables)
    except UncountableRhythm:
        return ""


def _rate(
    score: Score, goal: int, holds: list[Hold], decisions: Decisions, syllables: Syllables
) -> dict[int, Rating]:
    shapes = {hold.symbol: hold.shape for hold in holds if hold.shape}
    ratings, before = {}, None
    for bar in score.bars:
        own = {hold.symbol: hold.shape for hold in holds if hold.bar == bar.number and hold.shape}
        rating = rate_bar(
            bar,
            tempo=goal,
            tuning=score.tuning,
            shapes={**shapes, **own},
            before=before,
            syllables=syllables,
        )
        if bar.number in decisions.difficulty:
            said = f"You said {decisions.difficulty[bar.number]:g}; computed {rating.score:g}."
            rating = replace(rating, score=decisions.difficulty[bar.number], reasons=(said, *rating.reasons))
        ratings[bar.number] = rating
        before = bar
    return ratings


def _changes(score: Score, holds: list[Hold]):
    starts, at = {}, Fraction(0)
    for bar in score.bars:
        starts[bar.number] = at
        at += bar.length
    for a, b in pairwise(holds):
        if a.shape and b.shape and (a.shape.frets, a.shape.fingers) != (b.shape.frets, b.shape.fingers):
            time = starts[b.bar] + b.onset - starts[a.bar] - a.onset
            yield ChangeAt(b.bar, b.onset, a.symbol, b.symbol, change(a.shape, b.shape), time)


def _to_confirm(score: Score, classes, fingers: list[FingerChoice], sections, syllables: Syllables):
    """What a teacher should look at: each kind of choice once, at the first bar it shows in."""
    seen = set()
    for choice in fingers:
        if classes[choice.bar] != choice.bar or choice.text in seen:
            continue
        seen.add(choice.text)
        key = f"finger:{choice.bar}.{choice.event}.{choice.string}"
        bar = score.bar(choice.bar)
        fret = next(n.fret for n in bar.events[choice.event].notes if n.string == choice.string)
        place = _place(bar, bar.events[choice.event].onset, syllables)
        others = [finger for finger in (3, 4, 2, 1) if finger != choice.finger][:1]
        yield Finding(
            key,
            choice.bar,
            f"Bar {choice.bar}, “{place}”: finger {choice.finger} on fret {fret}.",
            choice.text,
            tuple(Choice(f"Finger {finger}", finger) for finger in others),
        )
    for section in sections:
        if section.sure < UNSURE or "'" in section.letter:
            yield _section_finding(section, sections)


def _section_finding(section: Section, sections) -> Finding:
    cuts = [[s.first, s.letter] for s in sections]
    own = [[s.first, _next_letter(sections) if s.first == section.first else s.letter] for s in sections]
    bars = (
        f"Bars {section.first} to {section.last}" if section.first != section.last else f"Bar {section.first}"
    )
    choices = [Choice("Give it its own letter", own, "sections")]
    if section.first != sections[0].first:
        joined = [cut for cut in cuts if cut[0] != section.first]
        choices.append(Choice("Join it to the section before", joined, "sections"))
    head = f"{bars} {'is' if section.first == section.last else 'are'} {section.letter}."
    return Finding(f"section:{section.first}", section.first, head, section.text, tuple(choices))


def _next_letter(sections) -> str:
    used = {section.letter[:1] for section in sections}
    return next((letter for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if letter not in used), "Z")


def _place(bar: Bar, onset: Fraction, syllables: Syllables) -> str:
    try:
        return count_at(bar, onset, syllables)
    except UncountableRhythm:
        return f"{onset} into the bar"


def _time_problems(bar: Bar, *, last: bool):
    at = Fraction(0)
    for event in bar.events:
        if event.onset != at:
            kind = "overlaps the one before" if event.onset < at else "leaves a gap"
            yield Problem(
                f"A note {kind}.", "Every count is played, held or a rest.", bar=bar.number, fatal=False
            )
        at = max(at, event.end)
    short = bar.meter.length - at
    if short == 0 or (short > 0 and (bar.is_pickup or last)):
        return
    beats = abs(short) / Fraction(1, bar.meter.unit)
    much = f"{beats} beat{'s' if beats != 1 else ''} too {'short' if short > 0 else 'long'}"
    yield Problem(
        f"This bar is {much}.",
        f"In {bar.meter} it holds {bar.meter.beats} beats of 1/{bar.meter.unit}.",
        bar=bar.number,
        fatal=False,
    )


def _reach_problems(bar: Bar):
    for event in bar.events:
        frets = [note.fret for note in event.struck if note.fret and not note.harmonic]
        if frets and max(frets) - min(frets) > WIDEST_REACH:
            yield Problem(
                f"Frets {min(frets)} and {max(frets)} at once are too far apart for a hand.",
                "Move one of them to another string.",
                bar=bar.number,
                fatal=False,
            )


def _chord_problems(bar: Bar, syllables: Syllables):
    ends = [mark.onset for mark in bar.chords[1:]]
    for mark, end in zip_longest(bar.chords, ends, fillvalue=bar.length):
        try:
            tones = set(chord_tones(mark.symbol))
        except UnknownChord as error:
            yield Problem(str(error), bar=bar.number, fatal=False)
            continue
        full = [e for e in bar.events if mark.onset <= e.onset < end and len(e.struck) > 2]
        for event in full:
            foreign = {n.pitch % 12 for n in event.struck if n.pitch is not None} - tones
            if len(foreign) > 1:
                yield Problem(
                    f"{mark.symbol} is written, but two of the notes played at {_place(bar, event.onset, syllables)} "
                    "do not belong to it.",
                    "Look at the chord name and the frets.",
                    bar=bar.number,
                    fatal=False,
                )
                break

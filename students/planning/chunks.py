"""Loops: the parts into which a piece is cut to be practised, as a graph.

Learn one or two bars, loop them, join them, then the section (common practice, no
source). Hard changes and rhythms come first as drills, a hard bar by itself, easy
bars straight in pairs. Bars that are played alike are learned once: a repeat is
never new work and is met only in its joins and in the run.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from pieces.music.counting import BEATS_AND, Syllables, UncountableRhythm, count_text
from pieces.music.form import bar_classes, near_repeats, rhythm_classes, unfold
from pieces.music.score import Bar, Score
from students.planning.loops import (
    Chunk,
    Kind,
    keep_sections,
    letters_of,
    lower_goal,
    with_known_parts,
)
from students.planning.tempo import start_tempo

__all__ = [
    "ChangeInto",
    "Chunk",
    "build_chunks",
    "keep_sections",
    "letters_of",
    "lower_goal",
    "with_known_parts",
]

# A bar from this difficulty on is played by itself before it is paired; in such a bar
# a rhythm with this many moments between the counts is played on one string first.
HARD_BAR = 6.0
BETWEEN_THE_COUNTS = 3
# A change from this cost on (``pieces.music.changes``) is practised by itself: about
# what it costs when three fingers must find new places.
HARD_CHANGE = 2.0
# In a bar where a loop is stuck a change is taken apart from this cost on: some finger moves.
WORTH_A_DRILL = 1.0
# Loops of so many bars can be broken down; what is longer has loops of its own.
MOST_APART = 2
# Sections up to this many bars have no halves.
NO_HALVES = 4
# A change is played as two bars' worth of beats: one on each shape.
CHANGE_BEATS = Fraction(8)

# What a learner is told of the loads in ``pieces.music.difficulty``.
HARD_THINGS = {
    "between": "the notes between the counts",
    "held over": "the count that is held over",
    "shape": "its shape",
    "change": "the change of shape",
    "reach": "the reach along the neck",
    "strings": "the strings it crosses",
    "outside": "the notes outside the shape",
    "ornament": "the ornament",
    "apart": "thumb and fingers playing apart",
}


class ChangeInto(NamedTuple):
    """A change of shape that bar ``bar`` needs: from chord ``start`` to ``end``.

    ``cost`` and ``text`` are those of ``pieces.music.changes.Change``.
    """

    bar: int
    start: str
    end: str
    cost: float
    text: str = ""


def build_chunks(
    score: Score,
    sections: Sequence,
    ratings: Mapping,
    *,
    goal: int,
    changes: Iterable[ChangeInto] = (),
    chosen: Iterable[str] | None = None,
    start_goal: int | None = None,
    syllables: Syllables = BEATS_AND,
) -> tuple[Chunk, ...]:
    """Cut ``score`` into loops, parts before wholes.

    ``sections`` are ``pieces.music.form.Section`` in order; ``ratings`` a mapping of
    bar number to ``Rating`` (a bar without one counts as easy); ``changes`` the
    changes of shape in the piece; ``chosen`` the letters that are assigned (None:
    all). ``goal`` is in metronome beats of the score's first meter. ``start_goal``:
    where a goal is lowered for now, the goal from which starting tempos are taken.
    ``syllables``: the way of counting, in which the drill of a rhythm is named.
    Raises ValueError where ``chosen`` names a section that is not there.

    >>> from pieces.music.sections import Section
    >>> tune = Score(bars=tuple(Bar.of("4/4", "1/4 " * n + f"{4 - n}/4", n) for n in (1, 2, 3)))
    >>> for loop in build_chunks(tune, [Section("A", 1, 3, None, "", 1.0)], {}, goal=80):
    ...     print(loop.key, loop.start, loop.parts)
    pair:1-2 56 ()
    bar:3 56 ()
    join:2-3 56 ('pair:1-2', 'bar:3')
    section:A 56 ('join:2-3',)
    """
    letters = [section.letter for section in sections]
    unknown = set(chosen or ()) - set(letters)
    if unknown:
        raise ValueError(f"There is no section {', '.join(sorted(unknown))} in this piece.")
    keep = set(letters if chosen is None else chosen)
    cutter = _Cutter(score, ratings, goal, start_goal or goal, syllables)
    return cutter.cut([s for s in sections if s.letter in keep], tuple(changes), whole=keep == set(letters))


class _Cutter:
    """The loops made so far, and what they have taught."""

    def __init__(
        self, score: Score, ratings: Mapping, goal: int, start_goal: int, syllables: Syllables = BEATS_AND
    ):
        self.syllables = syllables
        self.bars = {bar.number: bar for bar in score.bars}
        self.place = {number: at for at, number in enumerate(self.bars)}
        self.order = unfold(score)
        self.classes = bar_classes(score)
        self.rhythms = rhythm_classes(score)
        self.near = {near.bar: near for near in near_repeats(score)}
        self.ratings, self.goal, self.start_goal = ratings, goal, start_goal
        self.beat = score.meter.beat
        self.made: dict[str, Chunk] = {}
        self.taught: dict[int, str] = {}  # class of a bar -> key of the loop that taught it
        self.joined: set[tuple[int, int]] = set()  # classes of neighbours that were played together
        self.whole: dict[tuple[int, ...], str] = {}  # classes of a section's bars -> its key
        self.letters: dict[int, list[str]] = {}  # class of a bar -> letters of sections it is in
        self.section = ""

    def cut(self, sections: Sequence, changes: tuple[ChangeInto, ...], *, whole: bool) -> tuple[Chunk, ...]:
        inside = {}
        for section in sections:
            for number in self._numbers(section):
                inside[number] = section
                letters = self.letters.setdefault(self.classes[number], [])
                if section.letter not in letters:
                    letters.append(section.letter)
        moves = [(a, b) for a, b in pairwise(self.order) if a in inside and b in inside]
        done: set[int] = set()
        for section in sections:
            numbers = self._numbers(section)
            self.section = section.letter
            self._section(section, numbers, [c for c in changes if c.bar in numbers])
            done.update(numbers)
            for a, b in moves:
                if (
                    a in done
                    and b in done
                    and (inside[a] is not inside[b] or self.place[b] != self.place[a] + 1)
                ):
                    self._join(a, b, across=inside[a].letter != inside[b].letter)
        if whole and (len(sections) > 1 or len(self.order) > len(self.bars)):
            self._run()
        return tuple(replace(chunk, apart=self._apart(chunk, changes)) for chunk in self.made.values())

    def _apart(self, chunk: Chunk, changes: tuple[ChangeInto, ...]) -> tuple[Chunk, ...]:
        """The bars of a loop of one or two, by themselves, each after a drill; what is cut anyway left out."""
        found: dict[str, Chunk] = {}
        if len(chunk.bars) > MOST_APART or chunk.kind in ("drill", "run"):
            return ()
        for number in dict.fromkeys(self.classes[bar] for bar in chunk.bars):
            if self._sounds(number):
                drill = self._drill_apart(number, chunk, changes)
                length = self.bars[number].length or self.bars[number].meter.length
                alone = replace(
                    chunk,
                    key=f"bar:{number}",
                    kind="bar",
                    first=number,
                    last=number,
                    label=self._name(number),
                    bars=(number,),
                    beats=length / self.beat,
                    rating=self._score(number),
                    parts=(drill.key,) if drill else (),
                    resembles=None,
                    why=self._why_bar(number),
                )
                found.update(
                    (part.key, part) for part in (drill, alone) if part and part.key not in self.made
                )
        return tuple(found.values())

    def _drill_apart(self, number: int, chunk: Chunk, changes: tuple[ChangeInto, ...]) -> Chunk | None:
        """The drill of what is hardest in a bar: its change of shape, or else its rhythm; None for neither."""
        name = _lower(self._name(number))
        alone = replace(
            chunk, kind="drill", first=number, last=number, bars=(number,), parts=(), resembles=None
        )
        into = max((move for move in changes if move.bar == number), key=lambda move: move.cost, default=None)
        if into and into.cost >= WORTH_A_DRILL:
            return replace(
                alone,
                key=f"drill:change:{into.start}-{into.end}",
                label=f"Change {into.start} to {into.end}",
                beats=CHANGE_BEATS,
                rating=self._score(number),
                why=f"the change {into.start} to {into.end} by itself, before {name}",
            )
        bar = self.bars[number]
        if not _between(bar):
            return None
        return replace(
            alone,
            key=f"drill:rhythm:{self.rhythms[number]}",
            label=_rhythm_label(bar, self.syllables),
            beats=(bar.length or bar.meter.length) / self.beat,
            rating=self._score(number),
            why=f"the rhythm of {name} on one string, before its notes",
        )

    def _numbers(self, section) -> list[int]:
        return [number for number in self.bars if section.first <= number <= section.last]

    def _section(self, section, numbers: list[int], changes: list[ChangeInto]) -> None:
        row = tuple(self.classes[n] for n in numbers)
        if row in self.whole:
            return
        key = f"section:{section.letter}"
        if key in self.made:
            key += f":{section.first}"
        before = set(self.made)
        known = [self.taught[c] for c in dict.fromkeys(row) if c in self.taught]
        groups = self._groups(numbers)
        if [numbers] == groups:
            self._prepare(numbers, changes)
            for number in numbers:
                self.taught[self.classes[number]] = key
            self.joined.update(pairwise(row))
        else:
            middle = -(-len(numbers) // 2) if len(numbers) > NO_HALVES else len(numbers)
            spans = [span for span in (numbers[:middle], numbers[middle:]) if span]
            for span in spans:
                self._span(span, groups, changes, is_half=len(spans) == 2)
            self._joins_within(numbers)
        new = [self.made[k] for k in self.made if k not in before]
        within = {part for loop in new for part in loop.parts}
        parts = [loop.key for loop in new if loop.key not in within]
        parts += [k for k in dict.fromkeys(known) if k not in parts and k not in within]
        why = f"section {section.letter} whole, now that its parts are known"
        self._add("section", key, numbers, f"Section {section.letter}", parts, why)
        self.whole[row] = key

    def _groups(self, numbers: list[int]) -> list[list[int]]:
        """The bars of a section that are new, in pairs where two stand together."""
        groups: list[list[int]] = []
        seen: set[int] = set()
        for number in numbers:
            group = self.classes[number]
            if group in self.taught or group in seen or not self._sounds(number):
                continue
            seen.add(group)
            last = groups[-1] if groups else []
            if len(last) == 1 and self.place[last[0]] + 1 == self.place[number]:
                last.append(number)
            else:
                groups.append([number])
        return groups

    def _span(
        self, span: list[int], groups: list[list[int]], changes: list[ChangeInto], *, is_half: bool
    ) -> None:
        before = set(self.made)
        for group in groups:
            if group[0] in span:
                self._group(group, changes)
        self._joins_within(span)
        new = [self.made[key] for key in self.made if key not in before]
        if is_half and len(span) > 2 and len(new) > 1:
            within = {part for loop in new for part in loop.parts}
            parts = [loop.key for loop in new if loop.key not in within]
            parts += [
                k for n in span if (k := self.taught.get(self.classes[n])) and k not in parts + list(within)
            ]
            parts = list(dict.fromkeys(parts))
            label = f"Bars {span[0]} to {span[-1]}" if span[0] else f"Pickup to bar {span[-1]}"
            key = f"half:{span[0]}-{span[-1]}"
            self._add("half", key, span, label, parts, f"half of section {self.section} at a stretch")

    def _group(self, group: list[int], changes: list[ChangeInto]) -> None:
        alone = self._prepare(group, changes)
        if len(group) == 1:
            number = group[0]
            self._bar(number, alone)
        else:
            first, last = group
            label = f"Bars {first} and {last}" if first else f"Pickup and bar {last}"
            key = f"pair:{first}-{last}"
            self._add("pair", key, group, label, alone, self._why_pair(group), self._like(group))
            self.joined.add((self.classes[first], self.classes[last]))
            for number in group:
                self.taught[self.classes[number]] = key

    def _prepare(self, group: list[int], changes: list[ChangeInto]) -> list[str]:
        """Drills for a group, and its hard bars by themselves; their keys, outermost only."""
        alone = []
        for number in group:
            drills = self._drills(number, [c for c in changes if c.bar == number])
            if self._score(number) >= HARD_BAR and len(group) > 1:
                self._bar(number, drills)
                drills = [f"bar:{number}"]
            alone += drills
        return alone

    def _bar(self, number: int, parts: list[str]) -> None:
        key = f"bar:{number}"
        self._add(
            "bar", key, [number], self._name(number), parts, self._why_bar(number), self._like([number])
        )
        self.taught[self.classes[number]] = key

    def _drills(self, number: int, changes: list[ChangeInto]) -> list[str]:
        keys = []
        for move in changes:
            key = f"drill:change:{move.start}-{move.end}"
            if move.cost >= HARD_CHANGE:
                if key not in self.made:
                    before = _lower(self._name(number))
                    why = f"the change {move.start} to {move.end} by itself, before {before}"
                    label = f"Change {move.start} to {move.end}"
                    self._add("drill", key, [number], label, [], why, beats=CHANGE_BEATS)
                keys.append(key)
        first = self.rhythms[number]
        key = f"drill:rhythm:{first}"
        if self._score(number) >= HARD_BAR and len(_between(self.bars[number])) >= BETWEEN_THE_COUNTS:
            if key not in self.made and first == number:
                why = f"the rhythm of {_lower(self._name(number))} on one string, before its notes"
                self._add("drill", key, [number], _rhythm_label(self.bars[number], self.syllables), [], why)
            if key in self.made:
                keys.append(key)
        return keys

    def _joins_within(self, numbers: list[int]) -> None:
        for a, b in pairwise(numbers):
            self._join(a, b, across=False)

    def _join(self, a: int, b: int, *, across: bool) -> None:
        row = self.classes[a], self.classes[b]
        if row in self.joined or not (self._sounds(a) and self._sounds(b)):
            return
        self.joined.add(row)
        back = self.place[b] < self.place[a]
        label = f"{self._name(a)} {'back to' if back else 'into'} {_lower(self._name(b))}"
        parts = list(dict.fromkeys(self.taught[c] for c in row if c in self.taught))
        why = "the join, where one loop goes over into the next"
        self._add("join", f"join:{a}-{b}", [a, b], label, parts, why, across=across)

    def _run(self) -> None:
        wholes = [loop.key for loop in self.made.values() if loop.kind == "section"]
        wholes += [loop.key for loop in self.made.values() if loop.across]
        self.section = ""
        self._add("run", "run", list(self.order), "The run", wholes, "the whole piece in order", across=True)

    def _add(
        self,
        kind: Kind,
        key: str,
        numbers: list[int],
        label: str,
        parts: Iterable[str],
        why: str,
        like: str | None = None,
        *,
        across: bool = False,
        beats: Fraction | None = None,
    ) -> None:
        score = max(self._score(number) for number in numbers)
        lengths = (self.bars[n].length or self.bars[n].meter.length for n in numbers)
        self.made[key] = Chunk(
            key=key,
            kind=kind,
            first=numbers[0],
            last=numbers[-1],
            label=label,
            bars=tuple(numbers),
            beats=beats or sum(lengths, Fraction(0)) / self.beat,
            rating=score,
            parts=tuple(parts),
            section=self.section,
            start=min(self.goal, start_tempo(self.start_goal, score)),
            goal=self.goal,
            resembles=like,
            why=why,
            sections=self._letters(numbers, across),
            across=across,
            start_goal=self.start_goal,
        )

    def _letters(self, numbers: list[int], across: bool) -> tuple[str, ...]:
        letters = [self.letters[self.classes[n]] for n in numbers if self.classes[n] in self.letters]
        shared = [letter for letter in letters[0] if all(letter in others for others in letters)]
        if across or not shared:
            return tuple(dict.fromkeys(letter for others in letters for letter in others[:1]))
        return tuple(shared)

    def _like(self, group: list[int]) -> str | None:
        """The earlier loop that this one is nearly the same as, bar by bar."""
        likes = {self.taught.get(self.classes[self.near[n].like]) for n in group if n in self.near}
        return likes.pop() if len(likes) == 1 and all(n in self.near for n in group) else None

    def _score(self, number: int) -> float:
        rating = self._rating(number)
        return rating.score if rating else 0.0

    def _rating(self, number: int):
        return self.ratings.get(number) or self.ratings.get(self.classes[number])

    def _sounds(self, number: int) -> bool:
        return any(not event.is_rest for event in self.bars[number].events) or bool(self.bars[number].chords)

    def _name(self, number: int) -> str:
        return f"Bar {number}" if number else "Pickup"

    def _why_bar(self, number: int) -> str:
        name = _lower(self._name(number))
        rating = self._rating(number)
        if number in self.near:
            return f"{name}, {self.near[number].text}"
        if rating and rating.score >= HARD_BAR and rating.reasons:
            return f"{name} by itself, because of {self._hard_thing(number, rating)}"
        return f"{name} by itself"

    def _hard_thing(self, number: int, rating) -> str:
        """What makes a bar hard, in a few words; its pace only where nothing else does."""
        kinds = [kind for kind in getattr(rating, "kinds", ()) if kind in HARD_THINGS]
        if kinds and kinds[0] == "between":
            return _named_values(_between(self.bars[number]))
        return HARD_THINGS[kinds[0]] if kinds else "its pace"

    def _why_pair(self, group: list[int]) -> str:
        names = " and ".join(str(n) if n else "the pickup" for n in group)
        hard = [n for n in group if self._score(n) >= HARD_BAR]
        near = [self.near[n].text for n in group if n in self.near]
        if hard:
            first = " and ".join(_lower(self._name(n)) for n in hard)
            return f"bars {names} together, now that {first} has been played alone"
        if near:
            which = group[-1] if group[-1] in self.near else group[0]
            return f"bars {names} together; bar {which} is {near[-1]}"
        return f"bars {names} straight together, as both are easy enough"


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _between(bar: Bar) -> list[Fraction]:
    """The onsets that fall between the counts."""
    unit = Fraction(1, bar.meter.unit)
    return [event.onset for event in bar.events if event.struck and event.onset % unit]


def _named_values(onsets: Iterable[Fraction]) -> str:
    finest = max((onset.denominator for onset in onsets), default=1)
    return {2: "the halves", 4: "the quarters", 8: "the eighths", 16: "the sixteenths"}.get(
        finest, "the notes between the counts"
    )


def _rhythm_label(bar: Bar, syllables: Syllables) -> str:
    try:
        return f"Rhythm {count_text(bar, syllables)}"
    except UncountableRhythm:
        return f"Rhythm of bar {bar.number}"

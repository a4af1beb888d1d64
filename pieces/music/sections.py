"""Where a piece falls into sections, and which of them are the same.

``cutting`` finds the cuts; here sections get their letters, the sentence that says
why, and how sure it is. What the teacher cut, and section letters written in the
piece, are never argued with.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from pieces.music.cutting import Cuts, Material
from pieces.music.score import Score

# Sections are nearly the same from this share of equal bars on.
NEAR_SECTION = 0.5


@dataclass(frozen=True, slots=True)
class Section:
    """Bars ``first`` to ``last`` under a letter.

    Identical sections share the letter, and ``same_as`` is then the first bar of
    the earlier one. A prime marks one that is nearly the same. ``text`` says why
    the section is one, ``sure`` (0-1) how sure that is; 1 where it was written.
    """

    letter: str
    first: int
    last: int
    same_as: int | None
    text: str
    sure: float


def find_sections(
    score: Score, *, cuts: Sequence[int] = (), letters: Mapping[int, str] | None = None
) -> list[Section]:
    """The sections of ``score``, in order; together they hold every bar.

    ``cuts`` are numbers of bars at which the teacher has sections begin: given any,
    sections begin there and at the first bar, and nowhere else. ``letters`` are the
    teacher's own, by a section's first bar. Else letters written in the piece begin
    sections, and only what stands before the first of them is cut by ear.

    >>> from pieces.music.score import Bar
    >>> tune = [Bar.of("4/4", "1/4 1/4 1/2", n) for n in range(1, 9)]
    >>> [(s.letter, s.first, s.last) for s in find_sections(Score(bars=tuple(tune)), cuts=[5])]
    [('A', 1, 4), ('A', 5, 8)]
    """
    if not score.bars:
        return []
    material = Material(score.bars)
    places = {bar.number: at for at, bar in enumerate(score.bars)}
    letters = {places[number]: letter for number, letter in (letters or {}).items() if number in places}
    own = {places[number] for number in cuts if number in places} | set(letters)
    written = {at: bar.letter for at, bar in enumerate(score.bars) if bar.letter}
    heard_until = 0 if own else min(written, default=len(score.bars))
    found = Cuts(material, heard_until)
    starts = sorted({0, *own}) if own else found.best() + sorted(written)
    spans = list(pairwise([*starts, len(score.bars)]))
    named = _names(material, spans, written | letters)
    return [
        Section(
            letter=named[start],
            first=score.bars[start].number,
            last=score.bars[stop - 1].number,
            same_as=_same_as(material, start, stop, spans),
            text=_why(material, start, stop, spans, own, written),
            sure=round(found.sure(start, stop), 2) if stop <= heard_until else 1.0,
        )
        for start, stop in spans
    ]


def _same_as(material: Material, start: int, stop: int, spans) -> int | None:
    for earlier in spans:
        if earlier[0] < start and material.is_same(earlier, (start, stop)):
            return material.bars[earlier[0]].number
    return None


def _names(material: Material, spans, given: Mapping[int, str]) -> dict[int, str]:
    """The letter of each section by the place of its first bar; ``given`` ones stand."""
    free = (letter for letter in _alphabet() if letter not in set(given.values()))
    names: dict[int, str] = {}
    for at, span in enumerate(spans):
        start = span[0]
        if start in given:
            names[start] = given[start]
            continue
        same = next((earlier for earlier in spans[:at] if material.is_same(earlier, span)), None)
        near = _nearest(material, spans[:at], span)
        if same:
            names[start] = names[same[0]]
        elif near:
            names[start] = _with_prime(names[near[0]], set(names.values()) | set(given.values()))
        else:
            names[start] = next(free)
    return names


def _nearest(material: Material, earlier, span):
    """The earlier section that this one is most like, the first of several, or None."""
    likest = max(earlier, key=lambda other: material.share_alike(other, span), default=None)
    return likest if likest and material.share_alike(likest, span) >= NEAR_SECTION else None


def _alphabet():
    """A to Z, then AA to ZZ, and so on without end."""
    letters, turn = "ABCDEFGHIJKLMNOPQRSTUVWXYZ", 1
    while True:
        yield from (letter * turn for letter in letters)
        turn += 1


def _with_prime(letter: str, taken: set[str]) -> str:
    """The next free prime of a letter.

    >>> _with_prime("A", {"A", "A'"}), _with_prime("A'", {"A", "A'"})
    ("A''", "A''")
    """
    name = letter.rstrip("'")
    while name in taken:
        name += "'"
    return name


def _why(material: Material, start: int, stop: int, spans, own, written) -> str:
    at = spans.index((start, stop))
    matter, edge = _matter(material, spans[:at], (start, stop)), _edge(material, start, own, written)
    text = f"{matter}; {edge}" if edge else matter
    return f"{text[:1].upper()}{text[1:]}."


def _matter(material: Material, earlier, span) -> str:
    """What of a section has been heard before."""
    for other in earlier:
        if material.is_same(other, span):
            return f"the same as {material.name(other)}"
    near = _nearest(material, earlier, span)
    if near is None:
        count = material.count(span)
        bars = f"bar{'s' * (count != 1)}"
        return f"{count} new {bars}" if earlier else f"the first {count} {bars}"
    differing = material.differing(near, span)
    if material.count(near) != material.count(span):
        return f"begins as {material.name(near)} but is {_length_change(material, near, span)}"
    if not differing:
        return f"as {material.name(near)} but the pickup"
    return f"as {material.name(near)} but {_bars(differing)}"


def _length_change(material: Material, near, span) -> str:
    more = material.count(span) - material.count(near)
    return f"{abs(more)} bar{'s' * (abs(more) != 1)} {'longer' if more > 0 else 'shorter'}"


def _bars(numbers: Sequence[int]) -> str:
    """Bar numbers in words, runs drawn together.

    >>> _bars([7, 8]), _bars([5]), _bars([5, 7, 8, 9])
    ('bars 7 and 8', 'bar 5', 'bars 5, 7 to 9')
    """
    if len(numbers) == 2:
        return f"bars {numbers[0]} and {numbers[1]}"
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    parts = [f"{run[0]} to {run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs]
    return f"bar{'s' * (len(numbers) != 1)} {', '.join(parts)}"


def _edge(material: Material, start: int, own, written) -> str:
    """What speaks for a section to begin here."""
    bars = material.bars
    number = bars[start].number
    if start in own:
        return "cut here by you"
    if start in written:
        return f"the letter is written above bar {number}"
    if not start:
        return ""
    if material.is_signed(start):
        before = bars[start - 1]
        if before.repeats or before.endings:
            return f"a repeat ends before bar {number}"
        return f"a repeat opens at bar {number}"
    if bars[start].meter != bars[start - 1].meter:
        return f"the meter changes at bar {number}"
    if material.closes(start):
        return f"bar {bars[start - 1].number} comes to rest"
    return ""

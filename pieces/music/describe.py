"""A bar, a section and a piece in the words of a teacher.

Bars are described in ``bar_words``; here they are put together. The same text is
the lesson outline, the long form on paper and what a screen reader says.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise

from pieces.music.bar_words import DRILLS, Said, describe_bar, name_of, outline_bar, say_shape, speak_bar
from pieces.music.counting import BEATS_AND, Syllables
from pieces.music.difficulty import Rating
from pieces.music.score import Bar, Score
from pieces.music.sections import Section
from pieces.music.shapes import Shape
from pieces.music.words import counted, listed, sentence, spelled

__all__ = [
    "DRILLS",
    "Said",
    "describe_bar",
    "describe_piece",
    "describe_section",
    "outline_bar",
    "say_shape",
    "speak_bar",
]


def describe_section(
    section: Section,
    score: Score,
    *,
    shapes: Mapping[str, Shape],
    ratings: Mapping[int, Rating],
    classes: Mapping[int, int],
    near: Mapping[int, str] = {},
    left_handed: bool = False,
    syllables: Syllables = BEATS_AND,
) -> str:
    """A section: what is new in it, its shapes, its hardest bar, then each new bar; a line each.

    ``ratings``, ``classes`` and ``near`` go by bar number: a class is the number of the
    first identical bar (``form.bar_classes``), ``near`` the text of ``form.near_repeats``.
    """
    bars = [bar for bar in score.bars if section.first <= bar.number <= section.last]
    span = _span(section.first, section.last)
    if section.same_as is not None:
        length = section.last - section.first
        earlier = _span(section.same_as, section.same_as + length)
        lines = [f"Section {section.letter}, {span}: the same as {earlier}, so nothing new to learn."]
        if section.first > score.bars[0].number:
            lines.append(f"Practise only the way in, from bar {section.first - 1} to bar {section.first}.")
        return "\n".join(lines)
    new = [bar for bar in bars if classes.get(bar.number, bar.number) == bar.number]
    lines = [f"Section {section.letter}, {span}: {_how_new(bars, new)}."]
    lines += _shape_list(bars, shapes)
    lines += _hardest(new, ratings, 1)
    before = {bar.number: earlier for earlier, bar in pairwise((None, *score.bars))}
    told: set[str] = set()
    for bar in bars:
        first = classes.get(bar.number, bar.number)
        lines.append(
            describe_bar(
                bar,
                tuning=score.tuning,
                shapes=shapes,
                before=before[bar.number],
                same_as=first if first != bar.number else None,
                rating=ratings.get(bar.number),
                left_handed=left_handed,
                near=near.get(bar.number, ""),
                told=told,
                syllables=syllables,
            )
        )
        told |= {mark.symbol for mark in bar.chords} if first == bar.number else set()
    return "\n".join(lines)


def describe_piece(
    score: Score,
    sections: Sequence[Section],
    *,
    shapes: Mapping[str, Shape],
    ratings: Mapping[int, Rating],
    classes: Mapping[int, int],
    near: Mapping[int, str] = {},
    left_handed: bool = False,
    syllables: Syllables = BEATS_AND,
) -> str:
    """A whole piece: its size and order, its shapes, its hard spots, then each section."""
    new = [bar for bar in score.bars if classes.get(bar.number, bar.number) == bar.number]
    head = [f"{counted(len(score.bars), 'bar')} in {score.meter}"]
    head += [f"in {score.key}"] if score.key else []
    head += [f"at {score.tempo}"] if score.tempo else []
    lines = [f"{score.title}: {', '.join(head)}." if score.title else sentence(", ".join(head))]
    if sections:
        lines.append(
            f"It goes {listed(section.letter for section in sections)}; {_how_new(score.bars, new)}."
        )
    lines += _shape_list(score.bars, shapes)
    lines += _hardest(new, ratings, 3)
    for section in sections:
        text = describe_section(
            section,
            score,
            shapes=shapes,
            ratings=ratings,
            classes=classes,
            near=near,
            left_handed=left_handed,
            syllables=syllables,
        )
        lines += ["", text]
    return "\n".join(lines)


def _span(first: int, last: int) -> str:
    if first == last:
        return f"bar {first}"
    return f"bars {first} to {last}" if first else f"the pickup to bar {last}"


def _how_new(bars: Sequence[Bar], new: Sequence[Bar]) -> str:
    if len(new) == len(bars):
        return "every bar is new" if len(bars) > 1 else "it is new"
    return f"{spelled(len(new))} of {spelled(len(bars))} bars {'is' if len(new) == 1 else 'are'} new"


def _shape_list(bars: Sequence[Bar], shapes: Mapping[str, Shape]) -> list[str]:
    symbols = dict.fromkeys(mark.symbol for bar in bars for mark in bar.chords if mark.symbol in shapes)
    if not symbols:
        return []
    return [f"Shapes: {', '.join(f'{symbol} ({shapes[symbol].written})' for symbol in symbols)}."]


def _hardest(bars: Sequence[Bar], ratings: Mapping[int, Rating], most: int) -> list[str]:
    """The hardest bars that have a hard spot, worst first."""
    rated = [(ratings[bar.number], bar) for bar in bars if bar.number in ratings]
    hard = sorted((pair for pair in rated if pair[0].worst), key=lambda pair: -pair[0].score)[:most]
    if not hard:
        return []
    spots = [f"{name_of(bar)} ({rating.score} of 10): {rating.reasons[0]}" for rating, bar in hard]
    return [f"Hardest{', worst first' * (len(spots) > 1)}: {' '.join(spots)}"]

"""A bar, a section and a piece in the words of a teacher.

Bars are described in ``bar_words`` and told in a row in ``outline``; here they
become running text. The same words are the lesson outline, the long form on paper
and what a screen reader says.
"""

from collections.abc import Sequence

from pieces.music.bar_words import DRILLS, Said, describe_bar, outline_bar, say_shape, speak_bar
from pieces.music.outline import (
    Known,
    SectionOutline,
    Told,
    hardest_of,
    how_new,
    outline_section,
    outline_sections,
    shape_list,
)
from pieces.music.score import Score
from pieces.music.sections import Section
from pieces.music.words import counted, listed, sentence

__all__ = [
    "DRILLS",
    "Known",
    "Said",
    "Told",
    "describe_bar",
    "describe_piece",
    "describe_section",
    "outline_bar",
    "say_shape",
    "speak_bar",
]


def describe_section(section: Section, score: Score, **known) -> str:
    """A section: what is new in it, its shapes, its hardest bar, then each bar; a line each.

    ``known`` are the fields of ``outline.Known`` besides the score.
    """
    return _as_text(outline_section(section, Known(score, **known)))


def describe_piece(score: Score, sections: Sequence[Section], **known) -> str:
    """A whole piece: its size and order, its hard spots, then each section.

    ``known`` are the fields of ``outline.Known`` besides the score.
    """
    all_of_it = Known(score, **known)
    parts = [_as_text(section) for section in outline_sections(sections, all_of_it)]
    return "\n\n".join(["\n".join(piece_head(sections, all_of_it)), *parts])


def piece_head(sections: Sequence[Section], known: Known) -> list[str]:
    """What to know of a piece before its first bar, a line each."""
    score = known.score
    new = [bar for bar in score.bars if known.is_new(bar)]
    head = [f"{counted(len(score.bars), 'bar')} in {score.meter}"]
    head += [f"in {score.key}"] if score.key else []
    head += [f"at {score.tempo}"] if score.tempo else []
    lines = [f"{score.title}: {', '.join(head)}." if score.title else sentence(", ".join(head))]
    if sections:
        lines.append(f"It goes {listed(section.letter for section in sections)}; {how_new(score.bars, new)}.")
    return [*lines, *shape_list(score.bars, known), *hardest_of(new, known.ratings, 3)]


def _as_text(outline: SectionOutline) -> str:
    return "\n".join([outline.head, *outline.notes, *(bar.text for bar in outline.bars)])

"""The lesson in words, from a workup: what is told, and with which shapes."""

from collections.abc import Iterable
from dataclasses import replace

from pieces.music.findings import Workup
from pieces.music.outline import BarOutline, Known, SectionOutline, outline_bars, outline_sections


def known_of(workup: Workup, *, left_handed: bool = False) -> Known:
    """Everything the words are made from.

    Accents are left out, as in the drawing: our own stand on each note of the tune.
    """
    bars = tuple(
        replace(bar, events=tuple(replace(event, accent=False) for event in bar.events))
        for bar in workup.score.bars
    )
    usual: dict = {}
    own: dict[int, dict] = {}
    for hold in workup.holds:
        if hold.shape:
            usual.setdefault(hold.symbol, hold.shape)
            own.setdefault(hold.bar, {}).setdefault(hold.symbol, hold.shape)
    return Known(
        replace(workup.score, bars=bars),
        usual,
        workup.ratings,
        workup.classes,
        {repeat.bar: repeat.text for repeat in workup.near},
        own,
        left_handed,
        workup.syllables,
    )


def outline_of(workup: Workup, *, left_handed: bool = False) -> list[SectionOutline]:
    """The whole piece, section by section."""
    return outline_sections(workup.sections, known_of(workup, left_handed=left_handed))


def outline_some(workup: Workup, numbers: Iterable[int], *, left_handed: bool = False) -> list[BarOutline]:
    """Some bars by number, in the order given."""
    known = known_of(workup, left_handed=left_handed)
    by_number = {bar.number: bar for bar in known.score.bars}
    return outline_bars([by_number[n] for n in dict.fromkeys(numbers) if n in by_number], known)

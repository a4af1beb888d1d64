"""Where the parts of a typed system contradict one another, told in a teacher's words."""

from pieces.music.tab.marks import TimedBar
from pieces.music.tab.rhythm import Stray
from pieces.music.tab.systems import Cut


def report_stray(cut: Cut, index: int, stray: Stray) -> None:
    """Say of a figure in bar ``index`` that no count is meant for it."""
    line, cell = cut.strings[stray.string - 1].line, stray.cell
    what = (
        "The rest"
        if cell.rest
        else f"Fret {'x' if cell.fret is None else cell.fret} on string {stray.string}"
    )
    if stray.twice:
        message = f"{what} shares the count {stray.near.text} with another fret of its string."
        remedy = "Give each its own count, as 2 &."
    elif cell.grace:
        message = f"The grace note {'x' if cell.fret is None else cell.fret} has no note after it."
        remedy = "Write it in the same bar, straight before the note it leads to, as g2-3."
    elif stray.near is None or stray.near.stop:
        message, remedy = f"{what} stands after the end of the bar's count.", "Count on until it."
    else:
        message = f"{what} stands over no count; the nearest is {stray.near.text}."
        remedy = "Put the count straight under it, or add the one that is missing."
    cut.place.add(line, cell.start, index, message, remedy)


def report_moments(cut: Cut, bar: TimedBar) -> None:
    """Say where the strings and the count contradict each other; the strings are believed."""
    for moment in bar.timing.moments:
        rests = [cell for cell in moment.cells.values() if cell.rest]
        struck = [cell for cell in moment.cells.values() if not (cell.rest or cell.tied)]
        if rests and len(rests) < len(moment.cells):
            message = "A rest and a fret stand over the same count; the fret is kept."
            cut.place.add(
                cut.top, rests[0].start, bar.index, message, "Take out the r, or the fret.", fatal=False
            )
        if moment.mark and struck:
            said = "held" if moment.mark == "(" else "a rest"
            message = f"The brackets of this count say {said}, yet something is struck over it."
            remedy = "Take the brackets off, or write a held fret as (3)."
            cut.place.add(cut.top, moment.start, bar.index, message, remedy, fatal=False)


def report_first_count(cut: Cut, bar: TimedBar, *, holds: bool) -> None:
    """Say how a bar is read whose first count has nothing over it and no brackets."""
    first = next(iter(bar.timing.moments), None)
    token = next(iter(cut.counts[bar.index]), None)
    if not (first and first.held and token) or token.mark:
        return
    read = "the sound from before is held on" if holds else "it is read as a rest"
    message = f"Nothing stands over {token.text}, so {read}."
    remedy = f"Write ({token.text}) to hold, or r over it for a rest."
    line = cut.system.row("count")[0].line
    cut.place.add(line, token.start, bar.index, message, remedy, fatal=False)


def report_endings(cut: Cut, bars: list[TimedBar]) -> None:
    """Say where an ending stops before the repeat sign that it should lead to."""
    ending: TimedBar | None = None
    for bar in bars:
        if ending and not bar.marks.endings and bar.typed.closes_repeat:
            number = "".join(f"{number}." for number in ending.marks.endings)
            message = f"The ending {number} stops here, before the repeat sign."
            remedy = f"Draw its bracket on over every bar of it: {number}------"
            column = ending.typed.span.start
            cut.place.add(cut.top, column, ending.index, message, remedy, fatal=False)
        if bar.marks.endings:
            ending = bar
        if bar.typed.closes_repeat or bar.typed.opens_repeat:
            ending = None

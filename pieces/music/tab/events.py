"""From the moments of a bar to its events."""

from fractions import Fraction

from pieces.music.score import Event, Note
from pieces.music.tab.cells import Cell
from pieces.music.tab.rhythm import Moment, Timing
from pieces.music.tuning import Tuning


def usual_tuplet(duration: Fraction) -> tuple[int, int] | None:
    """The tuplet that a duration alone tells of: thirds are triplets, fifths are 5 in the time of 4.

    >>> usual_tuplet(Fraction(1, 12)), usual_tuplet(Fraction(1, 20)), usual_tuplet(Fraction(3, 8))
    ((3, 2), (5, 4), None)
    """
    odd = duration.denominator
    while odd % 2 == 0:
        odd //= 2
    return None if odd == 1 else (odd, 1 << (odd.bit_length() - 1))


def events_of(timing: Timing, tuning: Tuning, before: Event | None) -> tuple[Event, ...]:
    """The events of one bar; ``before`` is the last event of the bar before, if any."""
    events = []
    ends = [moment.onset for moment in timing.moments[1:]] + [timing.length]
    for moment, end in zip(timing.moments, ends, strict=False):
        duration = end - moment.onset
        tuplet = moment.tuplet if moment.tuplet_written else usual_tuplet(duration)
        events.append(
            Event(
                moment.onset,
                duration,
                _held(before) if moment.held else _notes(moment, timing, tuning),
                moment.stroke,
                moment.accent,
                _graces(moment, tuning),
                tuplet,
                moment.lyric,
            )
        )
    return tuple(events)


def _held(before: Event | None) -> tuple[Note, ...]:
    """The notes of the event before, sounding on."""
    if before is None:
        return ()
    return tuple(
        Note(n.pitch, n.string, n.fret, tied=True, muted=n.muted, harmonic=n.harmonic) for n in before.notes
    )


def _notes(moment: Moment, timing: Timing, tuning: Tuning) -> tuple[Note, ...]:
    return tuple(
        cell.note(
            tuning,
            string,
            finger=moment.fingers.get(string),
            pick=moment.picks.get(string, ""),
            length=_length(cell, string, moment, timing),
        )
        for string, cell in sorted(moment.cells.items(), reverse=True)
        if not cell.rest
    )


def _length(cell: Cell, string: int, moment: Moment, timing: Timing) -> Fraction | None:
    """How long a ringing note sounds: as written, or until its string is used again or the bar ends."""
    if cell.ring != 0:
        return cell.ring
    later = (m.onset for m in timing.moments if m.onset > moment.onset and string in m.cells)
    return next(later, timing.length) - moment.onset


def _graces(moment: Moment, tuning: Tuning) -> tuple[Note, ...]:
    return tuple(
        cell.note(
            tuning,
            string,
            finger=moment.grace_fingers.get(index),
            pick=moment.grace_picks.get(index, ""),
            length=cell.ring or None,
        )
        for index, (string, cell) in enumerate(moment.graces)
    )

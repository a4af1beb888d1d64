"""A bar as strings by counts: the columns in which a teacher edits it.

A column is a stretch of the bar. Every count has at least one, and a count on which
something begins between its ends has more. An event stands in the column in which
it begins; the columns over which it goes on are empty.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from pieces.music.counting import BEATS_AND, Syllables, begins_at, count_unit
from pieces.music.score import Bar, Event


class Column(NamedTuple):
    """A stretch of a bar, ``length`` of a whole note; ``event`` is None where the one before goes on."""

    length: Fraction
    event: Event | None = None


def columns_of(bar: Bar, syllables: Syllables = BEATS_AND) -> tuple[Column, ...]:
    """The columns of ``bar``, in time.

    >>> [(str(c.length), bool(c.event)) for c in columns_of(Bar.of("3/4", "1/8 1/8 1/2"))]
    [('1/8', True), ('1/8', True), ('1/4', True), ('1/4', False)]

    Where the bar has a gap, a rest stands in it.
    """
    length = bar.length or bar.meter.length
    events = {event.onset: event for event in _without_gaps(bar.events, length)}
    unit, begins = count_unit(bar.meter, syllables), begins_at(bar)
    counts = (number * unit - begins for number in range(int((begins + length) / unit) + 1))
    cuts = sorted({*events, *(at for at in counts if 0 < at < length), length})
    return tuple(Column(end - start, events.get(start)) for start, end in pairwise(cuts))


def bar_of(bar: Bar, columns: Iterable[Column]) -> Bar:
    """``bar`` with the events of ``columns``, each as long as the columns over which it goes on.

    >>> bar = Bar.of("3/4", "1/8 1/8 1/2")
    >>> bar_of(bar, columns_of(bar)) == bar
    True

    Raises ValueError where the first column has no event or a length is not positive.
    """
    spans: list[tuple[Event, Fraction, Fraction]] = []
    onset = Fraction(0)
    for column in columns:
        if column.length <= 0:
            raise ValueError("Every column of a bar lasts some time.")
        if column.event is not None:
            spans.append((column.event, onset, column.length))
        elif spans:
            event, start, lasts = spans[-1]
            spans[-1] = (event, start, lasts + column.length)
        else:
            raise ValueError("A bar begins with a note or a rest.")
        onset += column.length
    return replace(bar, events=tuple(_lasting(*span) for span in spans))


def _without_gaps(events: Sequence[Event], length: Fraction) -> list[Event]:
    filled: list[Event] = []
    at = Fraction(0)
    for event in events:
        if event.onset > at:
            filled.append(Event(at, event.onset - at))
        filled.append(event)
        at = max(at, event.end)
    return [*filled, Event(at, length - at)] if at < length else filled


def _lasting(event: Event, onset: Fraction, duration: Fraction) -> Event:
    """``event`` at ``onset`` for ``duration``; what no longer holds of its length is left out."""
    if event.duration == duration:
        return replace(event, onset=onset)
    notes = tuple(replace(note, length=None) for note in event.notes)
    return replace(event, onset=onset, duration=duration, notes=notes, tuplet=_tuplet(duration))


def _tuplet(duration: Fraction) -> tuple[int, int] | None:
    """The tuplet without which ``duration`` cannot be written: threes and fives only."""
    odd = duration.denominator // (duration.denominator & -duration.denominator)
    return {3: (3, 2), 5: (5, 4)}.get(odd)

"""What every format needs once its notes are known: one line of events a bar, bar numbers, sums.

Durations and onsets are fractions of a whole note; onsets count from the barline.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from pieces.music.score import Bar, Event, Note, Problem


def one_line(voices: Sequence[Sequence[Event]], join_unisons: bool = True) -> tuple[Event, ...]:
    """The voices of a bar as one row of events that tiles it without gap.

    A note that lasts longer or shorter than its event keeps its own ``length``;
    rests stand only where no voice sounds. ``join_unisons``: one pitch in two voices
    is one note, as on a staff.

    >>> low, high = Note(60), Note(69)
    >>> half, quarter = Fraction(1, 2), Fraction(1, 4)
    >>> tune = [Event(Fraction(0), quarter, (high,)), Event(quarter, quarter, (high,))]
    >>> [(str(e.onset), [str(n.length) for n in e.notes])
    ...  for e in one_line([tune, [Event(Fraction(0), half, (low,))]])]
    [('0', ['1/2', 'None']), ('1/4', ['None'])]
    """
    voices = [voice for voice in voices if voice]
    if len(voices) == 1 and _tiles(voices[0]):
        return tuple(voices[0])
    sounding = sorted((e for voice in voices for e in voice if e.notes), key=lambda e: e.onset)
    end = max((e.end for voice in voices for e in voice), default=Fraction(0))
    if not sounding:
        longest = max(voices, key=len, default=())
        return tuple(longest) if _tiles(longest) else _rests([], Fraction(0), end)
    written = sorted({e.onset for voice in voices for e in voice if e.is_rest})
    starts = sorted({e.onset for e in sounding})
    row = list(_rests(written, Fraction(0), starts[0]))
    heard = Fraction(0)
    for start, following in zip(starts, [*starts[1:], end], strict=True):
        together = [e for e in sounding if e.onset == start]
        heard = max(heard, *(e.end for e in together))
        until = min(heard, following)
        row.append(_together(together, start, until - start, join_unisons))
        row += _rests(written, until, following)
    return tuple(row)


def numbered(bars: Sequence[Bar]) -> tuple[Bar, ...]:
    """Bars numbered from 1, or from 0 where the first is a pickup shorter than its meter."""
    first = 1
    if len(bars) > 1 and bars[0].length < bars[0].meter.length:
        first = 0
    return tuple(replace(bar, number=first + i) for i, bar in enumerate(bars))


def sum_problems(bars: Sequence[Bar]) -> list[Problem]:
    """The bars that do not add up, each with its number; none fatal.

    A short bar is as it should be where a pickup, a repeat or an ending takes the
    rest of it: before the opening pickup comes round again, or cut in two by a sign.
    """
    problems = []
    for at, bar in enumerate(bars):
        if bar.is_pickup or bar.length == bar.meter.length or _completed(bars, at):
            continue
        problems.append(
            Problem(
                f"This bar lasts {_beats(bar.length, bar.meter.unit)}; "
                f"{bar.meter} asks for {bar.meter.beats}.",
                "Compare it with the paper and mend it in the bar editor.",
                bar=bar.number,
                fatal=False,
            )
        )
    return problems


def _completed(bars: Sequence[Bar], at: int) -> bool:
    """Whether what the bar lacks stands next to it, or comes when a repeat goes back."""
    bar = bars[at]
    missing = bar.meter.length - bar.length
    if missing < 0:
        return False
    neighbours = {b.length for b in bars[max(0, at - 1) : at + 2] if b is not bar}
    following = bars[at + 1] if at + 1 < len(bars) else None
    if following is None or bar.repeats or following.opens_repeat or following.endings != bar.endings:
        returns = {bars[0].length, *(b.length for b in bars if b.opens_repeat)}
        after_signs = {b.length for last, b in pairwise(bars) if last.repeats or last.endings}
        return missing in neighbours | returns | after_signs
    if at and (bar.opens_repeat or bars[at - 1].repeats or bars[at - 1].endings != bar.endings):
        return missing in neighbours | {b.length for b in bars if b.repeats or b.endings or b is bars[-1]}
    return missing in neighbours


def _beats(length: Fraction, unit: int) -> str:
    whole, rest = divmod(length * unit, 1)
    if not rest:
        return f"{whole} count{'' if whole == 1 else 's'} of 1/{unit}"
    return f"{whole} {rest} counts of 1/{unit}" if whole else f"{rest} of a 1/{unit} count"


def _tiles(events: Iterable[Event]) -> bool:
    at = Fraction(0)
    for event in events:
        if event.onset != at:
            return False
        at = event.end
    return True


def _rests(written: Sequence[Fraction], start: Fraction, end: Fraction) -> tuple[Event, ...]:
    """Rests from ``start`` to ``end``, divided where the file divides them."""
    cuts = [start, *(at for at in written if start < at < end), end]
    return tuple(Event(a, b - a) for a, b in pairwise(cuts) if b > a)


def _together(events: Sequence[Event], onset: Fraction, duration: Fraction, join_unisons: bool) -> Event:
    """The events of several voices that begin at one moment as one event."""
    notes: list[Note] = []
    for event in events:
        for note in event.notes:
            lasts = note.length or event.duration
            longer = replace(note, length=None if lasts == duration else lasts)
            shared = join_unisons and event is not events[0]
            twin = next((n for n in notes if shared and _same_place(n, note)), None)
            if twin is None:
                notes.append(longer)
            elif lasts > (twin.length or duration):
                notes[notes.index(twin)] = longer
    shortest = min(events, key=lambda e: e.duration)
    return Event(
        onset,
        duration,
        stacked(notes),
        stroke=next((e.stroke for e in events if e.stroke), ""),
        accent=any(e.accent for e in events),
        grace=tuple(note for e in events for note in e.grace),
        tuplet=shortest.tuplet,
        lyric=next((e.lyric for e in events if e.lyric), ""),
    )


def _same_place(a: Note, b: Note) -> bool:
    return (a.pitch, a.string) == (b.pitch, b.string)


def stacked(notes: Iterable[Note]) -> tuple[Note, ...]:
    """Notes from the highest string number to string 1, or from low to high where not set."""
    notes = tuple(notes)
    if all(note.string is not None for note in notes):
        return tuple(sorted(notes, key=lambda note: -note.string))
    return tuple(sorted(notes, key=lambda note: note.pitch if note.pitch is not None else -1))

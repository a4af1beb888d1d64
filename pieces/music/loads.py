"""What makes a bar hard besides the left hand: its pace, its count, the picking hand.

Each load can only shrink when the tempo falls or a note is left out; ``difficulty``
adds them up. The weights are set from teaching practice (common practice, no source).
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import Literal, NamedTuple

from pieces.music.counting import Syllables, UncountableRhythm, begins_at, count_at
from pieces.music.score import Bar, Event
from pieces.music.tuning import Tuning
from pieces.music.words import counted, listed, sentence, spelled

A_SECOND = 0.5  # for each moment a second, over the whole bar and once more at the quickest
OFF_BEAT = 0.15  # for each moment between the counts, besides what it adds to the pace
BETWEEN = {1: 0.0, 2: 1.0, 4: 1.5, 3: 1.5}  # by the parts its count is cut into; finer: FINER
FINER = 2.0
HELD_OVER = 0.8  # a count on which nothing sounds anew after a moment between the counts

CROSSING = 0.08  # for each string beyond the first, by moments a second
APART = 0.25  # thumb and fingers moving at different times, by moments a second


Kind = Literal[
    "pace", "between", "held over", "shape", "change", "reach", "strings", "outside", "ornament", "apart"
]


class Load(NamedTuple):
    """One thing that makes a bar hard: ``start`` to ``end`` is where, from the barline.

    ``reason`` is "" where the load is a matter of course.
    """

    kind: Kind
    points: float
    reason: str
    start: Fraction
    end: Fraction


def pace_loads(bar: Bar, moments: Sequence[Event], tempo: int, whole_note: float) -> Iterator[Load]:
    gaps = [later.onset - event.onset for event, later in pairwise(moments)]
    quickest = min(gaps, default=None)
    mean = len(moments) / (float(bar.length) * whole_note)
    peak = 1 / (float(quickest) * whole_note) if quickest else 0.0
    counts = ceil(bar.length * bar.meter.unit)
    text = f"{_moments_named(moments)} in {counted(counts, 'count')}"
    if quickest:
        up_to = "" if len(set(gaps)) == 1 else "up to "
        text += f": {up_to}{peak:.1f} a second at {tempo}"
    start, end = _longest_run(moments, quickest)
    yield Load("pace", A_SECOND * (mean + peak), sentence(text), start, end)


def _moments_named(moments: Sequence[Event]) -> str:
    return counted(len(moments), "strum" if _all_strummed(moments) else "note")


def _all_strummed(moments: Sequence[Event]) -> bool:
    return all(event.stroke or len(event.struck) > 2 for event in moments)


def _longest_run(moments: Sequence[Event], gap: Fraction | None) -> tuple[Fraction, Fraction]:
    """The longest stretch of moments that follow each other at ``gap``."""
    runs: list[list[Event]] = []
    for event in moments:
        if runs and event.onset - runs[-1][-1].onset == gap:
            runs[-1].append(event)
        else:
            runs.append([event])
    run = max(runs, key=len)
    return run[0].onset, run[-1].end


def between_loads(
    bar: Bar, moments: Sequence[Event], whole_note: float, syllables: Syllables
) -> Iterator[Load]:
    """What falls between two counts, and the counts that it is held over."""
    seconds = float(bar.length) * whole_note
    unit = Fraction(1, bar.meter.unit)
    begins = begins_at(bar)
    off = [event for event in moments if (event.onset + begins) % unit]
    cuts = [((event.onset + begins) % unit / unit).denominator for event in off]
    weight = sum(BETWEEN.get(cut, FINER) for cut in cuts)
    if off:
        verb = "falls" if len(off) == 1 else "fall"
        text = f"{_moments_named(off)} {verb} between the counts: {_places(bar, off, syllables)}"
        points = weight * (OFF_BEAT + A_SECOND / seconds)
        yield Load("between", points, sentence(text), off[0].onset, off[-1].end)
    onsets = {event.onset + begins for event in moments}
    next_counts = {(event.onset + begins) // unit * unit + unit for event in off}
    held = sorted(c for c in next_counts - onsets if c < begins + bar.length)
    if held:
        numbers = listed(c // unit + 1 for c in held)
        text = f"nothing new on count{'s' * (len(held) > 1)} {numbers}: keep counting through"
        points = HELD_OVER * len(held) * A_SECOND / seconds
        yield Load("held over", points, sentence(text), held[0] - begins, held[-1] - begins + unit)


def _places(bar: Bar, events: Sequence[Event], syllables: Syllables) -> str:
    try:
        return listed(dict.fromkeys(count_at(bar, event.onset, syllables) for event in events))
    except UncountableRhythm:
        return "no words reach them"


def picking_hand_loads(
    bar: Bar, moments: Sequence[Event], whole_note: float, tuning: Tuning
) -> Iterator[Load]:
    seconds = float(bar.length) * whole_note
    strings = {note.string for event in moments for note in event.struck if note.string is not None}
    start, end = moments[0].onset, moments[-1].end
    if len(strings) > 1:
        points = CROSSING * (len(strings) - 1) * len(moments) / seconds
        all_of_them = len(strings) == len(tuning.open_pitches)
        which = f"all {spelled(len(strings))} strings" if all_of_them else counted(len(strings), "string")
        text = "" if _all_strummed(moments) else f"The picking hand goes over {which}."
        yield Load("strings", points, text, start, end)
    thumb = sum(_plays(event, "p") for event in moments)
    fingers = sum(_plays(event, "ima") for event in moments)
    if thumb and fingers:
        text = f"Thumb and fingers each have their part: thumb {_times(thumb)}, fingers {_times(fingers)}."
        yield Load("apart", APART * min(thumb, fingers) / seconds, text, start, end)


def _plays(event: Event, picks: str) -> bool:
    return not event.stroke and any(note.pick and note.pick in picks for note in event.struck)


def _times(number: int) -> str:
    return {1: "once", 2: "twice"}.get(number) or counted(number, "time")

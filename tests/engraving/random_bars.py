"""Hypothesis strategies for bars that a strip must be able to show."""

from fractions import Fraction

from hypothesis import strategies as st

from pieces.engraving.options import DESK, NOTE, PAPER, PHONE
from pieces.music.score import Bar, ChordMark, Event, Meter, Note
from pieces.music.tuning import Tuning

METERS = [Meter(*pair) for pair in ((4, 4), (3, 4), (2, 4), (6, 8), (5, 4), (7, 8), (12, 8), (2, 2), (3, 8))]
SYMBOLS = ["C", "Am", "G7", "F#m7b5", "C#m7b5/G#", "Bbmaj9", "Ebsus4", "Gmaj7"]
# A beat as lengths in parts of itself, with the tuplet they are written in.
FIGURES = [
    ([1], None),
    ([1, 1], None),
    ([1, 1, 1, 1], None),
    ([3, 1], None),
    ([1, 3], None),
    ([1, 2, 1], None),
    ([1, 1, 2], None),
    ([1, 1, 1], (3, 2)),
    ([2, 1], (3, 2)),
    ([1, 1, 1, 1, 1], (5, 4)),
]


@st.composite
def notes(draw, tuning: Tuning):
    strings = draw(st.sets(st.sampled_from(tuning.strings), min_size=1))
    return tuple(
        Note.at(
            tuning,
            string,
            draw(st.integers(0, 19)),
            finger=draw(st.sampled_from([None, 1, 4])),
            pick=draw(st.sampled_from(["", "p", "i", "m", "a"])),
            tied=draw(st.integers(0, 5)) == 0,
            muted=draw(st.integers(0, 8)) == 0,
            harmonic=draw(st.integers(0, 8)) == 0,
            join=draw(st.sampled_from(["", "", "", "hammer", "pull", "slide"])),
        )
        for string in sorted(strings, reverse=True)
    )


@st.composite
def bars(draw, tuning: Tuning, number: int, meter: Meter):
    unit = Fraction(1, meter.unit)
    whole = draw(st.integers(0, 9)) == 0
    figures = (
        [([meter.beats], None)] if whole else [draw(st.sampled_from(FIGURES)) for _ in range(meter.beats)]
    )
    onset, events = Fraction(0), []
    for lengths, tuplet in figures:
        for length in lengths:
            duration = unit * length / (1 if whole else sum(lengths))
            playing = draw(st.integers(0, 6)) > 0
            grace = (Note.at(tuning, 1, 11),) if playing and draw(st.integers(0, 9)) == 0 else ()
            events.append(
                Event(
                    onset,
                    duration,
                    draw(notes(tuning)) if playing else (),
                    stroke=draw(st.sampled_from(["", "", "down", "up"])) if playing else "",
                    accent=playing and draw(st.booleans()),
                    grace=grace,
                    tuplet=tuplet,
                    lyric=draw(st.sampled_from(["", "lan", "terns-"])) if playing else "",
                )
            )
            onset += duration
    marks = draw(st.lists(st.sampled_from(SYMBOLS), max_size=meter.beats))
    return Bar(
        number,
        meter,
        tuple(events),
        chords=tuple(ChordMark(unit * i, symbol) for i, symbol in enumerate(marks)),
        letter=draw(st.sampled_from(["", "", "A", "B′"])),
        opens_repeat=draw(st.booleans()),
        repeats=draw(st.sampled_from([0, 0, 2, 3])),
        endings=draw(st.sampled_from([(), (), (1,), (1, 2)])),
    )


@st.composite
def passages(draw):
    """Some bars, their tuning, and options to set them with."""
    tuning = Tuning("any", tuple(draw(st.lists(st.integers(40, 70), min_size=1, max_size=7))))
    first = draw(st.sampled_from([0, 1, 8, 98]))
    meter = draw(st.sampled_from(METERS))
    made = []
    for i in range(draw(st.integers(1, 6))):
        meter = draw(st.sampled_from([meter, meter, meter, *METERS[:2]]))
        made.append(draw(bars(tuning, first + i, meter)))
    options = draw(st.sampled_from([PHONE, DESK, PAPER, NOTE])).but(
        fingers=draw(st.booleans()),
        meter=draw(st.booleans()),
        loop=draw(st.booleans()),
        lyrics=draw(st.booleans()),
        left_handed=draw(st.booleans()),
    )
    return made, tuning, options

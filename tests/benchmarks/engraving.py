"""Time to engrave four bars.

    python -m tests.benchmarks.engraving

Four bars of 4/4 with chords, eighths, picking letters and counts, on a ukulele, at
the desk's size; the median of many runs, in milliseconds of processor time. The staff
is timed by the clock on the wall, without its cache and with the child already running.
"""

import time
from dataclasses import replace
from fractions import Fraction
from statistics import median

from pieces.engraving import staff as staff_room
from pieces.engraving.diagram import diagram
from pieces.engraving.options import DESK, PAPER, PHONE
from pieces.engraving.strip import strips
from pieces.music.score import Bar, ChordMark, Note, Score
from pieces.music.shapes import Shape
from pieces.music.tuning import TUNINGS

UKULELE = TUNINGS["ukulele high G"]
RHYTHMS = ("1/4 1/4 1/2", "1/2 1/8 3/8", "1/4 1/8 1/8 1/4 1/4", "1/2 1/2")


def four_bars(number: int) -> list[Bar]:
    """Four bars with a full chord at the start of each and a tune after it."""
    bars = []
    for i, rhythm in enumerate(RHYTHMS):
        bar = Bar.of("4/4", rhythm, number + i)
        chord = tuple(Note.at(UKULELE, string, 2, pick="p") for string in UKULELE.strings)
        tune = (Note.at(UKULELE, 1, 3, pick="m"),)
        events = tuple(replace(e, notes=chord if j == 0 else tune) for j, e in enumerate(bar.events))
        bars.append(replace(bar, events=events, chords=(ChordMark(Fraction(0), "Am"),)))
    return bars


def timed(action, runs: int, clock=time.process_time) -> float:
    """Median milliseconds of ``action``, called with 0, 1, 2 ...; of this process alone unless ``clock`` says."""
    spent = []
    for i in range(runs):
        start = clock()
        action(i)
        spent.append((clock() - start) * 1000)
    return median(spent)


def main() -> None:
    bars = four_bars(1)
    fresh = iter([four_bars(number) for number in range(10, 2410, 4)])
    for name, options in (("desk", DESK), ("paper", PAPER), ("phone", PHONE)):
        drawn = strips(bars, UKULELE, options)
        again = timed(lambda _, options=options: strips(bars, UKULELE, options), 200)
        new = timed(lambda _, options=options: strips(next(fresh), UKULELE, options), 200)
        print(
            f"strip, {name}: {new:.2f} ms for four new bars, {again:.2f} ms for bars said before, "
            f"{sum(map(len, drawn)) / 1000:.1f} KB"
        )
    shape = Shape("G7", (0, 2, 1, 2), (0, 2, 1, 3), 0.0)
    print(f"diagram: {timed(lambda _: diagram(shape), 200):.3f} ms")
    score = Score(tuning=UKULELE, bars=tuple(bars))
    staff_room.staff(score)
    spent = timed(lambda i: staff_room.staff(replace(score, title=str(i))), 30, time.perf_counter)
    print(
        f"staff: {spent:.1f} ms for four bars, {timed(lambda _: staff_room.staff(score), 30):.2f} ms from the cache"
    )


if __name__ == "__main__":
    main()

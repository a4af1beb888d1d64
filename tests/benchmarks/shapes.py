"""Print how well and how fast chords are turned into shapes and fingers, in one run.

    python -m tests.benchmarks.shapes

Agreement is with the first positions of an open data package (see
``tests.outside.shape_package``), apart on the roots the weights were tuned on and
on those kept back. Times are processor time a chord with nothing remembered of the
chord: "cold" also with nothing remembered of any hand, as in a fresh process.
"""

from time import process_time

from pieces.music import fingering, shapes
from pieces.music.chords import name_chord
from tests.outside.shape_package import (
    EASY_QUALITIES,
    TUNING_OF,
    Position,
    finger_agreement,
    first_positions,
    positions,
    rank,
    same_frets,
    same_up_to_muted,
)

RANKS = (1, 3, 5, 10)


def main() -> None:
    for instrument in TUNING_OF:
        firsts = first_positions(instrument)
        kept_back = [position for position in firsts if not position.is_tuned_on]
        tuned = [position for position in firsts if position.is_tuned_on]
        print(f"{instrument}: {len(firsts)} first positions, {len(positions(instrument))} in all")
        for name, group in (("kept back", kept_back), ("tuned on", tuned), ("all roots", firsts)):
            print_agreement(instrument, name, group)
        print_times(instrument, firsts)
    print_naming_time()


def print_agreement(instrument: str, name: str, group: list[Position]) -> None:
    for same in (same_frets, same_up_to_muted) if instrument == "guitar" else (same_frets,):
        ranks = [rank(instrument, position, same) or 999 for position in group]
        shares = ", ".join(f"{sum(r <= k for r in ranks) / len(ranks):.3f} within {k}" for k in RANKS)
        easy = [r for r, position in zip(ranks, group, strict=True) if position.quality in EASY_QUALITIES]
        print(
            f"  {name:9} {same.__name__:16} {shares}; easy chords within 3: {sum(r <= 3 for r in easy)} of {len(easy)}"
        )
    print(f"  {name:9} fingers {finger_agreement(group):.3f}")


def print_times(instrument: str, firsts: list[Position]) -> None:
    tuning = TUNING_OF[instrument]
    for limit in (10, None):
        fingering._hands.cache_clear()
        for name in ("cold", "warm"):
            shapes._find.cache_clear()
            times = []
            for position in firsts:
                start = process_time()
                shapes.find_shapes(position.symbol, tuning, limit=limit)
                times.append(process_time() - start)
            times.sort()
            p95 = times[int(len(times) * 0.95)]
            print(
                f"  {name} {limit or 'every'} shapes: p50 {times[len(times) // 2] * 1e3:.1f} ms, p95 {p95 * 1e3:.1f} ms"
            )


def print_naming_time() -> None:
    start = process_time()
    for low in range(48, 60):
        for middle in range(1, 12):
            name_chord((low, low + middle, low + 7, low + 10))
    print(f"naming a chord: {(process_time() - start) / 132 * 1e3:.2f} ms")


if __name__ == "__main__":
    main()

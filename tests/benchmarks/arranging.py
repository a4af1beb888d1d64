"""Print how well and how fast both hands are arranged, in one run.

    python -m tests.benchmarks.arranging [--every N]

``--every N`` takes every Nth of the 200 tunes. Faults and shares are from every
key in which a tune fits, at levels 1 to 4 in turn.
"""

import argparse
import time
from itertools import product

from pieces.music.arranging import arrange, best_keys
from pieces.music.changes import choices_for, finger_progression, path_cost
from pieces.music.harmonizing import find_key
from pieces.music.melody import tones_of
from pieces.music.setting import transpose
from pieces.music.tuning import TUNINGS
from tests.outside.fretting import faults
from tests.outside.tunes import essen_tunes

ROW = ("C", "Am", "F", "G7", "Em", "Dm7", "Bb", "E7", "A7", "D")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--every", type=int, default=1)
    tunes = essen_tunes()[:: parser.parse_args().every]
    print_progressions()
    found = sum(find_key(tones_of(tune)).rstrip("m") == tune.key.rstrip("m") for tune in tunes)
    print(f"tonic found as the collection names it: {found} of {len(tunes)}")
    for name in ("ukulele high G", "ukulele low G"):
        print_arranging(name, tunes)


def print_progressions() -> None:
    for name in ("ukulele high G", "guitar"):
        for symbol in ROW:
            choices_for(symbol, TUNINGS[name])
        start = time.perf_counter()
        finger_progression(ROW * 10, TUNINGS[name])
        print(f"{name}: 100 chords fingered in {time.perf_counter() - start:.3f} s, shapes known")
    tuning, agreed, cases = TUNINGS["ukulele high G"], 0, 0
    for row, movement in product(zip(ROW, ROW[1:], ROW[2:], strict=False), (0.25, 0.5, 1.0)):
        choices = [choices_for(symbol, tuning) for symbol in row]
        best = min(path_cost(path, movement) for path in product(*choices))
        chosen = path_cost(finger_progression(row, tuning, movement=movement), movement)
        agreed += abs(best[0] - chosen[0]) < 1e-9
        cases += 1
    print(f"progressions equal to brute force: {agreed} of {cases}")


def print_arranging(name: str, tunes) -> None:
    tuning = TUNINGS[name]
    ranking, arranging = [], []
    strong = carried = full_strong = full_carried = broken = done = keys_out = 0
    for turn, melody in enumerate(tunes):
        start = time.perf_counter()
        ranks = best_keys(melody, None, tuning)
        ranking.append(time.perf_counter() - start)
        for place, rank in enumerate(ranks):
            if not rank.fits:
                keys_out += 1
                continue
            moved = transpose(melody, rank.semitones)
            start = time.perf_counter()
            arranged = arrange(moved, None, tuning, 1 + (turn + place) % 4)
            arranging.append(time.perf_counter() - start)
            done += 1
            broken += len(list(faults(arranged.score, moved)))
        if ranks[0].fits:
            best = arrange(transpose(melody, ranks[0].semitones), None, tuning, 3)
            strong, carried = strong + best.strong, carried + best.carried
            full = arrange(transpose(melody, ranks[0].semitones), None, tuning, 4)
            full_strong, full_carried = full_strong + full.strong, full_carried + full.carried
    print(f"{name}: {done} arrangements of {len(tunes)} tunes, {broken} faults; {keys_out} keys out of reach")
    print(f"  strong beats with two chord tones beneath, best key: {carried / strong:.4f} at level 3,")
    print(f"  {full_carried / full_strong:.4f} at level 4")
    print(f"  twelve keys ranked: median {_ms(ranking, 0.5)} ms, p95 {_ms(ranking, 0.95)} ms a tune")
    print(f"  one arrangement: median {_ms(arranging, 0.5)} ms, p95 {_ms(arranging, 0.95)} ms")


def _ms(seconds: list[float], share: float) -> str:
    return f"{1000 * sorted(seconds)[int(share * (len(seconds) - 1))]:.1f}"


if __name__ == "__main__":
    main()

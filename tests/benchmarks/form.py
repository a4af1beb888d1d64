"""Figures of the form room against bundled tunes: phrases, repeats, sections.

    python -m tests.benchmarks.form

Phrases: the Essen collection of music21's corpus, one body line of a tune is one
phrase; duplicates dropped. Half of the tunes, by a hash of their notes, were for
tuning; the figures are those of the other half. Repeats and sections: ryansMammoth
and oneills1850 of the same corpus.
"""

import hashlib
import time
from statistics import median

from pieces.music.cues import Line, boundary_strength
from pieces.music.form import bar_classes, find_sections, phrase_boundaries
from tests.outside.abc_tunes import Fraction, part_starts, score_of, tunes

LBDM_THRESHOLD = 0.5  # the best of 0.1, 0.2 ... 0.9 on the tuning half


def essen(held_out=True):
    """(file, notes, meter, first barline, phrase starts) of every tune of one half."""
    seen = set()
    for file, tune in tunes("essenFolksong"):
        notes, starts = tune.melody()
        key = repr(tuple((duration, pitch) for _, duration, pitch in notes))
        if len(notes) < 8 or not starts or key in seen:
            continue
        seen.add(key)
        if (int(hashlib.sha1(key.encode()).hexdigest(), 16) % 10 >= 5) == held_out:
            yield file, notes, tune.meter, tune.first_barline, starts


def pooled(pairs):
    """Precision, recall and F1 of (found, true) sets, pooled over all."""
    hit = found = true = 0
    for ours, theirs in pairs:
        hit, found, true = hit + len(ours & theirs), found + len(ours), true + len(theirs)
    precision, recall = hit / max(1, found), hit / max(1, true)
    return precision, recall, 2 * hit / max(1, found + true)


def every_two_bars(notes, meter):
    """The first note at or after every second bar from the first note."""
    step, first = 2 * Fraction(*meter), notes[0][0]
    found, due = set(), first + step
    for at, (onset, _, _) in enumerate(notes):
        if onset >= due:
            found.add(at)
            while due <= onset:
                due += step
    return found


def lbdm_alone(notes, meter, first_barline, threshold=LBDM_THRESHOLD):
    """Local peaks of the boundary strength over a threshold."""
    strengths = [0.0, *boundary_strength(Line(notes, meter, first_barline)), 0.0]
    return {
        at
        for at in range(1, len(notes))
        if strengths[at] >= threshold and strengths[at] >= max(strengths[at - 1], strengths[at + 1])
    }


def row(name, pairs):
    pairs = list(pairs)
    precision, recall, f1 = pooled(pairs)
    print(f"  {name:34} precision {precision:.3f}  recall {recall:.3f}  F1 {f1:.3f}  ({len(pairs)} tunes)")


def phrases():
    held = list(essen())
    start = time.perf_counter()
    found = [set(phrase_boundaries(notes, meter, barline)) for _, notes, meter, barline, _ in held]
    seconds = time.perf_counter() - start
    without = [set(phrase_boundaries(notes)) for _, notes, _, _, _ in held]
    true = [set(tune[-1]) for tune in held]
    print(f"Phrases, Essen, held-out half; {2500 * seconds / len(held):.1f} s for 2,500 tunes")
    row("all", zip(found, true, strict=True))
    for folder in ("erk", "han"):
        chosen = [at for at, tune in enumerate(held) if tune[0].startswith(folder)]
        row(f"folder {folder}", ((found[at], true[at]) for at in chosen))
    with_meter = [at for at, tune in enumerate(held) if tune[2]]
    free = [at for at, tune in enumerate(held) if not tune[2]]
    row("written with meter", ((found[at], true[at]) for at in with_meter))
    row("written without meter", ((found[at], true[at]) for at in free))
    row("all, meter withheld", zip(without, true, strict=True))
    metered = [held[at] for at in with_meter]
    row("every two bars (metered)", ((every_two_bars(t[1], t[2]), set(t[-1])) for t in metered))
    row("boundary strength alone", ((lbdm_alone(*t[1:4]), set(t[-1])) for t in held))


def repeats():
    print("Unique bars over full bars, as written")
    for folder, published in (("ryansMammoth", 0.700), ("oneills1850", 0.733)):
        ours, texts = [], []
        for _, tune in tunes(folder):
            if tune.meter is None:
                continue
            score, full = score_of(tune), Fraction(*tune.meter)
            classes = bar_classes(score)
            whole = [classes[bar.number] for bar in score.bars if bar.length == full]
            written = [measure.text for measure in tune.measures if measure.length == full]
            if len(whole) >= 4:
                ours.append(len(set(whole)) / len(whole))
                texts.append(len(set(written)) / len(written))
        print(
            f"  {folder:14} median {median(ours):.3f}, by the text of the bars {median(texts):.3f},"
            f" documented {published:.3f}  ({len(ours)} tunes)"
        )


def sections():
    ours, eights, exact, exact_eights, sure = [], [], 0, 0, {}
    for _, tune in tunes("ryansMammoth"):
        if tune.meter is None or not (true := part_starts(tune)):
            continue
        score = score_of(tune, signs=False)
        places = {bar.number: at for at, bar in enumerate(score.bars)}
        found = find_sections(score)
        starts = {places[section.first] for section in found} - {0}
        pickup = score.bars[0].is_pickup
        every_eight = set(range(8 + pickup, len(score.bars) - 1, 8))
        ours.append((starts, true))
        eights.append((every_eight, true))
        exact += starts == true
        exact_eights += every_eight == true
        edges = true | {0, len(score.bars)}
        for section in found:
            span = places[section.first], places[section.last] + 1
            right = set(span) <= edges and not any(span[0] < at < span[1] for at in true)
            sure.setdefault(min(int(section.sure * 5), 4), []).append(right)
    print("Sections, ryansMammoth, repeat signs hidden; the written parts are the truth")
    row("find_sections", ours)
    row("every eight bars", eights)
    print(f"  all parts right: {exact / len(ours):.3f}, every eight bars {exact_eights / len(ours):.3f}")
    for step, right in sorted(sure.items()):
        share = sum(right) / len(right)
        print(f"  sure {step / 5:.1f}-{step / 5 + 0.2:.1f}: right {share:.2f} of {len(right)} sections")


if __name__ == "__main__":
    phrases()
    repeats()
    sections()

"""Form against tunes from outside: music21's bundled corpus, by samples spread over its files.

The whole of it is measured by ``python -m tests.benchmarks.form``.
"""

import re
from functools import cache
from itertools import islice
from statistics import median

import music21
import pytest

from pieces.music.form import bar_classes, find_sections, phrase_boundaries, unfold
from tests.benchmarks.form import every_two_bars, lbdm_alone, pooled
from tests.outside.abc_tunes import CORPUS, Fraction, part_starts, read, score_of, tunes


@cache
def essen_sample():
    """(notes, meter, first barline, phrase starts) of every tenth metered tune of five files."""
    found = []
    for name in ("erk20", "boehme10", "fink0", "han2", "zuccal0"):
        for _, tune in islice(tunes(f"essenFolksong/{name}.abc"), 5, None, 10):
            notes, starts = tune.melody()
            if tune.meter and starts:
                found.append((notes, tune.meter, tune.first_barline, set(starts)))
    return found


@cache
def fiddle_sample():
    """Every tenth tune of ryansMammoth with a meter."""
    return [tune for _, tune in islice(tunes("ryansMammoth"), 0, None, 10) if tune.meter]


def test_phrases_of_folk_songs_are_found_better_than_by_counting_or_by_local_boundaries():
    sample = essen_sample()
    *_, ours = pooled((set(phrase_boundaries(*tune[:3])), tune[3]) for tune in sample)
    *_, counting = pooled((every_two_bars(*tune[:2]), tune[3]) for tune in sample)
    *_, local = pooled((lbdm_alone(*tune[:3]), tune[3]) for tune in sample)
    assert ours > 0.78
    assert ours > counting + 0.1
    assert ours > local + 0.2


def test_phrases_of_folk_songs_are_found_with_the_meter_withheld():
    *_, f1 = pooled((set(phrase_boundaries(tune[0])), tune[3]) for tune in essen_sample())
    assert f1 > 0.72


def shares(tune):
    """Distinct bars over full bars: by bar classes, and by the bars' written text."""
    score, full = score_of(tune), Fraction(*tune.meter)
    classes = bar_classes(score)
    whole = [classes[bar.number] for bar in score.bars if bar.length == full]
    written = [measure.text for measure in tune.measures if measure.length == full]
    return len(set(whole)) / len(whole), len(set(written)) / len(written)


def test_seven_in_ten_bars_of_fiddle_tunes_are_unique():
    # Median .700 over all 1,049 usable tunes, counted from the files; the sample is a tenth of them.
    ours, written = zip(*(shares(tune) for tune in fiddle_sample()), strict=True)
    assert median(ours) == pytest.approx(0.700, abs=0.04)
    assert sum(a == b for a, b in zip(ours, written, strict=True)) > 0.95 * len(ours)


def heard(bars):
    return [max(note.pitch for note in event.notes) for bar in bars for event in bar.events if event.notes]


def notes_of(stream):
    return [note for note in stream.recurse().notes if not note.duration.isGrace]


def heard_by_music21(stream):
    return [max(pitch.midi for pitch in note.pitches) for note in notes_of(stream)]


def part_of(text):
    return music21.converter.parseData("%abc-2.1\n" + text, format="abc").parts[0]


def sounding(measure):
    """What a measure sounds as music21 reads it: its length; offset, pitch and length of every note."""
    notes = [(n.offset, tuple(sorted(p.midi for p in n.pitches)), n.quarterLength) for n in notes_of(measure)]
    return measure.duration.quarterLength, notes


@cache
def texts(step):
    """Every ``step``-th tune's text, those aside that music21 10.5.1 misreads: line ends left as
    ``=20`` by a mail program, and a staccato dot after a broken rhythm."""
    files = sorted((CORPUS / "ryansMammoth").glob("*.abc"))[::step]
    written = [file.read_text(encoding="latin-1") for file in files]
    return [text[text.index("X:") :] for text in written if not re.search("=20|[<>][.]", text)]


def test_bars_are_equal_exactly_where_music21_reads_equal_notes():
    compared = 0
    for text in texts(60):
        part, score = part_of(text), score_of(read(text))
        theirs = [sounding(measure) for measure in part.getElementsByClass("Measure")]
        if heard(score.bars) == heard_by_music21(part) and len(theirs) == len(score.bars):
            first: dict = {}
            ours = [first.setdefault(number, at) for at, number in enumerate(bar_classes(score).values())]
            assert ours == [theirs.index(notes) for notes in theirs]
            compared += 1
    assert compared >= 8


def can_be_compared(tune):
    """Whether the signs leave no choice: without an opening music21 goes back further than the last
    repeat, and it plays a pickup again even where the bar before leaves no room for it."""
    signs = " ".join(f"{measure.left} {measure.right}" for measure in tune.measures)
    signs = "".join(re.findall(r":\||\|:|::", signs)).replace("|::|", "")
    first = next((measure for measure in tune.measures if ":|" in measure.right), None)
    if first is None:
        return False
    pickup = tune.measures[0].length % Fraction(*tune.meter)
    return pickup + first.length <= Fraction(*tune.meter) and ":|:|" not in signs


def test_repeats_unfold_as_music21_unfolds_them():
    compared = 0
    for text in texts(53):
        tune = read(text)
        if tune is None or not tune.meter or not can_be_compared(tune):
            continue
        score, part = score_of(tune), part_of(text)
        try:
            unfolded = heard_by_music21(part.expandRepeats())
        except music21.repeat.ExpanderException:
            continue
        if heard(score.bars) == heard_by_music21(part):
            bars = {bar.number: bar for bar in score.bars}
            assert heard(bars[number] for number in unfold(score)) == unfolded, tune.title
            compared += 1
    assert compared >= 4


def test_written_parts_of_fiddle_tunes_are_found_with_their_signs_hidden():
    pairs = []
    for tune in fiddle_sample():
        if true := part_starts(tune):
            score = score_of(tune, signs=False)
            places = {bar.number: at for at, bar in enumerate(score.bars)}
            pairs.append(({places[section.first] for section in find_sections(score)} - {0}, true))
    precision, recall, _ = pooled(pairs)
    assert precision > 0.88
    assert recall > 0.9

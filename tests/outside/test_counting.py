"""Counts against an independent reading of the same bars by music21's beat positions."""

from fractions import Fraction as F

import pytest
from music21 import corpus

from pieces.music.counting import BEATS_AND, LA_LI, count_bar, count_unit
from pieces.music.score import Bar, Event, Meter, Note

TUNES = 200
# In how many parts of a beat each word stands, and on which: as printed in the counting
# charts of method books (common practice, no source).
PLACE = {"&": F(1, 2), "e": F(1, 4), "a": F(3, 4), "la": F(1, 3), "li": F(2, 3)}


def exact(value) -> F:
    """A whole-note fraction from quarter lengths, which may be floats of a triplet."""
    return F(value).limit_denominator(96) / 4


def bar_from(measure, signature) -> Bar:
    events = [
        Event(
            exact(element.offset),
            exact(element.quarterLength),
            () if element.isRest else (Note(69, tied=bool(element.tie and element.tie.type != "start")),),
        )
        for element in measure.notesAndRests
        if element.quarterLength
    ]
    return Bar(1, Meter(signature.numerator, signature.denominator), tuple(events))


def measures():
    """Every bar of the first tunes of the fiddle collection, with its time signature."""
    for path in corpus.getComposer("ryansMammoth")[:TUNES]:
        signature = None
        for measure in corpus.parse(path).recurse().getElementsByClass("Measure"):
            signature = measure.timeSignature or signature
            if signature and not measure.voices and len(measure.notesAndRests):
                yield path.name, measure, signature


@pytest.fixture(scope="module")
def corpus_bars():
    return list(measures())


def beats_of(counts):
    """The words in runs, each opened by its number; those before the first number are a run too."""
    run = []
    for count in counts:
        if count.on_beat and run:
            yield run
            run = []
        run.append(count)
    yield run


def places(counts):
    """Where each struck word claims to stand, in numbers of the count; None for a filler word."""
    for run in beats_of(counts):
        words = [count.said for count in run]
        in_halves = "&" in words and {"la", "li"} & set(words)
        for i, count in enumerate(run):
            if count.kind != "struck":
                continue
            if not run[0].on_beat or (i and count.said not in PLACE):
                yield None
            elif in_halves and count.said in ("la", "li"):
                yield int(words[0]) + PLACE[count.said] / 2 + (F(1, 2) if "&" in words[:i] else 0)
            else:
                yield int(words[0]) + (PLACE[count.said] if i else 0)


def is_struck(note) -> bool:
    return bool(note.quarterLength) and (note.tie is None or note.tie.type == "start")


def their_position(signature, offset) -> F:
    """The beat from 1, in music21's beats, of an offset in quarters from the full bar's start."""
    return F(signature.getBeatProportion(offset)).limit_denominator(96)


def test_words_stand_on_the_beats_that_music21_computes(corpus_bars):
    checked = 0
    for name, measure, signature in corpus_bars:
        bar, begins = bar_from(measure, signature), exact(measure.paddingLeft)
        their_beat = exact(signature.beatDuration.quarterLength)
        theirs = [
            (their_position(signature, note.offset + measure.paddingLeft) - 1) * their_beat
            for note in measure.notes
            if is_struck(note)
        ]
        for way in (BEATS_AND, LA_LI):
            unit = count_unit(bar.meter, way)
            claims = list(places(count_bar(bar, way, begins=begins)))
            assert len(claims) == len(theirs), (name, measure.number)
            for claim, since_barline in zip(claims, theirs, strict=True):
                if claim is not None:
                    assert (claim - 1) * unit == since_barline, (name, measure.number)
                    checked += 1
    assert checked > 40_000

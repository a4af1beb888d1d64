"""Tunes from outside the project, read through music21's own corpus. None of them is shipped here."""

import re
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

import music21

from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score

CORPUS = Path(music21.__file__).parent / "corpus"
# Files of the Essen folksong collection as music21 carries them, and how many tunes are taken from each.
ESSEN = ("altdeu10", "ballad10", "boehme10", "erk5", "fink0", "han1", "kinder0", "variant0")
TUNES_A_FILE = 25


@lru_cache(maxsize=1)
def essen_tunes() -> tuple[Score, ...]:
    """Two hundred tunes, spread evenly over eight files of the collection."""
    return tuple(tune for name in ESSEN for tune in _from_file(CORPUS / "essenFolksong" / f"{name}.abc"))


def lead_sheet(name: str) -> Score:
    """One of music21's lead sheets: a melody with chord symbols."""
    stream = music21.converter.parse(CORPUS / "leadSheet" / name)
    return score_of(stream.parts[0], name)


def _from_file(path: Path) -> list[Score]:
    texts = re.split(r"(?m)^(?=X:)", path.read_text(encoding="latin-1"))
    texts = [text for text in texts if text.startswith("X:") and "\nM:" in text and "K:" in text]
    step = max(1, len(texts) // TUNES_A_FILE)
    spread = [text for first in range(step) for text in texts[first::step]]
    scores = []
    for text in spread:
        stream = music21.converter.parseData(text, format="abc")
        if not stream.parts[0].getElementsByClass("Measure"):
            continue  # free metre: there are no bars to arrange
        score = score_of(stream.parts[0], text.split("\n")[1])
        if sum(len(bar.events) for bar in score.bars) > 8:
            scores.append(score)
        if len(scores) == TUNES_A_FILE:
            break
    return scores


def score_of(part, title: str) -> Score:
    """The notes and chord symbols of a music21 part; ties and chords as they stand."""
    bars, meter, key = [], Meter(4, 4), ""
    signature = next(iter(part.recurse().getElementsByClass("KeySignature")), None)
    if signature is not None:
        tonic = signature.asKey() if not hasattr(signature, "tonic") else signature
        name = tonic.tonic.name.replace("-", "b")
        key = name + ("m" if tonic.mode in ("minor", "dorian", "phrygian", "aeolian") else "")
    for number, measure in enumerate(part.getElementsByClass("Measure")):
        if measure.timeSignature is not None:
            meter = Meter(measure.timeSignature.numerator, measure.timeSignature.denominator)
        events = tuple(_events(measure))
        length = max((event.end for event in events), default=Fraction(0))
        pickup = number == 0 and length < meter.length
        first = 1 if bars and bars[0].number == 0 else 0
        bars.append(Bar(0 if pickup else number + 1 - first, meter, events, tuple(_marks(measure))))
    return Score(title=title, meter=bars[0].meter, bars=tuple(bars), key=key)


def _events(measure):
    for element in measure.notesAndRests:
        if isinstance(element, music21.harmony.Harmony) or not element.quarterLength:
            continue
        onset, duration = Fraction(element.offset) / 4, Fraction(element.quarterLength) / 4
        tied = element.tie is not None and element.tie.type in ("stop", "continue")
        notes = () if element.isRest else tuple(Note(int(p.ps), tied=tied) for p in element.pitches)
        tuplet = element.duration.tuplets[0] if element.duration.tuplets else None
        yield Event(
            onset,
            duration,
            notes,
            tuplet=(tuplet.numberNotesActual, tuplet.numberNotesNormal) if tuplet else None,
        )


def _marks(measure):
    for symbol in measure.getElementsByClass("ChordSymbol"):
        yield ChordMark(Fraction(symbol.offset) / 4, symbol.figure.replace("-", "b"))

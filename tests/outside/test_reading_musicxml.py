"""What is written is checked by others: the W3C's schema of MusicXML, and music21 10.5.1's reading."""

from fractions import Fraction
from pathlib import Path

import music21
import pytest
import xmlschema
from hypothesis import HealthCheck, given, settings

from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.sounding import sounds
from pieces.music.tuning import TUNINGS
from pieces.reading import Frame, write_abc, write_midi, write_musicxml
from tests.reading.made_up import scores

UKULELE = TUNINGS["ukulele high G"]
few = settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)


@pytest.fixture(scope="module")
def schema():
    """The schema of MusicXML as the W3C publishes it; music21 carries a copy."""
    return xmlschema.XMLSchema(Path(music21.__file__).parent / "musicxml" / "musicxml.xsd", allow="local")


def errors(schema, text: str) -> list[str]:
    body = text[text.index("<score-partwise") :]
    return [f"{error.path}: {error.reason}" for error in schema.iter_errors(body)]


def everything() -> Score:
    """A piece with everything that a score can say."""
    quarter = Fraction(1, 4)
    triplet = [
        Event(quarter + i * Fraction(1, 12), Fraction(1, 12), (Note.at(UKULELE, 1, i),), tuplet=(3, 2))
        for i in range(3)
    ]
    rich = Note.at(UKULELE, 1, 3, finger=3, pick="a", join="hammer", harmonic=True)
    first = (
        Event(
            Fraction(0),
            quarter,
            (Note.at(UKULELE, 3, 0, pick="p", length=Fraction(1, 2)), Note.at(UKULELE, 1, 2)),
        ),
        *triplet,
        Event(
            Fraction(1, 2),
            quarter,
            (rich,),
            stroke="down",
            accent=True,
            lyric="Lan-",
            grace=(Note.at(UKULELE, 1, 2),),
        ),
        Event(Fraction(3, 4), Fraction(1, 8), (Note(None, 4, muted=True),), stroke="up"),
        Event(Fraction(7, 8), Fraction(1, 8)),
    )
    second = (
        Event(Fraction(0), Fraction(5, 8), (Note.at(UKULELE, 1, 3, join="slide"),)),
        Event(Fraction(5, 8), Fraction(1, 8)),
    )
    return Score(
        title="Two Lanterns & more",
        tuning=UKULELE.with_capo(0),
        key="F",
        tempo=76,
        credit="Anon",
        bars=(
            Bar(0, Meter(4, 4), (Event(Fraction(0), quarter, (Note.at(UKULELE, 2, 0),)),)),
            Bar(
                1,
                Meter(4, 4),
                first,
                (ChordMark(Fraction(0), "Bb/D"), ChordMark(Fraction(1, 8), "D7#9")),
                "A",
                True,
            ),
            Bar(2, Meter(3, 4), second, endings=(1,), repeats=2, key="G", remark="D.C."),
            Bar(3, Meter(3, 4), second, endings=(2,), key="Am"),
        ),
    )


def test_everything_that_is_written_is_valid_musicxml(schema):
    assert (
        errors(schema, write_musicxml(everything(), {"Bb/D": Frame((None, 10, 8, 9), (None, 4, 1, 2))})) == []
    )


def test_the_schema_does_find_a_mistake(schema):
    assert errors(schema, write_musicxml(everything()).replace("<octave>", "<octave>1"))
    assert errors(schema, write_musicxml(everything()).replace("fingering", "thumbing"))


@given(scores())
@few
def test_made_up_scores_are_valid_musicxml(schema, score):
    assert errors(schema, write_musicxml(score)) == []


def by_music21(stream) -> list[tuple]:
    """(start, duration, pitch) of each sound in whole notes, ties joined by music21."""
    part = stream.parts[-1].stripTies()
    found = []
    for element in part.flatten().notes:
        if isinstance(element, music21.harmony.ChordSymbol) or element.duration.isGrace:
            continue
        start, lasts = Fraction(element.offset) / 4, Fraction(element.duration.quarterLength) / 4
        found += [(start, lasts, pitch.midi) for pitch in element.pitches]
    return sorted(found)


def ours(score: Score) -> list[tuple]:
    return sorted((s.start, s.duration, s.pitch) for s in sounds(score) if s.pitch is not None)


PLAIN = Score(
    key="G",
    bars=tuple(
        Bar(
            number,
            Meter(4, 4),
            tuple(
                Event(i * Fraction(1, 8), Fraction(1, 8), (Note(60 + (number * 5 + i * 7) % 19, tied=False),))
                for i in range(8)
            ),
            (ChordMark(Fraction(0), "G"),),
        )
        for number in range(1, 5)
    ),
)


@pytest.mark.parametrize(
    ("write", "kind"),
    [(write_musicxml, "musicxml"), (write_midi, "midi"), (lambda s: write_abc(s), "abc")],
    ids=["musicxml", "midi", "abc"],
)
def test_music21_reads_the_notes_that_were_written(write, kind):
    stream = music21.converter.parseData(write(PLAIN), format=kind)
    stream = stream.scores[0] if isinstance(stream, music21.stream.Opus) else stream
    assert by_music21(stream) == ours(PLAIN)


def test_music21_finds_strings_frets_and_chord_symbols_where_they_were_written():
    stream = music21.converter.parseData(write_musicxml(everything()), format="musicxml")
    chords = [c.figure for c in stream.recurse().getElementsByClass("ChordSymbol")]
    assert chords[0] == "B-/D"
    places = [
        (a.number for a in n.articulations if isinstance(a, music21.articulations.FretIndication))
        for n in stream.recurse().getElementsByClass("Note")
    ]
    assert sorted(number for found in places for number in found)[:2] == [0, 0]

"""Staff notation: Verovio, which did not write our MEI, reads back what we meant."""

from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree

import pytest
import verovio
from hypothesis import HealthCheck, given, settings

from pieces.engraving import staff as staff_module
from pieces.engraving.mei import mei
from pieces.engraving.staff import StaffError, staff
from pieces.music.score import Bar, Event, Meter, Note, Score
from pieces.music.tuning import TUNINGS
from tests.engraving.random_bars import passages

SVG = "{http://www.w3.org/2000/svg}"
GUITAR = TUNINGS["guitar"]


def read_back(score: Score):
    """Verovio's own account of our MEI: onset in quarters and pitches, by event id."""
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    assert toolkit.loadData(mei(score))
    toolkit.renderToMIDI()
    onsets, root = {}, ElementTree.fromstring(mei(score))
    for moment in toolkit.renderToTimemap({"includeMeasures": False, "includeRests": True}):
        for ident in (*moment.get("on", ()), *moment.get("restsOn", ())):
            onsets[ident] = moment["qstamp"]
    return toolkit, onsets, root


def one_event_bar(*notes: Note, number: int = 1) -> Bar:
    return Bar(number, Meter(4, 4), (Event(Fraction(0), Fraction(1), notes),))


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(passages())
def test_single_notes_start_when_they_should(passage):
    bars, tuning, _ = passage
    plain = [
        replace(bar, repeats=0, endings=(), opens_repeat=False, events=tuple(_alone(e) for e in bar.events))
        for bar in bars
    ]
    score = Score(tuning=tuning, bars=tuple(plain))
    _, onsets, _ = read_back(score)
    start = Fraction(0)
    for bar in plain:
        for i, event in enumerate(bar.events, start=1):
            ident = f"sb{bar.number}e{i}"
            if event.notes:
                assert abs(onsets[ident] - float((start + event.onset) * 4)) < 0.01
        start += bar.length


def _alone(event: Event) -> Event:
    return replace(event, notes=tuple(replace(n, tied=False) for n in event.notes[:1]), grace=(), lyric="")


@pytest.mark.parametrize("name", TUNINGS)
@pytest.mark.parametrize("key", ["C", "Eb", "A", "F#m"])
def test_every_pitch_sounds_as_it_does_on_the_instrument(name, key):
    tuning = TUNINGS[name]
    frets = range(13)
    events = tuple(Event(Fraction(fret, 16), Fraction(1, 16), (Note.at(tuning, 1, fret),)) for fret in frets)
    score = Score(tuning=tuning, key=key, bars=(Bar(1, Meter(13, 16), events),))
    toolkit, _, _ = read_back(score)
    for i, fret in enumerate(frets, start=1):
        assert toolkit.getMIDIValuesForElement(f"sb1e{i}")["pitch"] == tuning.pitch(1, fret)


def test_a_guitar_is_written_an_octave_above_its_sound():
    root = ElementTree.fromstring(mei(Score(tuning=GUITAR, bars=(one_event_bar(Note.at(GUITAR, 1, 0)),))))
    clef = root.find(".//{*}staffDef")
    assert (clef.get("clef.shape"), clef.get("clef.dis"), clef.get("clef.dis.place")) == ("G", "8", "below")


def test_an_accidental_is_written_once_in_a_bar():
    sharp = Note.at(GUITAR, 1, 2)
    events = tuple(Event(Fraction(i, 4), Fraction(1, 4), (sharp,)) for i in range(4))
    bars = (Bar(1, Meter(4, 4), events), Bar(2, Meter(4, 4), events))
    notes = ElementTree.fromstring(mei(Score(tuning=GUITAR, bars=bars))).findall(".//{*}note")
    assert [note.get("accid") for note in notes] == ["s", None, None, None] * 2
    in_g = ElementTree.fromstring(mei(Score(tuning=GUITAR, key="G", bars=bars))).findall(".//{*}note")
    assert {note.get("accid") for note in in_g} == {None}


def test_a_length_of_five_eighths_is_two_tied_values():
    long = Event(Fraction(0), Fraction(5, 8), (Note.at(GUITAR, 1, 0),))
    rest = Event(Fraction(5, 8), Fraction(3, 8))
    root = ElementTree.fromstring(mei(Score(tuning=GUITAR, bars=(Bar(1, Meter(4, 4), (long, rest)),))))
    notes = root.findall(".//{*}note")
    assert [(n.get("dur"), n.get("tie")) for n in notes] == [("2", "i"), ("8", "t")]


def test_a_tie_over_the_bar_line_joins_two_notes():
    bars = (
        one_event_bar(Note.at(GUITAR, 1, 3)),
        one_event_bar(Note.at(GUITAR, 1, 3, tied=True), number=2),
    )
    root = ElementTree.fromstring(mei(Score(tuning=GUITAR, bars=bars)))
    assert [n.get("tie") for n in root.findall(".//{*}note")] == ["i", "t"]


def test_the_drawing_is_one_flat_svg_with_only_our_ids():
    bars = (one_event_bar(Note.at(GUITAR, 1, 3)), Bar.of("4/4", "1/4 1/4 1/2", 2))
    root = ElementTree.fromstring(staff(Score(tuning=GUITAR, bars=bars), prefix="q"))
    assert sum(element.tag == f"{SVG}svg" for element in root.iter()) == 1
    assert not list(root.iter(f"{SVG}use")) and not list(root.iter(f"{SVG}style"))
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert ids == ["qb1", "qb1e1", "qb2", "qb2e1", "qb2e2", "qb2e3"]
    assert root.find(f"{SVG}title").text.startswith("Bar 1.")


def test_a_child_that_dies_is_reported_and_the_next_staff_is_drawn():
    child = staff_module._Child()
    process = child._running()
    process.kill()
    process.wait()
    child._process = process
    options = {"scale": 40}
    good = mei(Score(tuning=GUITAR, bars=(one_event_bar(Note.at(GUITAR, 1, 3)),)))
    try:
        assert "<svg" in child.draw(good, options)
        with pytest.raises(StaffError):
            child.draw("<mei", options)
        assert "<svg" in child.draw(good, options)
    finally:
        child.stop()


def test_a_child_that_hangs_is_ended(monkeypatch):
    monkeypatch.setattr(staff_module, "SECONDS", 0)
    child = staff_module._Child()
    with pytest.raises(StaffError):
        child.draw(mei(Score(bars=(Bar.of("4/4", "1/1"),))), {})
    assert child._process is None

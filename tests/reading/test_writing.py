"""What goes out comes back in the same: every pitch, onset, duration, string, fret and chord symbol."""

from fractions import Fraction

from hypothesis import HealthCheck, given, settings

from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.sounding import sounds
from pieces.music.tuning import TUNINGS
from pieces.reading import Frame, read_upload, write_abc, write_midi, write_musicxml
from tests.reading.made_up import scores

UKULELE = TUNINGS["ukulele high G"]
often = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


def without_strings(score: Score):
    return sorted((s.start, s.duration, s.pitch) for s in sounds(score))


def chords(score: Score):
    return [(bar.number, mark) for bar in score.bars for mark in bar.chords]


def signs(score: Score):
    return [(b.number, b.meter, b.opens_repeat, b.repeats, b.endings) for b in score.bars]


def hands(score: Score):
    return [(n.finger, n.pick) for b in score.bars for e in b.events for n in e.notes if not n.tied]


@given(scores())
@often
def test_musicxml_comes_back_with_strings_frets_fingers_and_chords(score):
    back = read_upload("a.musicxml", write_musicxml(score).encode()).score
    assert sounds(back) == sounds(score)
    assert chords(back) == chords(score)
    assert signs(back) == signs(score)
    assert sorted(map(str, hands(back))) == sorted(map(str, hands(score)))
    assert (back.title, back.key, back.tempo) == (score.title, score.key, score.tempo)
    if score.is_set and any(e.notes for b in score.bars for e in b.events):
        assert back.tuning == score.tuning


@given(scores())
@often
def test_midi_comes_back_with_pitches_onsets_durations_and_chords(score):
    back = read_upload("a.mid", write_midi(score)).score
    assert without_strings(back) == without_strings(score)
    assert chords(back) == chords(score)
    assert [(b.number, b.meter) for b in back.bars] == [(b.number, b.meter) for b in score.bars][
        : len(back.bars)
    ]


@given(scores(unisons=False))
@often
def test_abc_comes_back_with_pitches_onsets_durations_and_chords(score):
    back = read_upload("a.abc", write_abc(score).encode()).score
    assert without_strings(back) == without_strings(score)
    assert chords(back) == chords(score)
    assert signs(back) == signs(score)


def tune(*events: Event, **more) -> Score:
    return Score(bars=(Bar(1, Meter(4, 4), events, **more),))


def whole(note: Note, **more) -> Event:
    return Event(Fraction(0), Fraction(1), (note,), **more)


def test_musicxml_keeps_joins_strokes_accents_harmonics_and_muted_strokes():
    quarter = Fraction(1, 4)
    score = tune(
        Event(Fraction(0), quarter, (Note.at(UKULELE, 1, 0),), stroke="down", accent=True),
        Event(quarter, quarter, (Note.at(UKULELE, 1, 2, join="hammer"),)),
        Event(2 * quarter, quarter, (Note.at(UKULELE, 1, 5, join="slide"),), stroke="up"),
        Event(
            3 * quarter, quarter, (Note(None, 1, muted=True), Note.at(UKULELE, 2, 12, harmonic=True))[::-1]
        ),
    )
    back = read_upload("a.xml", write_musicxml(score).encode()).score
    assert back.bars[0].events == score.bars[0].events


def test_musicxml_keeps_grace_notes_words_letters_and_key_changes():
    first = whole(Note.at(UKULELE, 1, 3), grace=(Note.at(UKULELE, 1, 2),), lyric="Lan-")
    score = Score(
        tuning=UKULELE,
        key="C",
        credit="Anon",
        bars=(
            Bar(1, Meter(4, 4), (first,), letter="A"),
            Bar(2, Meter(3, 4), (Event(Fraction(0), Fraction(3, 4), (Note.at(UKULELE, 2, 0),)),), key="G"),
        ),
    )
    assert read_upload("a.xml", write_musicxml(score).encode()).score == score


def test_musicxml_draws_each_frame_once_and_reads_it_back():
    score = tune(
        whole(Note.at(UKULELE, 1, 3)), chords=(ChordMark(Fraction(0), "C"), ChordMark(Fraction(1, 2), "C"))
    )
    frames = {"C": Frame((0, 0, 0, 3), (0, 0, 0, 3)), "Bb": Frame((3, 2, 1, 1), (3, 2, 1, 1))}
    text = write_musicxml(score, frames)
    assert text.count("<frame>") == 1
    assert read_upload("a.xml", text.encode()).frames == {"C": frames["C"]}


def test_a_frame_high_on_the_neck_says_its_first_fret():
    score = tune(whole(Note.at(UKULELE, 1, 3)), chords=(ChordMark(Fraction(0), "C"),))
    frame = Frame((None, 7, 8, 7), (None, 1, 2, 1))
    text = write_musicxml(score, {"C": frame})
    assert "<first-fret>7</first-fret>" in text
    assert read_upload("a.xml", text.encode()).frames["C"] == frame


def test_a_capo_comes_back():
    tuning = TUNINGS["guitar"].with_capo(2)
    score = Score(tuning=tuning, bars=(Bar(1, Meter(4, 4), (whole(Note.at(tuning, 1, 3)),)),))
    back = read_upload("a.xml", write_musicxml(score).encode()).score
    assert back.tuning == tuning and back.bars == score.bars


def test_a_length_that_no_one_note_has_is_tied_from_two():
    text = write_musicxml(tune(Event(Fraction(0), Fraction(5, 8), (Note.at(UKULELE, 1, 3),))))
    assert text.count("<note>") == 2 and text.count('<tie type="start"') == 1


def test_midi_plays_repeats_where_the_order_is_given():
    first = whole(Note(60))
    score = Score(bars=(Bar(1, Meter(4, 4), (first,), repeats=2), Bar(2, Meter(4, 4), (whole(Note(62)),))))
    back = read_upload("a.mid", write_midi(score, (1, 1, 2))).score
    assert [n.pitch for b in back.bars for e in b.events for n in e.notes] == [60, 60, 62]


def test_abc_keeps_words_key_changes_and_section_letters():
    half = Fraction(1, 2)
    first = (
        Event(Fraction(0), half, (Note(66),), lyric="Lan-"),
        Event(half, half, (Note(67),), lyric="terns"),
    )
    score = Score(
        title="Two Lanterns",
        key="G",
        tempo=80,
        bars=(
            Bar(1, Meter(4, 4), first, letter="A"),
            Bar(2, Meter(4, 4), (whole(Note(65)),), key="F", letter="B"),
        ),
    )
    back = read_upload("a.abc", write_abc(score).encode()).score
    assert back == score

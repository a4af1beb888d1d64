"""MusicXML 4.0 in: notes, signs and everything written for both hands."""

from fractions import Fraction

import pytest

from pieces.music.score import UnreadableScore
from pieces.music.tuning import TUNINGS
from pieces.reading import Frame, read_upload
from tests.reading.files import attributes, musicxml, mxl, note, rest, technical

TAB = (
    "<clef><sign>TAB</sign><line>5</line></clef><staff-details><staff-lines>4</staff-lines>"
    + "".join(
        f'<staff-tuning line="{line}"><tuning-step>{step}</tuning-step><tuning-octave>4</tuning-octave></staff-tuning>'
        for line, step in enumerate("GCEA", 1)
    )
    + "</staff-details>"
)


def read(*measures: str, **more):
    return read_upload("a.musicxml", musicxml(*measures, **more))


def events(reading):
    return [event for bar in reading.score.bars for event in bar.events]


def test_pitches_durations_rests_and_ties():
    start, stop = '<tie type="start"/>', '<tie type="stop"/>'
    reading = read(
        attributes() + note("C", 5, 6) + note("B", 4, 2, alter=-1) + rest(4) + note("E", 4, 4, inside=start),
        note("E", 4, 16, inside=stop),
    )
    assert [(str(e.duration), [n.pitch for n in e.notes]) for e in events(reading)] == [
        ("3/8", [72]),
        ("1/8", [70]),
        ("1/4", []),
        ("1/4", [64]),
        ("1", [64]),
    ]
    assert events(reading)[-1].is_held


def test_triplets_keep_their_exact_time():
    third = (
        "<type>eighth</type><time-modification><actual-notes>3</actual-notes>"
        "<normal-notes>2</normal-notes></time-modification>"
    )
    reading = read(attributes(divisions=3, beats=1) + note("C", 4, 1, inside=third) * 3)
    assert [e.duration for e in events(reading)] == [Fraction(1, 12)] * 3
    assert events(reading)[0].tuplet == (3, 2)


def test_a_pickup_is_bar_0():
    reading = read(attributes() + note("G", 4, 4), note("C", 5, 16), note("C", 5, 12))
    assert [bar.number for bar in reading.score.bars] == [0, 1, 2]
    assert reading.problems == []


def test_a_bar_that_does_not_add_up_is_reported():
    reading = read(attributes() + note("G", 4, 16), note("C", 5, 20), note("C", 5, 16))
    assert [problem.bar for problem in reading.problems] == [2]


def test_key_and_meter_change():
    reading = read(
        attributes(fifths=1) + note("G", 4, 16),
        "<attributes><key><fifths>-1</fifths></key><time><beats>6</beats><beat-type>8</beat-type></time></attributes>"
        + note("F", 4, 12),
        note("F", 4, 12),
    )
    assert reading.score.key == "G"
    assert [(bar.key, str(bar.meter)) for bar in reading.score.bars] == [
        ("", "4/4"),
        ("F", "6/8"),
        ("", "6/8"),
    ]


def test_repeats_and_endings():
    def left(inside):
        return f'<barline location="left">{inside}</barline>'

    def right(inside):
        return f'<barline location="right">{inside}</barline>'

    back, bar = '<repeat direction="backward"/>', note("C", 4, 16)
    reading = read(
        attributes() + left('<repeat direction="forward"/>') + bar,
        left('<ending number="1" type="start"/>') + bar,
        bar + right(f'<ending number="1" type="stop"/>{back}'),
        left('<ending number="2" type="start"/>') + bar + right('<ending number="2" type="stop"/>'),
        bar + right('<repeat direction="backward" times="3"/>'),
    )
    bars = reading.score.bars
    assert [b.opens_repeat for b in bars] == [True, False, False, False, False]
    assert [b.endings for b in bars] == [(), (1,), (1,), (2,), ()]
    assert [b.repeats for b in bars] == [0, 0, 2, 0, 3]


def test_string_fret_fingers_and_picking_letters():
    reading = read(
        attributes(more=TAB)
        + note("C", 5, 8, inside=technical(string=1, fret=3, fingering=3, pluck="a"))
        + note("C", 4, 8, inside=technical(string=3, fret=0, pluck="p"))
        + note("A", 4, 8, chord=True, inside=technical(string=1, fret=0, pluck="m")),
    )
    assert reading.score.tuning == TUNINGS["ukulele high G"] and reading.score.is_set
    first, second = events(reading)
    assert [(n.string, n.fret, n.finger, n.pick) for n in first.notes] == [(1, 3, 3, "a")]
    assert [(n.string, n.fret, n.finger, n.pick) for n in second.notes] == [
        (3, 0, None, "p"),
        (1, 0, None, "m"),
    ]


def test_a_string_and_fret_that_do_not_sound_the_note_are_not_taken():
    reading = read(attributes(more=TAB) + note("C", 5, 16, inside=technical(string=1, fret=7)))
    assert not reading.score.is_set


def test_joins_harmonics_strokes_and_muted_strokes():
    on = technical(string=1, fret=2).replace(
        "</technical>", '<hammer-on type="stop"/><harmonic/></technical>'
    )
    down = technical(string=1, fret=0).replace("</technical>", "<down-bow/></technical>")
    muted = "<notehead>x</notehead>" + technical(string=1)
    reading = read(
        attributes(more=TAB)
        + note("A", 4, 4, inside=down)
        + note("B", 4, 4, inside=on)
        + note("A", 4, 8, inside=muted)
    )
    first, second, third = events(reading)
    assert first.stroke == "down"
    assert (second.notes[0].join, second.notes[0].harmonic) == ("hammer", True)
    assert (third.notes[0].pitch, third.notes[0].muted, third.notes[0].string) == (None, True, 1)


HARMONY = (
    "<harmony><root><root-step>{step}</root-step><root-alter>{alter}</root-alter></root>"
    "<kind{text}>{kind}</kind>{more}</harmony>"
)


@pytest.mark.parametrize(
    ("step", "alter", "kind", "text", "more", "symbol"),
    [
        ("C", 0, "major", "", "", "C"),
        ("B", -1, "minor-seventh", "", "", "Bbm7"),
        ("F", 1, "half-diminished", "", "", "F#m7b5"),
        ("A", 0, "minor", ' text="min"', "", "Amin"),
        ("G", 0, "dominant", "", "<bass><bass-step>B</bass-step></bass>", "G7/B"),
        (
            "C",
            0,
            "major",
            "",
            "<degree><degree-value>9</degree-value><degree-alter>0</degree-alter>"
            "<degree-type>add</degree-type></degree>",
            "Cadd9",
        ),
        ("D", 0, "other", ' text="7#9"', "", "D7#9"),
    ],
)
def test_chord_symbols_are_written_as_a_teacher_writes_them(step, alter, kind, text, more, symbol):
    harmony = HARMONY.format(step=step, alter=alter, kind=kind, text=text, more=more)
    reading = read(attributes() + note("C", 4, 8) + harmony + note("C", 4, 8))
    assert [(str(m.onset), m.symbol) for m in reading.score.bars[0].chords] == [("1/2", symbol)]


def test_a_drawn_frame_is_kept_with_its_symbol():
    frame = (
        "<frame><frame-strings>4</frame-strings><frame-frets>4</frame-frets>"
        "<frame-note><string>1</string><fret>3</fret><fingering>3</fingering></frame-note>"
        + "".join(f"<frame-note><string>{s}</string><fret>0</fret></frame-note>" for s in (2, 3, 4))
        + "</frame>"
    )
    harmony = HARMONY.format(step="C", alter=0, kind="major", text="", more=frame)
    assert read(attributes() + harmony + note("C", 4, 16)).frames == {"C": Frame((0, 0, 0, 3), (0, 0, 0, 3))}


def test_words_and_section_letters_and_tempo():
    word = "<lyric><syllabic>begin</syllabic><text>Lan</text></lyric>"
    letter = "<direction><direction-type><rehearsal>B</rehearsal></direction-type></direction>"
    tempo = (
        "<direction><direction-type><metronome><beat-unit>half</beat-unit><per-minute>40</per-minute>"
        "</metronome></direction-type></direction>"
    )
    reading = read(attributes() + tempo + letter + note("C", 4, 16, inside=word))
    assert (events(reading)[0].lyric, reading.score.bars[0].letter, reading.score.tempo) == ("Lan-", "B", 80)


def test_two_voices_become_one_line_with_their_own_lengths():
    first = note("E", 5, 4, inside="<voice>1</voice>") * 4
    second = note("C", 4, 8, inside="<voice>2</voice>") * 2
    reading = read(f"{attributes()}{first}<backup><duration>16</duration></backup>{second}")
    assert [[(n.pitch, n.length) for n in e.notes] for e in events(reading)] == [
        [(60, Fraction(1, 2)), (76, None)],
        [(76, None)],
        [(60, Fraction(1, 2)), (76, None)],
        [(76, None)],
    ]


def test_a_transposing_part_sounds_as_it_is_heard():
    octave = "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
    whole = "<transpose><chromatic>-2</chromatic></transpose>"
    assert events(read(attributes(more=octave) + note("C", 5, 16)))[0].notes[0].pitch == 60
    harmony = HARMONY.format(step="D", alter=0, kind="major", text="", more="")
    reading = read(attributes(fifths=2, more=whole) + harmony + note("D", 5, 16))
    assert (events(reading)[0].notes[0].pitch, reading.score.key) == (72, "C")
    assert reading.score.bars[0].chords[0].symbol == "C"


def test_which_part_is_asked_where_there_are_several():
    data = musicxml(attributes() + note("C", 4, 16), parts=("Tune", "Bass"))
    assert read_upload("a.xml", data).parts == ["Tune", "Bass"]
    assert read_upload("a.xml", data, part=1).parts == []
    with pytest.raises(UnreadableScore, match="no part 3"):
        read_upload("a.xml", data, part=2)


def test_a_staff_that_only_repeats_the_tablature_is_not_asked_about():
    inside = technical(string=1, fret=3)
    data = musicxml(
        attributes(
            more="<staves>2</staves>"
            + TAB.replace("<clef>", '<clef number="2">').replace(
                "<staff-details>", '<staff-details number="2">'
            )
        )
        + note("C", 5, 16, inside="<voice>1</voice><staff>1</staff>")
        + "<backup><duration>16</duration></backup>"
        + note("C", 5, 16, inside=f"<voice>5</voice><staff>2</staff>{inside}")
    )
    reading = read_upload("a.xml", data)
    assert reading.parts == [] and reading.score.is_set


def test_two_staves_that_differ_are_asked_about():
    data = musicxml(
        attributes(more="<staves>2</staves>")
        + note("C", 5, 16, inside="<voice>1</voice><staff>1</staff>")
        + "<backup><duration>16</duration></backup>"
        + note("C", 3, 16, inside="<voice>5</voice><staff>2</staff>")
    )
    assert read_upload("a.xml", data).parts == ["Tune, staff 1", "Tune, staff 2"]
    assert events(read_upload("a.xml", data, part=1))[0].notes[0].pitch == 48


def test_compressed_files_and_utf_16_are_read():
    data = musicxml(attributes() + note("C", 4, 16))
    assert read_upload("a.mxl", mxl(data)).score == read_upload("a.xml", data).score
    wide = data.decode().replace("UTF-8", "UTF-16").encode("utf-16")
    assert read_upload("a.xml", wide).score == read_upload("a.xml", data).score


def test_a_part_without_notes_is_refused():
    with pytest.raises(UnreadableScore, match="no notes"):
        read(attributes() + rest(16))

"""What the guard lets in and what it refuses, and that a refusal is always in plain words."""

import random
import time

import pytest

from pieces.music.score import UnreadableScore
from pieces.music.tab import read_tab
from pieces.reading import read_upload
from pieces.reading.guard import admit
from tests.reading.files import ABC, attributes, midi, musicxml, mxl, note, struck

GOOD_XML = musicxml(attributes() + note("C", 4, 4) * 4, note("D", 4, 16))
GOOD_MIDI = midi(struck(60, 480) + struck(62, 480) + struck(64, 960))


def refusal(name: str, data: bytes) -> str:
    with pytest.raises(UnreadableScore) as caught:
        read_upload(name, data)
    assert all(problem.message for problem in caught.value.problems)
    assert "Traceback" not in str(caught.value) and "/work" not in str(caught.value)
    return str(caught.value)


def test_the_standard_document_type_of_musicxml_is_let_in():
    assert b"<!DOCTYPE score-partwise" in GOOD_XML
    assert len(read_upload("a.musicxml", GOOD_XML).score.bars) == 2


def test_what_a_file_is_goes_by_its_content_and_not_by_its_name():
    assert admit("photo.png", GOOD_MIDI).kind == "midi"
    assert admit("tune.mid", ABC.encode()).kind == "abc"
    assert admit("tune.abc", mxl(GOOD_XML)).kind == "musicxml"


def test_counted_tab_in_a_file_is_read_as_when_it_is_typed():
    strings = ("A|-3---2---0-----|", "E|-0-------------|", "C|-0-------0-----|", "G|-0-------------|")
    tab = "\n".join(("meter: 4/4", "", *strings, "   1   2   3   4", ""))
    reading = read_upload("tune.txt", tab.encode())
    assert reading.score == read_tab(tab) and reading.score.is_set
    assert "bar 1" in refusal("tune.txt", tab.replace("3---2", "3-x99").encode()).lower()


def test_a_bomb_of_entities_is_refused():
    entities = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 12))
    bomb = (
        f'<?xml version="1.0"?><!DOCTYPE score-partwise [<!ENTITY a0 "lol">{entities}]><score-partwise>&a11;'
    )
    assert "definitions of its own" in refusal("bomb.xml", f"{bomb}</score-partwise>".encode())


def test_an_entity_that_names_a_file_of_the_server_is_refused():
    asks = '<!DOCTYPE score-partwise [<!ENTITY x SYSTEM "file:///etc/passwd">]><score-partwise>&x;</score-partwise>'
    assert "definitions of its own" in refusal("x.xml", asks.encode())


def test_nesting_deeper_than_any_score_is_refused():
    deep = "<score-partwise>" + "<a>" * 100_000 + "</a>" * 100_000 + "</score-partwise>"
    assert "nested deeper" in refusal("deep.xml", deep.encode())


@pytest.mark.parametrize(
    ("element", "number"),
    [
        ("divisions", "0"),
        ("divisions", "99999999999999999999"),
        ("divisions", "-4"),
        ("divisions", "1e9"),
        ("divisions", "nan"),
        ("fifths", "1000000"),
        ("beat-type", "0"),
    ],
)
def test_a_number_that_no_score_has_is_refused_with_its_line(element, number):
    data = GOOD_XML.decode()
    start = data.index(f"<{element}>")
    end = data.index(f"</{element}>")
    text = refusal("a.xml", f"{data[:start]}<{element}>{number}{data[end:]}".encode())
    assert element in text and text.startswith("Line ") and "bar 1" in text


@pytest.mark.parametrize("octave", ["77", "-9", "4; DROP TABLE", "0x10"])
def test_a_pitch_out_of_the_world_is_refused_with_its_bar(octave):
    data = musicxml(attributes() + note("C", 4, 16), note("C", octave, 16))
    assert "bar 2" in refusal("a.xml", data)


def test_more_notes_than_a_piece_has_are_refused():
    many = musicxml(attributes() + note("C", 4, 1) * 20_001)
    assert "20,000 notes" in refusal("many.xml", many)


def test_a_file_over_its_cap_is_refused_with_the_cap():
    assert "4 MB" in refusal("a.xml", b"<score-partwise>" + b" " * (4 << 20))
    assert "64 KB" in refusal("a.abc", b"X:1\nK:C\n" + b"C" * (64 << 10))
    assert "256 KB" in refusal("a.mid", GOOD_MIDI + b"\x00" * (256 << 10))
    assert "2 MB" in refusal("a.mxl", mxl(GOOD_XML) + b"\x00" * (2 << 20))


def test_a_zip_bomb_is_refused():
    bomb = mxl(b"<score-partwise>" + b" " * (40 << 20) + b"</score-partwise>")
    assert len(bomb) < 100_000
    assert "far more than a score" in refusal("bomb.mxl", bomb)


def test_a_zip_that_lies_about_its_size_is_refused():
    packed = bytearray(mxl(b"<score-partwise>" + bytes(random.Random(1).randbytes(2000).hex(), "ascii") * 50))
    at = packed.index(b"PK\x01\x02", packed.index(b"score.xml"))
    at = packed.index(b"PK\x01\x02", at)
    packed[at + 24 : at + 28] = (10).to_bytes(4, "little")
    refusal("liar.mxl", bytes(packed))


def test_a_zip_of_many_files_is_refused():
    assert "holds 32 files" in refusal("a.mxl", mxl(GOOD_XML, more={f"{i}.xml": b"x" for i in range(30)}))


def test_a_name_inside_a_zip_is_never_opened_as_a_path():
    reading = read_upload("a.mxl", mxl(GOOD_XML, name="../../../../etc/passwd"))
    assert len(reading.score.bars) == 2
    only_named = mxl(b"hello", name="readme.txt", container=False)
    assert "no score" in refusal("a.mxl", only_named)


def test_a_container_cannot_send_the_reader_to_a_file_of_the_server():
    packed = mxl(GOOD_XML, name="score.xml").replace(b"score.xml", b"/etc/pass")
    reading_or_refusal(packed)


def reading_or_refusal(data: bytes) -> bool:
    """Whether ``data`` was read; whatever happens, nothing but a plain refusal comes out."""
    started = time.monotonic()
    try:
        read_upload("brought", data)
        return True
    except UnreadableScore as error:
        assert error.problems
        return False
    finally:
        assert time.monotonic() - started < 12


@pytest.mark.parametrize(
    "path", ["/etc/passwd", "../settings.py", "file:///etc/passwd", "http://localhost/x.xml"]
)
def test_a_text_that_is_a_path_is_only_a_text(path):
    assert "no music that can be read" in refusal("x.abc", path.encode())


@pytest.mark.parametrize("data", [b"", b"   \n", b"\x00" * 100, b"\x80\x04\x95pickle", b"%PDF-1.7", b"hello"])
def test_what_is_no_music_is_refused(data):
    refusal("x.xml", data)


def test_a_pickle_is_never_loaded(tmp_path):
    import pickle

    class Marks:
        def __reduce__(self):
            return (open, (str(tmp_path / "was-here"), "w"))

    refusal("x.mxl", pickle.dumps(Marks()))
    assert not (tmp_path / "was-here").exists()


def test_the_name_of_a_file_is_shown_without_its_path_or_control_signs():
    assert refusal("/srv/secret/\x1b[31mtune.txt", b"hello").startswith("[31mtune.txt")


def test_timewise_scores_and_other_xml_say_what_to_do():
    assert "partwise" in refusal("a.xml", b"<score-timewise/>")
    assert "not a MusicXML score" in refusal("a.xml", b"<html><body>hi</body></html>")


def test_xml_that_breaks_off_is_refused_with_its_line():
    assert refusal("a.xml", GOOD_XML[:-40]).startswith("Line ")


@pytest.mark.parametrize(
    "text",
    [
        "X:1\nK:C\n" + "(" * 5000 + "C|",
        "X:1\nK:C\n" + "[" * 5000 + "C|",
        "X:1\nK:C\n" + "{" * 5000 + "C|",
        'X:1\nK:C\n"' + "a" * 50_000,
        "X:1\nK:C\nC" + ">" * 5000 + "D|",
        "X:1\nK:C\nC9999999999/0000000|",
        "X:1\nM:0/0\nL:0/0\nQ:0=0\nK:C\nCDEF|",
        "X:1\nM:99999/1\nK:C\nCDEF|",
        "X:1\nK:C\nZ999999999|C|",
        "X:1\nK:C\n(99:99:99C|(0:0:0C|(2:0:1CD|",
        "X:1\nK:C\n" + "|:[1,2-999999C:|" * 500,
        "X:1\nK:C\nV:1\nC|\n" + "".join(f"V:{i}\nC|\n" for i in range(3000)),
        "X:1\nK:C\n" + "C/////////////////|" * 100,
        "X:1\nK:" + "#" * 1000 + "\nC|",
        "X:1\nK:C\nC,,,,,,,,,,,,,,,c''''''''''''''|",
        "X:1\nK:C\nC-C-C-&&&&C|w:\nw:-_*~|\n",
        "X:" + "9" * 5000 + "\nK:C\nC|",
        "X:1\nK:C\n" + "[K:C][M:3/4][L:1/4][V:x]" * 1000 + "C|",
    ],
)
def test_hostile_abc_is_read_or_refused(text):
    reading_or_refusal(text.encode())


@pytest.mark.parametrize(
    "data",
    [
        b"MThd",
        b"MThd\x00\x00\x00\x06\x00\x01\xff\xff\x01\xe0",
        b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\x00\x00MTrk\x00\x00\x00\x00",
        b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\xe7\x28MTrk\x00\x00\x00\x00",
        b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xe0MTrk\xff\xff\xff\xff",
        b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xe0MTrk\x00\x00\x00\x06" + b"\xff" * 6,
        midi([(0xFFFFFFF, bytes((0x90, 60, 80))), (0xFFFFFFF, bytes((0x80, 60, 0)))]),
        midi([(0, b"\xff\x58\x04\x00\x00\x18\x08"), *struck(60, 480)]),
        midi([(0, b"\xff\x58\x04\x01\x05\x18\x08"), *struck(60, 480), *struck(60, 1, wait=0x7FFFFFF)]),
        midi([(0, b"\xff\x51\x03\x00\x00\x00"), *struck(60, 480)]),
        midi([(0, b"\xff\x03\x04\x00\x1b\x5b\x41"), *struck(60, 480)]),
        midi([(0, bytes((0x90, 60, 80)))] * 20_100),
    ],
)
def test_hostile_midi_is_read_or_refused(data):
    reading_or_refusal(data)


def test_endless_repeats_are_not_played_out():
    sign = '<barline location="right"><repeat direction="backward" times="{}"/></barline>'
    assert "times of a repeat" in refusal(
        "a.xml", musicxml(attributes() + note("C", 4, 16) + sign.format(10**6))
    )
    nested = (
        '<barline location="left"><repeat direction="forward"/></barline>'
        + note("C", 4, 16)
        + sign.format(32)
    )
    bars = read_upload("a.xml", musicxml(attributes(), *[nested] * 300)).score.bars
    assert len(bars) <= 302


@pytest.mark.parametrize(
    "good", [GOOD_XML, mxl(GOOD_XML), GOOD_MIDI, ABC.encode()], ids=["xml", "mxl", "midi", "abc"]
)
def test_a_hundred_damaged_copies_of_a_good_file_are_read_or_refused(good):
    chance = random.Random(20)
    for _ in range(100):
        damaged = bytearray(good)
        for _ in range(chance.choice((1, 2, 5, 20))):
            at = chance.randrange(len(damaged))
            how = chance.random()
            if how < 0.5:
                damaged[at] = chance.randrange(256)
            elif how < 0.75:
                del damaged[at : at + chance.randrange(1, 12)]
            else:
                damaged[at:at] = damaged[at : at + chance.randrange(1, 12)]
            if len(damaged) < 8:
                break
        reading_or_refusal(bytes(damaged))

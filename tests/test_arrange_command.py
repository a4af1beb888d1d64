"""The command that arranges a file, as others script against it."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from pieces.music.arranging import LEVELS
from pieces.music.tuning import TUNINGS

TUNE = """title: Eight Stairs
tuning: ukulele high G
meter: 4/4
tempo: 72

A|-3---2---0-----|-0-------2-3---|
E|---------------|---------------|
C|---------------|---------------|
G|---------------|---------------|
   1   2   3   4   1   2   3 & 4
"""
WIDE = """X:1
T:Two Ladders
M:4/4
L:1/4
K:C
C,,C,CE|c'c''C,,c''|
"""


@pytest.fixture
def arranged(tmp_path, capsys):
    """The JSON of the command for a text under a file name."""

    def run(text=TUNE, *options, name="tune.txt"):
        file = tmp_path / name
        file.write_text(text)
        call_command("arrange", str(file), "--json", *options)
        return json.loads(capsys.readouterr().out)

    return run


def test_one_object_has_every_level_and_the_twelve_keys(arranged):
    data = arranged()
    assert set(data) == {
        "title", "tuning", "open_pitches", "meter", "key", "proposed", "levels", "best_keys", "problems",
    }  # fmt: skip
    assert [level["name"] for level in data["levels"]] == list(LEVELS.values())
    assert len({rank["semitones"] % 12 for rank in data["best_keys"]}) == 12
    assert data["open_pitches"] == [67, 60, 64, 69]


def test_a_bar_is_written_as_the_workup_writes_it_with_both_hands(arranged):
    bar = arranged()["levels"][0]["bars"][0]
    first = bar["events"][0]
    assert (bar["number"], first["onset"], first["duration"]) == (1, "0", "1/4")
    assert first["notes"] == [
        {
            "string": 1,
            "fret": 3,
            "pitch": 72,
            "finger": first["notes"][0]["finger"],
            "pick": "m",
            "tied": False,
        }
    ]


def test_chords_are_flagged_as_proposed_only_where_the_file_has_none(arranged):
    bare, written = arranged(), arranged(TUNE.replace("72\n\n", "72\n\n   C               G7\n"))
    assert bare["proposed"] and bare["levels"][3]["bars"][0]["proposed"]
    assert not written["proposed"] and not written["levels"][3]["bars"][0]["proposed"]
    assert written["levels"][3]["bars"][1]["chords"] == [["0", "G7"]]


def test_the_same_file_gives_the_same_object(arranged):
    assert arranged() == arranged()


def test_level_key_and_instrument_may_be_asked_for(arranged):
    data = arranged(TUNE, "--level", "2", "--semitones", "2", "--tuning", "ukulele low G")
    assert [level["level"] for level in data["levels"]] == [2]
    assert data["tuning"] == "ukulele low G"
    tops = [max(n["pitch"] for n in e["notes"]) for e in data["levels"][0]["bars"][0]["events"]]
    assert tops[0] == 74


def test_without_json_the_levels_and_keys_are_said(tmp_path):
    file = tmp_path / "tune.txt"
    file.write_text(TUNE)
    said = StringIO()
    call_command("arrange", str(file), stdout=said)
    assert "level 4, full chord melody" in said.getvalue()
    assert "proposal" in said.getvalue()


def test_a_tune_wider_than_the_instrument_is_refused_with_its_bars(arranged):
    with pytest.raises(CommandError, match=r"see bars? ") as refusal:
        arranged(WIDE, name="wide.abc")
    assert refusal.value.returncode == 2
    assert "It fits in: no key." in str(refusal.value)


def test_an_instrument_that_is_not_known_is_refused_with_those_that_are(arranged):
    with pytest.raises(CommandError) as refusal:
        arranged(TUNE, "--tuning", "lute")
    assert all(name in str(refusal.value) for name in TUNINGS)


def test_a_file_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(CommandError, match="cannot be opened"):
        call_command("arrange", str(tmp_path / "nothing.abc"))

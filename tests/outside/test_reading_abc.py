"""Tunes of music21's corpus, read through the guarded door and held against two other readers.

The one is ``tests/reading/small_abc.py``, written from the ABC standard 2.1 alone;
the other is music21 10.5.1 itself, on tunes free of what it is known to misread.
"""

import re
from functools import cache
from pathlib import Path

import music21
import pytest

from pieces.music.score import Score
from pieces.reading import read_upload
from tests.reading import small_abc

CORPUS = Path(music21.__file__).parent / "corpus"
# Folder, and how many of its tunes are read, spread evenly over the folder.
SAMPLE = {"ryansMammoth": 60, "oneills1850": 60, "airdsAirs": 30, "essenFolksong": 50}
ALWAYS = (
    "AcaciaReel", "AldridgesHornpipe", "AnnieHughesJig", "BarneysGoatJig", "BostonReel",
    "BoyneHuntReel", "ComeToYourTayReel", "CupOfTeaReel", "DiamondJig", "DublinBoysJig", "BossJig",
    "DublinLassesReel", "LanigansBallJig", "LightAndAiryJig", "MinstrelsFancyClog",
    "MorganRattlerJig", "OlympicHornpipe", "PrimroseLassReel", "WalkAroundCarveDatPossum",
    "WindThatShakesTheBarleyReel",
)  # fmt: skip


@cache
def tunes(folder: str) -> tuple[str, ...]:
    """Every tune of a folder as a text of its own, in the order of its files."""
    found = []
    for path in sorted((CORPUS / folder).glob("*.abc")):
        text = path.read_text(encoding="utf-8", errors="replace")
        found += [t for t in re.split(r"(?m)^(?=X:)", text) if t.startswith("X:") and "[V:" not in t]
    return tuple(found)


def spread(folder: str, count: int) -> list[str]:
    """``count`` tunes from first to last, each the first that the small reader can walk."""
    every, chosen = tunes(folder), []
    for i in range(count):
        for text in every[i * len(every) // count :]:
            if text not in chosen and by_small_reader(text) is not None:
                chosen.append(text)
                break
    return chosen


def by_small_reader(text: str) -> list | None:
    """Every note in a row as (length, pitches), bars left aside; None for what it does not know."""
    try:
        return [tuple(map(str, (length, pitches))) for bar in small_abc.read(text) for length, pitches in bar]
    except (KeyError, IndexError, ValueError):
        return None


def in_a_row(score: Score) -> list:
    return [
        (str(e.duration), str(sorted(n.pitch for n in e.notes))) for bar in score.bars for e in bar.events
    ]


def read(text: str) -> Score:
    return read_upload("tune.abc", text.encode()).score


@pytest.mark.parametrize("name", ALWAYS)
def test_twenty_tunes_are_read_in_bars_that_music21_counts_too(name):
    text = (CORPUS / "ryansMammoth" / f"{name}.abc").read_text(encoding="utf-8", errors="replace")
    score = read(text)
    theirs = music21.converter.parseData(f"%abc-2.1\n{text}", format="abc")
    theirs = theirs.parts[0] if not isinstance(theirs, music21.stream.Opus) else theirs.scores[0].parts[0]
    sounding = [n for n in theirs.recurse().notes if not isinstance(n, music21.harmony.ChordSymbol)]
    expected = [sorted(p.midi for p in n.pitches) for n in sounding if not n.duration.isGrace]
    assert [[n.pitch for n in e.notes] for bar in score.bars for e in bar.events if e.notes] == expected


@pytest.mark.parametrize("folder", SAMPLE)
def test_two_hundred_tunes_are_read_note_for_note_as_by_a_reader_written_from_the_standard(folder):
    chosen = spread(folder, SAMPLE[folder])
    assert len(chosen) == SAMPLE[folder]
    differing = [text.split("\n")[:2] for text in chosen if in_a_row(read(text)) != by_small_reader(text)]
    assert differing == []


def test_the_small_reader_knows_a_wrong_note():
    right = "X:1\nM:4/4\nL:1/4\nK:G\nGABf|^c=cc'C|\n"
    assert in_a_row(read(right)) == by_small_reader(right)
    assert in_a_row(read(right)) != by_small_reader(right.replace("K:G", "K:F"))
    assert in_a_row(read(right)) != by_small_reader(right.replace("=c", "c"))


@pytest.mark.parametrize("name", ["berlinAlexandersRagtime.mxl", "fosterBrownHair.mxl"])
def test_the_lead_sheets_are_read_as_music21_reads_them(name):
    path = CORPUS / "leadSheet" / name
    score = read_upload(name, path.read_bytes()).score
    part = music21.converter.parse(path).parts[0]
    notes = [n for n in part.recurse().notes if isinstance(n, music21.note.Note)]
    assert [n.pitch for b in score.bars for e in b.events for n in e.notes] == [n.pitch.midi for n in notes]
    assert [e.lyric.rstrip("-") for b in score.bars for e in b.events if e.lyric] == [
        n.lyrics[0].text for n in notes if n.lyrics and n.lyrics[0].text
    ]
    figures = [c.figure.replace("-", "b") for c in part.recurse().getElementsByClass("ChordSymbol")]
    assert len(figures) == sum(len(bar.chords) for bar in score.bars) > 10
    roots = [c.root().midi % 12 for c in part.recurse().getElementsByClass("ChordSymbol")]
    names = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    ours = [mark.symbol for bar in score.bars for mark in bar.chords]
    assert [(names[s[0]] + (s[1:2] == "#") - (s[1:2] == "b")) % 12 for s in ours] == roots

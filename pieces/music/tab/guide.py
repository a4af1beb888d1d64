"""The page that explains counted tab to the people who type it.

Each entry is (title, one sentence, example); every example is a whole piece that
``read_tab`` reads without a warning but for the meter it has to guess.
"""

from typing import NamedTuple


class Entry(NamedTuple):
    """One thing a teacher may want to write, and how."""

    title: str
    text: str
    example: str


GUIDE = (
    Entry(
        "Strings and count",
        "Write a line of dashes for each string with string 1 on top, a figure for each fret, and under it the"
        " count, which gives the rhythm.",
        """\
title: Two Lanterns
tuning: ukulele high G
meter: 4/4
tempo: 76

A|-3---2---0-----|
E|-0-------------|
C|-0-------0-----|
G|-0-------------|
   1   2   3   4
""",
    ),
    Entry(
        "Smaller counts",
        "Put &, e & a, or la li for triplets between the numbers, each straight under its fret.",
        """\
A|-0---2-3-0-2-3-2-0--2--3---|
E|---------------------------|
C|---------------------------|
G|---------------------------|
   1   2 & 3 e & a 4  la li
""",
    ),
    Entry(
        "Holding on",
        "A count with nothing over it holds the sound, brackets say so plainly, and a fret in brackets is tied over"
        " the barline.",
        """\
A|-3-------2-----|(2)------0-----|
E|---------------|---------------|
C|---------------|---------------|
G|---------------|---------------|
   1   2   3  (4) (1) (2)  3  (4)
""",
    ),
    Entry(
        "Rests and muted strokes",
        "Write r on any string for a rest, and x for a stroke on a string that is damped.",
        """\
A|-3---r---x---x-|
E|-0-------x---x-|
C|-0-------x---x-|
G|-0-------x---x-|
   1   2   3   4
""",
    ),
    Entry(
        "Six eight",
        "Count it in six, or in two as 1 & a 2 & a.",
        """\
meter: 6/8

A|-0---2-3-----|-0-2-3-2-----|
E|-------------|-------------|
C|-------------|-------------|
G|-------------|-------------|
   1 2 3 4 5 6   1 & a 2 & a
""",
    ),
    Entry(
        "Pickup",
        "Start the count on the beat where the music starts, and the bar before bar 1 is bar 0.",
        """\
meter: 3/4

A|-0-|-3---2---0-|
E|---|-----------|
C|---|-----------|
G|---|-----------|
   3   1   2   3
""",
    ),
    Entry(
        "Repeats and endings",
        "Close a repeat with :| and open it with |:, write 1. and 2. over the endings, and 3x if it is played three"
        " times.",
        """\
meter: 2/4

             1.      2.
A|:-0---2---|-3----:|-0-----|
E|:---------|------:|-------|
C|:---------|------:|-------|
G|:---------|------:|-------|
    1   2     1 (2)   1 (2)
""",
    ),
    Entry(
        "Above the strings",
        "Write chord names over their counts, a section letter in a box as [A], and a new meter or key over the bar"
        " where it starts.",
        """\
meter: 3/4

  [A]           2/4 (key F)
   C       G7   F
A|-3---0---2---|-0---0-----|
E|-0-------1---|-1---------|
C|-0-------2---|-0---------|
G|-0-------0---|-2---------|
   1   2   3     1   2
""",
    ),
    Entry(
        "Strums",
        "Write D (down) or U (up) under a stroke, which sounds the strings that have a fret over it; > over it is an"
        " accent.",
        """\
   >
A|-3---3-3-|
E|-0---0-0-|
C|-0---0---|
G|-0-------|
   D   D U
   1   2 &
""",
    ),
    Entry(
        "Both hands",
        "Write p i m a for the picking hand and 1 to 4 after left: for the fretting hand, in a chord from the highest"
        " string number to string 1, with a dot where nothing is said.",
        """\
      A|-3-------2---|
      E|-0---0-------|
      C|-0-----------|
      G|-0-----------|
         pima i   m
left:    ...3     2
         1   2   3
""",
    ),
    Entry(
        "From note to note",
        "Put h before a fret that is hammered on, p before one that is pulled off, and / or \\ before one that is slid"
        " to.",
        """\
A|-0-h2--3-p2--/5-\\3-|
E|-------------------|
C|-------------------|
G|-------------------|
   1  &  2  &  3  4
""",
    ),
    Entry(
        "Harmonics, grace notes, ringing",
        "Write a harmonic as <12>, a grace note with g before it, and ~ after a fret that rings on (~1/2 for a half"
        " note).",
        """\
A|-<12>--g2-3-------|
E|--------------0---|
C|----------------2-|
G|-0~1/2------------|
    1       2   3 4
""",
    ),
    Entry(
        "Words",
        "Start the line under the count with words: and put each syllable under its note.",
        """\
       A|-0---2---3-----|
       E|---------------|
       C|---------------|
       G|---------------|
          1   2   3  (4)
words:    Lan-terns low
""",
    ),
    Entry(
        "Named lines",
        "Above the strings name the title, credit, tuning (or its pitches from the highest string number), capo,"
        " meter, key and tempo; note: and bar 2: keep remarks.",
        """\
title: Two Lanterns
credit: for the Thursday group
tuning: G3 C4 E4 A4
capo: 2
meter: 2/4
key: Am
tempo: 60
note: softly, as if from far

A|-0---2---|-0-----|
E|---------|-------|
C|---------|-------|
G|---------|-------|
   1   2     1 (2)
bar 2: let the last note ring
""",
    ),
    Entry(
        "Many lines",
        "Start a new group of strings for each line of the piece, with an empty line between; three dots say that the"
        " line of paper goes on.",
        """\
A|-0---2---3---2-|
E|---------------|
C|---------------|
G|---------------|
   1   2   3   4
...

A|-0-------------|
E|---------------|
C|---------------|
G|---------------|
   1  (2) (3) (4)
""",
    ),
    Entry(
        "Anything finer",
        "Write a moment that no word reaches as a part of its beat, as +1/8, and a full stop after the count where a"
        " bar ends early.",
        """\
meter: 2/4

A|-0-|-0-2----3---0---|-3-----|
E|---|----------------|-------|
C|---|----------------|-------|
G|---|----------------|-------|
   &   1 +1/8 &   2     1 2 &.
""",
    ),
)

"""The chord qualities in common use: their tones, and what a hand may leave out.

One table. A formula counts degrees of the major scale above the root, so that
``b7`` is both a distance and a letter: tones can be sounded and spelled from it.
``spare`` lists the degrees that may be left out, the first to go first (common
practice, no source: the fifth of most chords, the eleventh under a thirteenth,
at last the root, which the ear supplies where third and seventh stand).
"""

from dataclasses import dataclass
from types import MappingProxyType

MAJOR_SCALE = (0, 2, 4, 5, 7, 9, 11)


@dataclass(frozen=True, slots=True)
class Quality:
    """A kind of chord.

    ``suffix`` is written after the root ("" for major); ``said`` is how it is read
    aloud; ``degrees`` and ``spare`` are degrees such as ``"b3"``; ``aliases`` are
    other ways to write the suffix.
    """

    suffix: str
    said: str
    degrees: tuple[str, ...]
    spare: tuple[str, ...]
    aliases: tuple[str, ...]

    @property
    def intervals(self) -> tuple[int, ...]:
        """Semitones above the root, within an octave, root first."""
        return tuple(semitones(degree) for degree in self.degrees)


def semitones(degree: str) -> int:
    """Semitones of a degree above the root, within an octave.

    >>> semitones("5"), semitones("b7"), semitones("#9"), semitones("bb7")
    (7, 10, 3, 9)
    """
    number = int(degree.lstrip("#b"))
    return (MAJOR_SCALE[(number - 1) % 7] + degree.count("#") - degree.count("b")) % 12


# suffix | said | degrees | spare, first to go first | other ways to write it
_TABLE = """
        | major                            | 1 3 5            | 5       | maj M
m       | minor                            | 1 b3 5           | 5       | min
5       | power chord                      | 1 5              |         | no3 power
6       | sixth                            | 1 3 5 6          | 5       | maj6 add6 M6
m6      | minor sixth                      | 1 b3 5 6         | 5       | madd6
7       | seventh                          | 1 3 5 b7         | 5 1     | dom7 dom
maj7    | major seventh                    | 1 3 5 7          | 5 1     | M7
m7      | minor seventh                    | 1 b3 5 b7        | 5 1     |
mmaj7   | minor with major seventh         | 1 b3 5 7         | 5       | mM7 m#7
dim     | diminished                       | 1 b3 b5          |         | mb5
dim7    | diminished seventh               | 1 b3 b5 bb7      | 1       |
m7b5    | half-diminished                  | 1 b3 b5 b7       | 1       | ø ø7 m7dim5
aug     | augmented                        | 1 3 #5           |         | (#5) maj#5
sus2    | suspended second                 | 1 2 5            |         |
sus4    | suspended fourth                 | 1 4 5            |         | sus
7sus4   | seventh with suspended fourth    | 1 4 5 b7         | 5       | 7sus sus47
9sus4   | ninth with suspended fourth      | 1 4 5 b7 9       | 5 1     | 9sus
add9    | added ninth                      | 1 3 5 9          | 5       | add2
madd9   | minor with added ninth           | 1 b3 5 9         | 5       | madd2
add11   | added eleventh                   | 1 3 5 11         | 5       | add4
6/9     | sixth with added ninth           | 1 3 5 6 9        | 5 1     | 69 6add9
m6/9    | minor sixth with added ninth     | 1 b3 5 6 9       | 5 1     | m69 m6add9
9       | ninth                            | 1 3 5 b7 9       | 5 1     | 7add9
m9      | minor ninth                      | 1 b3 5 b7 9      | 5 1     | m7add9
maj9    | major ninth                      | 1 3 5 7 9        | 5 1     | M9 maj7add9
mmaj9   | minor ninth with major seventh   | 1 b3 5 7 9       | 5 1     | mM9
11      | eleventh                         | 1 3 5 b7 9 11    | 3 5 9 1 |
m11     | minor eleventh                   | 1 b3 5 b7 9 11   | 5 9 1   |
maj11   | major eleventh                   | 1 3 5 7 9 11     | 5 9 1   | M11
mmaj11  | minor eleventh with major seventh| 1 b3 5 7 9 11    | 5 9 1   | mM11
13      | thirteenth                       | 1 3 5 b7 9 11 13 | 11 5 9 1| 7add13
m13     | minor thirteenth                 | 1 b3 5 b7 9 11 13| 11 5 9 1|
maj13   | major thirteenth                 | 1 3 5 7 9 11 13  | 11 5 9 1| M13
(b5)    | major with flat fifth            | 1 3 b5           |         | majb5
7b5     | seventh with flat fifth          | 1 3 b5 b7        | 1       | 7dim5
aug7    | augmented seventh                | 1 3 #5 b7        | 1       | 7#5 7aug5 7aug
maj7b5  | major seventh with flat fifth    | 1 3 b5 7         | 1       | M7b5
maj7#5  | major seventh with sharp fifth   | 1 3 #5 7         | 1       | M7#5 augmaj7 maj7aug5
7b9     | seventh with flat ninth          | 1 3 5 b7 b9      | 5 1     | 7addb9
7#9     | seventh with sharp ninth         | 1 3 5 b7 #9      | 5 1     | 7add#9
9b5     | ninth with flat fifth            | 1 3 b5 b7 9      | 1       | 7b59
aug9    | augmented ninth                  | 1 3 #5 b7 9      | 1       | 9#5 9aug5
m9b5    | half-diminished ninth            | 1 b3 b5 b7 9     | 1       |
7#11    | seventh with sharp eleventh      | 1 3 5 b7 #11     | 5 1     |
9#11    | ninth with sharp eleventh        | 1 3 5 b7 9 #11   | 5 9 1   |
maj7#11 | major seventh with sharp eleventh| 1 3 5 7 #11      | 5 1     | M7#11
13b9    | thirteenth with flat ninth       | 1 3 5 b7 b9 13   | 5 1     |
"""


def _read(line: str) -> Quality:
    suffix, said, degrees, spare, aliases = (cell.strip() for cell in line.split("|"))
    return Quality(suffix, said, tuple(degrees.split()), tuple(spare.split()), tuple(aliases.split()))


QUALITIES = MappingProxyType({q.suffix: q for q in map(_read, _TABLE.strip("\n").splitlines())})
ALIASES = MappingProxyType({alias: q for q in QUALITIES.values() for alias in (q.suffix, *q.aliases)})

"""What makes a shape hard: one table of weights, each with its reason.

A shape's cost is the sum of its weights times their amounts; the easiest shape has
the least. The unit is one finger put down. Two columns, because a hand is not the
same on every neck: narrow for up to five strings (ukulele, mandolin, banjo), wide
for six and more (guitar).

The figures were tuned on six of the twelve roots (C, D, E, F#, Ab, Bb) of an open
data package of shapes (``fixtures/shapes``), their signs held to what the reasons
say, and checked on the other six; ``tests/benchmarks/shapes.py`` prints how far they
agree. The reasons are common practice, no source.
"""

from types import MappingProxyType
from typing import NamedTuple

# Strings from which a neck counts as wide.
WIDE_NECK = 6


class Weight(NamedTuple):
    """The cost of one unit of ``name`` on a narrow and on a wide neck, and why."""

    name: str
    narrow: float
    wide: float
    why: str


# name | narrow | wide | why
_ROWS = """
The hand: which fingers stand where
each finger                                   |   1.0 |   1.0 | One more to place in time.
little finger                                 |   2.3 |   0.5 | The weakest, and last to learn its way.
index left idle                               |   0.0 |  0.25 | A hand led by a weaker finger has lost its anchor.
away from the nut's fingers                   |   0.9 |   0.5 | Near the nut fret 1 is the index's, and so on.
not one finger a fret                         |  2.15 |   0.5 | At rest a hand spreads one finger a fret.
frets off one finger a fret                   |  0.85 |  0.15 | The further from rest, the more of it.
two fingers on one fret                       |  -1.5 |   0.0 | They crowd; below 0: they support each other.
stretch index to middle                       |  2.65 |   1.5 | Frets beyond one a finger, between these two.
stretch middle to ring                        |   3.7 |   9.0 | These two share tendons and open least.
stretch ring to little                        |   2.5 |   1.0 | The little finger opens freely but is short.
stretch past an idle finger                   |   4.9 |   1.0 | A wide grip with a finger held clear between.
slant to the ceiling                          |   0.6 |  0.25 | It turns the wrist.
little finger slants to the ceiling           |  1.15 |  0.25 | The shortest finger reaches over the others.
neighbours far across the strings             |  1.65 |  0.75 | Neighbours spread badly across the neck.

Barres
index barre                                   |  3.35 |   1.4 | A flat finger needs strength.
middle barre                                  |   1.5 |   2.5 | It must lie flat while the index stays curved.
ring barre                                    |  5.65 |   3.0 | It collapses at the last joint, which few can do early.
little barre                                  |  10.0 |   9.0 | Short and weak for lying flat.
index barre past other fingers                |  0.75 |  0.75 | It presses strings stopped higher up as well.
index barre short of string 1                 |  1.05 |  0.25 | It must keep clear of the strings beyond.
barre over a silent string                    |   2.0 |   2.5 | That string must not be struck.
barre with an open string beyond its tip      |  2.95 |  0.75 | The tip is apt to damp the open string.
barre with an open string under the palm      |  3.15 |   2.5 | The finger must arch over the open string.
upper barre beyond two strings                |   5.9 |   0.5 | Each string more wants a flatter finger.
upper barre past other fingers                |   5.2 |   0.0 | It presses strings stopped higher up as well.
upper barre inside the shape                  |   0.0 |   3.0 | Both its ends must be exact.
upper barre under a higher finger             |  4.45 |   2.5 | A flat finger drags its neighbour down.
ring finger alone beyond an index barre       |   0.0 |   2.0 | The little finger gets there first.
three strings on one of several upper fingers |   0.0 |   7.0 | Flat and curved fingers side by side.

The frets, whoever stops them
open string                                   |   1.2 |   0.8 | It rings on, and does not move with the hand.
up the neck                                   |  5.35 |  2.95 | Each fret up: the eye loses the nut.
open string beside a high hand                |   0.5 |  2.25 | Open and high strings differ in tone.
frets spanned                                 |   1.8 |  2.55 | From the lowest to the highest stopped fret.
two strings in unison                         |   1.0 |   8.2 | A doubled note makes a thin chord.
silent bass string                            |   1.0 |  2.85 | The picking hand must start one string in.
silent string 1                               |   2.0 |  6.35 | The picking hand must stop short.
silent string between                         |   4.0 |   9.0 | It must be damped while its neighbours ring.

The chord
tone left out though there was room           |  20.0 |   0.0 | A string doubles one tone and another is missed.
root left out                                 |   0.0 |   8.3 | Third and seventh still name the chord.
third left out                                |  30.0 |  15.0 | Without it major and minor sound alike.
fifth left out                                |  13.0 |   4.3 | The least missed, yet the chord is thinner.
colour left out                               |  30.0 |   4.0 | It is what the symbol asks for.
bass is the fifth                             |   0.0 |   8.9 | Not at rest; hardly heard on few strings.
bass is not the root                          |   0.5 |  17.9 | An inversion; hardly heard on few strings.
"""


def _read(row: str) -> Weight:
    name, narrow, wide, why = (cell.strip() for cell in row.split("|"))
    return Weight(name, float(narrow), float(wide), why)


TABLE = tuple(_read(row) for row in _ROWS.splitlines() if "|" in row)
_NARROW = MappingProxyType({weight.name: weight.narrow for weight in TABLE})
_WIDE = MappingProxyType({weight.name: weight.wide for weight in TABLE})


def weights(strings: int) -> MappingProxyType[str, float]:
    """Cost of one unit of each term on a neck of so many strings.

    >>> weights(4)["each finger"], weights(6)["each finger"]
    (1.0, 1.0)
    """
    return _WIDE if strings >= WIDE_NECK else _NARROW

"""The chords of a piece in one line of text, as on a chord sheet: ``C | F / G7 / | C``.

Bars are parted by ``|``. What stands in a bar shares it evenly; ``/`` is a share on
which the chord before goes on. An empty bar has no chord mark of its own.
"""

from collections.abc import Collection, Mapping, Sequence
from fractions import Fraction

from pieces.music.chords import UnknownChord, parse_chord
from pieces.music.melody import Symbols
from pieces.music.score import Bar, ChordMark, Score

GOES_ON = "/"
NO_CHORD = "N.C."
BARS_A_LINE = 4
MOST_SHARES = 32


def write_chords(score: Score, symbols: Symbols | None = None) -> str:
    """The chords of ``score``, or ``symbols`` by bar number in their place, as a chord sheet.

    >>> bar = Bar.of("4/4", "1")
    >>> half = ChordMark(Fraction(1, 2), "G7")
    >>> write_chords(Score(bars=(bar,)), {1: (ChordMark(Fraction(0), "F"), half)})
    'F G7'
    """
    bars = [
        " ".join(_shares(bar, bar.chords if symbols is None else symbols.get(bar.number, ())))
        for bar in score.bars
    ]
    lines = [" | ".join(bars[at : at + BARS_A_LINE]) for at in range(0, len(bars), BARS_A_LINE)]
    return " |\n".join(lines)


def read_chords(text: str, score: Score) -> Mapping[int, tuple[ChordMark, ...]]:
    """Chord marks by bar number from a chord sheet for the bars of ``score``.

    ``N.C.`` and symbols that the piece has already may stand though they name no chord.
    Raises ValueError, which says what would be right, where the bars are not as many
    or another symbol names no chord.

    >>> read_chords("F / / G7", Score(bars=(Bar.of("4/4", "1"),)))[1][1].onset
    Fraction(3, 4)
    """
    written = text.replace("\n", " ").split("|")
    if len(written) != len(score.bars):
        raise ValueError(
            f"The piece has {len(score.bars)} bars; {len(written)} are written here. Part bars with |, "
            "and leave one empty that has no chord of its own."
        )
    known = {NO_CHORD, *(mark.symbol for bar in score.bars for mark in bar.chords)}
    return {
        bar.number: tuple(_marks(bar, shares.split(), known))
        for bar, shares in zip(score.bars, written, strict=True)
    }


def _shares(bar: Bar, marks: Sequence[ChordMark]) -> list[str]:
    if not marks:
        return []
    at = {mark.onset: mark.symbol for mark in marks}
    length = _length(bar)
    many = next((n for n in range(1, MOST_SHARES) if all(o % (length / n) == 0 for o in at)), MOST_SHARES)
    return [at.get(length * share / many, GOES_ON) for share in range(many)]


def _marks(bar: Bar, shares: list[str], known: Collection[str]):
    for place, symbol in enumerate(shares):
        if symbol == GOES_ON:
            continue
        if symbol not in known:
            _check(symbol, bar)
        yield ChordMark(_length(bar) * place / len(shares), symbol)


def _check(symbol: str, bar: Bar) -> None:
    try:
        parse_chord(symbol)
    except UnknownChord as error:
        raise ValueError(f"Bar {bar.number}: {error}") from None


def _length(bar: Bar) -> Fraction:
    return bar.length or bar.meter.length

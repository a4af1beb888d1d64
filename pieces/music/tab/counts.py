"""The count line: from syllables to exact moments of the bar, and back.

A number is a beat, and the words after it divide that beat. In a compound meter
the numbers name its units (6/8 as 1 to 6) unless they go no further than its felt
beats; then ``1 & a 2 & a`` or ``1 la li 2 la li`` divides each dotted beat in three.
A moment that no word reaches is written as a part of its beat: ``2 +1/8`` is an
eighth part of beat 2 after it. A full stop after a count ends the bar there.
"""

import re
from fractions import Fraction
from typing import NamedTuple

from pieces.music.counting import AND_A, BEATS_AND, Syllables
from pieces.music.score import Meter
from pieces.music.tab.cells import Wrong


def _parts(way: Syllables, *divisions: int) -> dict[str, Fraction]:
    """The words of a way of counting, each with the part of the beat on which it is said."""
    return {word: Fraction(i, n) for n in divisions for i, word in enumerate(way.divide(n), 1)}


_SIMPLE = _parts(BEATS_AND, 2, 4, 3, 5) | {"trip": Fraction(1, 3), "let": Fraction(2, 3)}
_FELT = _SIMPLE | _parts(AND_A, 3)
del _FELT["e"]
_SAME = {"and": "&", "+": "&", "n": "&", "ee": "e", "ah": "a", "tri": "trip"}

_TOKEN = re.compile(
    r"""(?P<open>[(\[])?\s?
        (?P<core>(?P<beat>[0-9]{1,3})(?:\+(?P<part>[0-9]{1,4}/[0-9]{1,4}))?
               |\+(?P<more>[0-9]{1,4}/[0-9]{1,4})
               |(?P<word>and|&|\+|ee|e|ah|a|n|trip|tri|let|la|li|ta|ka|di|mi|ti))
        \s?(?P<close>[)\]])?(?P<stop>\.)?""",
    re.VERBOSE | re.IGNORECASE,
)


class Token(NamedTuple):
    """One word of the count as typed; ``start`` and ``end`` are the columns of the word itself."""

    start: int
    end: int
    text: str
    beat: int | None
    part: Fraction
    word: str
    mark: str
    stop: bool


class Count(NamedTuple):
    """One word of the count with its moment: ``place`` is the time from the start of a full bar.

    ``mark`` is "(" where the sound is held, "[" in a rest, "" where nothing is said.
    """

    start: int
    end: int
    text: str
    place: Fraction
    mark: str = ""
    stop: bool = False


def tokens_in(text: str) -> tuple[list[Token], list[Wrong]]:
    """The words of a count line, and what in it is no word of a count.

    >>> [token.text for token in tokens_in("1e&a 2 (3)")[0]]
    ['1', 'e', '&', 'a', '2', '3']
    """
    tokens, wrong, column = [], [], 0
    while column < len(text):
        if text[column] in " -,":
            column += 1
            continue
        match = _TOKEN.match(text, column)
        if match:
            tokens.append(_token(match))
            column = match.end()
        else:
            end = re.compile(r"\S+").match(text, column).end()
            wrong.append(
                Wrong(
                    column,
                    f"{text[column:end][:20]} is no word of the count.",
                    "Count with numbers, and with &, e & a, or la li between them.",
                )
            )
            column = end
    return tokens, wrong


def _token(match: re.Match) -> Token:
    part = match["part"] or match["more"]
    above, below = map(int, part.split("/")) if part else (0, 1)
    word = (match["word"] or "").lower()
    return Token(
        match.start("core"),
        match.end("core"),
        match["core"],
        int(match["beat"]) if match["beat"] else None,
        Fraction(above, below) if below else Fraction(-1),
        _SAME.get(word, word) if word else "+" if match["more"] else "",
        match["open"] or {")": "(", "]": "["}.get(match["close"] or "", ""),
        bool(match["stop"]),
    )


def counted_unit(tokens: list[Token], meter: Meter) -> Fraction:
    """What one number of this bar's count lasts.

    >>> counted_unit(tokens_in("1 & a 2 & a")[0], Meter(6, 8))
    Fraction(3, 8)
    """
    most = max((token.beat for token in tokens if token.beat), default=0)
    if meter.compound:
        thirds = any(token.word in ("a", "la", "li", "trip", "let") for token in tokens)
        if most <= meter.beats // 3 and (most or thirds):
            return meter.beat
    # Cut time counted in four: the numbers then name the halves of its beat.
    if meter.unit <= 2 and most > meter.beats:
        return Fraction(1, 2 * meter.unit)
    return Fraction(1, meter.unit)


def placed(tokens: list[Token], meter: Meter) -> tuple[list[Count], list[Wrong]]:
    """The moment of each word of one bar's count, in order, as far as it can be followed, and what is wrong.

    >>> [str(c.place) for c in placed(tokens_in("1 2 & 3")[0], Meter(4, 4))[0]]
    ['0', '1/4', '3/8', '1/2']
    """
    unit = counted_unit(tokens, meter)
    words = _FELT if meter.compound and unit == meter.beat else _SIMPLE
    counts, wrong = [], []
    beat, within, halved = _beat_before(tokens, meter, unit), Fraction(0), False
    for token in tokens:
        if counts and counts[-1].stop:
            wrong.append(_after_stop(token))
            continue
        if token.beat is not None:
            beat, within = token.beat, token.part
        elif token.word == "+":
            within = token.part
        else:
            within = _within(token.word, within, words, halved=halved and words is _SIMPLE)
        halved = _halved(token.word, halved)
        problem = _misplaced(token, beat, within, counts, unit)
        if problem:
            return counts, [*wrong, problem]
        place = (beat - 1 + within) * unit
        counts.append(Count(token.start, token.end, token.text, place, token.mark, token.stop))
    return counts, wrong


def _beat_before(tokens: list[Token], meter: Meter, unit: Fraction) -> int:
    """The beat that a count without a number starts in: the one before its first number, or the last."""
    for token in tokens:
        if token.beat is not None:
            return token.beat - 1
    return int(meter.length / unit)


def _within(word: str, before: Fraction, words: dict[str, Fraction], *, halved: bool) -> Fraction | None:
    """The part of the beat at which ``word`` stands, ``before`` being the part of the word before it.

    ``halved``: la and li divide the second half of the beat, as in ``1 & la li``.
    """
    if word == "ta":
        return before + Fraction(1, 6) if before in (0, Fraction(1, 3), Fraction(2, 3)) else None
    if halved and word in ("la", "li"):
        return Fraction(1, 2) + words[word] / 2
    return words.get(word)


def _halved(word: str, before: bool) -> bool:
    return word == "&" or (before and word in ("la", "li"))


def _misplaced(
    token: Token, beat: int, within: Fraction | None, counts: list[Count], unit: Fraction
) -> Wrong | None:
    if within is None:
        return Wrong(
            token.start, f"{token.text} has no place here.", "Count the beat as 1 & or 1 e & a or 1 la li."
        )
    if within < 0 or beat < 1:
        return Wrong(
            token.start,
            f"{token.text} has no beat to belong to.",
            "Start the bar with the number of its beat.",
        )
    if beat > 64:
        return Wrong(token.start, f"No bar has a beat {token.text}.", "Put spaces between the numbers.")
    if counts and (beat - 1 + within) * unit <= counts[-1].place:
        return Wrong(
            token.start,
            f"The count goes back from {counts[-1].text} to {token.text}.",
            "Count straight on, or put a barline before it.",
        )
    return None


def _after_stop(token: Token) -> Wrong:
    return Wrong(
        token.start,
        f"{token.text} stands after the full stop.",
        "End the bar there, or take the full stop out.",
    )


def counted_span(counts: list[Count], unit: Fraction) -> tuple[Fraction, Fraction]:
    """From where to where a bar is counted: to its full stop, or to the end of its last beat."""
    last = counts[-1]
    end = last.place if last.stop else (last.place // unit + 1) * unit
    return counts[0].place, end


def written_unit(meter: Meter, start: Fraction, end: Fraction) -> Fraction:
    """What one number lasts when a bar from ``start`` to ``end`` is written, so that it reads back."""
    unit = Fraction(1, meter.unit)
    numbers = -((end) // -unit)
    return meter.beat if meter.compound and numbers <= meter.beats // 3 else unit


def spell(places: list[Fraction], meter: Meter, unit: Fraction) -> list[str]:
    """The words for moments of one bar, in order, so that ``placed`` reads them back.

    >>> spell([Fraction(1, 4), Fraction(3, 8), Fraction(17, 40)], Meter(4, 4), Fraction(1, 4))
    ['2', '&', '+7/10']
    """
    words, numbered, last, halved = [], False, 0, False
    for place in places:
        whole, within = divmod(place / unit, 1)
        beat = int(whole) + 1
        word = _word(within, meter, unit, halved=halved and beat == last)
        last, halved = beat, _halved(word, halved and beat == last)
        if meter.unit <= 2 and beat > meter.beats:
            words.append(f"{meter.beats}+{_ratio(place / unit - meter.beats + 1)}")
        elif not within:
            words.append(str(beat))
        elif numbered or (word and not meter.compound):
            words.append(word or f"+{_ratio(within)}")
        else:
            return _spelled_out(places, meter, unit)
        numbered = numbered or not within
    return words


def _word(within: Fraction, meter: Meter, unit: Fraction, *, halved: bool) -> str:
    felt = meter.compound and unit == meter.beat
    # In a felt beat "& a" already says what "la li" would.
    table, halved = (_FELT, False) if felt else (_SIMPLE, halved)
    for word in ("&", "a") if felt else table:
        if _within(word, Fraction(0), table, halved=halved) == within:
            return word
    return ""


def _spelled_out(places: list[Fraction], meter: Meter, unit: Fraction) -> list[str]:
    """Every moment with the number of its beat, where a pickup starts on no word."""
    spelled = []
    for place in places:
        whole, within = divmod(place / unit, 1)
        spelled.append(f"{int(whole) + 1}+{_ratio(within)}" if within else str(int(whole) + 1))
    return spelled


def _ratio(value: Fraction) -> str:
    return f"{value.numerator}/{value.denominator}"

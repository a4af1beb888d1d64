"""How long a piece lasts when it is played through."""

from fractions import Fraction

from pieces.music.order import unfold
from pieces.music.score import Score


def play_time(score: Score, tempo: int) -> Fraction:
    """Seconds of one play-through at ``tempo``, repeats played.

    ``tempo`` is in beats of the first meter a minute; a later meter keeps the length of
    the whole note, as where the beat is not renamed at a change of meter.

    >>> from pieces.music.score import Bar
    >>> four = Score(bars=tuple(Bar.of("4/4", "1/1", n) for n in range(1, 5)))
    >>> play_time(four, 60), play_time(four, 120)
    (Fraction(16, 1), Fraction(8, 1))
    """
    lengths = {bar.number: bar.length or bar.meter.length for bar in score.bars}
    whole_notes = sum((lengths[number] for number in unfold(score)), Fraction(0))
    return whole_notes / score.meter.beat * Fraction(60, tempo)


def minutes_and_seconds(seconds: Fraction | int) -> str:
    """A duration as it stands in a programme.

    >>> minutes_and_seconds(Fraction(245, 2)), minutes_and_seconds(59)
    ('2:03', '0:59')
    """
    whole = int(seconds + Fraction(1, 2))
    return f"{whole // 60}:{whole % 60:02}"

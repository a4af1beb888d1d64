"""The order in which the bars of a piece are played: repeats and endings unfolded."""

from pieces.music.score import Bar, Score

# No teacher writes more passes than this; a damaged file may.
MOST_PASSES = 32


def unfold(score: Score) -> tuple[int, ...]:
    """Bar numbers in the order they are played.

    A repeat without an opening sign goes back to the bar after the last repeat, or
    to the start; the pickup at the start is then played again only if the bar with
    the sign leaves room for it. Bracketed bars are played in their passes only.

    >>> a, b, c = (Bar.of("2/4", "1/2", n) for n in (1, 2, 3))
    >>> from dataclasses import replace
    >>> unfold(Score(bars=(a, replace(b, endings=(1,), repeats=2), replace(c, endings=(2,)))))
    (1, 2, 1, 3)
    """
    bars, order = score.bars, []
    start, done, at = 0, 1, 0
    while at < len(bars):
        bar = bars[at]
        if at and bars[at - 1].endings and not bar.endings and at > start:
            start, done = at, 1
        if bar.endings and done not in bar.endings:
            at += 1
            continue
        if bar.opens_repeat and at > start:
            start, done = at, 1
        order.append(bar.number)
        if bar.repeats and done < _passes(bars, at):
            done += 1
            at = _return_to(bars, start, bar)
            continue
        if bar.repeats and not bar.endings:
            start, done = at + 1, 1
        at += 1
    return tuple(order)


def _passes(bars: tuple[Bar, ...], at: int) -> int:
    passes = bars[at].repeats
    while at < len(bars) and bars[at].endings:
        passes = max(passes, *bars[at].endings)
        at += 1
    return min(passes, MOST_PASSES)


def _return_to(bars: tuple[Bar, ...], start: int, last: Bar) -> int:
    first = bars[start]
    room = last.meter.length - last.length
    skip = start == 0 and first.is_pickup and not first.opens_repeat and len(bars) > 1
    return 1 if skip and first.length > room else start


def order_in_words(score: Score, order: tuple[int, ...]) -> str:
    """How the bars are played where they are not simply played through; "" where they are.

    >>> from dataclasses import replace
    >>> a, b, c = (Bar.of("2/4", "1/2", n) for n in (1, 2, 3))
    >>> twice = Score(bars=(a, replace(b, endings=(1,), repeats=2), replace(c, endings=(2,))))
    >>> order_in_words(twice, unfold(twice))
    'Played in this order: 1 to 2, 1, 3.'
    """
    numbers = [bar.number for bar in score.bars]
    if list(order) == numbers:
        return ""
    place = {number: at for at, number in enumerate(numbers)}
    runs: list[list[int]] = []
    for number in order:
        if runs and place[number] == place[runs[-1][-1]] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    said = ", ".join(f"{_said(run[0])} to {run[-1]}" if len(run) > 1 else _said(run[0]) for run in runs)
    return f"Played in this order: {said}."


def _said(number: int) -> str:
    return str(number) if number else "the pickup"

"""Whether each bar of a piece adds up to its meter."""

from collections.abc import Mapping

from pieces.music.score import Bar, Problem


def bars_that_do_not_add_up(bars: list[Bar], lines: Mapping[int, tuple[int, int]]) -> list[Problem]:
    """A warning for each bar that is shorter or longer than its meter.

    ``lines`` gives (line, column) by bar number. A pickup, a last bar that lacks what
    the pickup has, and two parts of one bar on either side of a repeat sign are in order.
    """
    return [
        _problem(bar, *lines.get(bar.number, (0, 0)))
        for index, bar in enumerate(bars)
        if bar.length != bar.meter.length and not _excused(bars, index)
    ]


def _excused(bars: list[Bar], index: int) -> bool:
    bar, pickup = bars[index], bars[0]
    if bar.is_pickup:
        return bar.length < bar.meter.length
    ends_a_part = bar.repeats or index == len(bars) - 1
    if ends_a_part and pickup.is_pickup and bar.length + pickup.length == bar.meter.length:
        return True
    halves = [(bar, bars[index + 1])] if index + 1 < len(bars) else []
    halves += [(bars[index - 1], bar)] if index else []
    return any(
        (first.repeats or second.opens_repeat) and first.length + second.length == bar.meter.length
        for first, second in halves
    )


def _problem(bar: Bar, line: int, column: int) -> Problem:
    beats = bar.length * bar.meter.unit
    counted = f"{beats.numerator}" if beats.denominator == 1 else f"{float(beats):.3g}"
    short = bar.length < bar.meter.length
    amount = "short" if short else "long"
    message = f"This bar is {amount}: it has {counted} of the {bar.meter.beats} counts of {bar.meter}."
    whole = -(-beats.numerator // beats.denominator)
    remedy = (
        "If the last note is held, count on in brackets: 1 2 3 (4)."
        if short
        else f"Take counts out, or write the new meter over it, as {whole}/{bar.meter.unit}."
    )
    return Problem(message, remedy, line, column, bar.number, fatal=False)

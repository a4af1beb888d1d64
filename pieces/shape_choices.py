"""The page of a piece's shapes: what was found for each chord, and what a teacher may take instead."""

from pieces.engraving.diagram import diagram
from pieces.models import Arrangement, Override
from pieces.music.alternatives import Alternative, alternatives
from pieces.music.findings import Workup
from pieces.music.shapes import Shape
from pieces.music.words import listed
from pieces.showing import shapes_by_symbol
from pieces.workup import decide, undecide

KINDS = {
    "fingers": "Other fingers",
    "place": "Elsewhere on the neck",
    "easier": "Easier, and it sounds different",
}
AS_FOUND = ""


def shapes_page(arrangement: Arrangement, workup: Workup, *, left_handed=False) -> dict:
    """Everything the page shows: for each symbol, what holds now and the choices."""
    return {
        "arrangement": arrangement,
        "movements": [(value, word, arrangement.movement == value) for value, word in Arrangement.MOVEMENTS],
        "left_handed": left_handed,
        "chords": chord_choices(arrangement, workup, left_handed=left_handed),
    }


def chord_choices(
    arrangement: Arrangement, workup: Workup, bar: int | None = None, *, left_handed=False
) -> list[dict]:
    """The chords of the piece, or of one bar, each with what holds now and the choices."""
    own = _own(arrangement)
    here = {hold.symbol for hold in workup.holds if bar is None or hold.bar == bar}
    return [
        _chord(workup, symbol, shape, f"shape:{symbol}" in own, left_handed)
        for symbol, shape in shapes_by_symbol(workup).items()
        if symbol in here
    ]


def keep_choices(arrangement: Arrangement, workup: Workup, chosen: dict[str, str], *, by) -> list[str]:
    """Keep what was chosen by symbol, or go back to what is found; returns the symbols that changed.

    A choice that is not offered for its symbol is passed over.
    """
    own, changed = _own(arrangement), []
    for symbol, shape in shapes_by_symbol(workup).items():
        key, answer = f"shape:{symbol}", chosen.get(symbol)
        offered = {value_of(way.shape): way.shape for way in alternatives(workup.score, symbol, shape)}
        if answer == AS_FOUND and key in own:
            undecide(arrangement, key)
            changed.append(symbol)
        elif answer in offered:
            way = offered[answer]
            decide(arrangement, key, {"frets": list(way.frets), "fingers": list(way.fingers)}, by=by)
            changed.append(symbol)
    return changed


def value_of(shape: Shape) -> str:
    """Frets and fingers in one word, for a form: ``0003:0003``."""
    return f"{shape.written}:{''.join('x' if finger is None else str(finger) for finger in shape.fingers)}"


def _own(arrangement: Arrangement) -> set[str]:
    rows = Override.objects.filter(arrangement=arrangement, key__startswith="shape:")
    return set(rows.values_list("key", flat=True))


def _chord(workup: Workup, symbol: str, shape: Shape, is_own: bool, left_handed: bool) -> dict:
    ways = alternatives(workup.score, symbol, shape)
    bars = sorted({hold.bar for hold in workup.holds if hold.symbol == symbol})
    return {
        "symbol": symbol,
        "anchor": f"shape-{symbol}",
        "own": is_own,
        "now": {
            "value": value_of(shape) if is_own else AS_FOUND,
            "drawing": diagram(shape, left_handed=left_handed),
            "text": " ".join(shape.reasons[:2]),
            "written": shape.written,
        },
        "where": _bars(bars),
        "groups": [
            (words, [_way(way, bars, left_handed) for way in ways if way.kind == kind])
            for kind, words in KINDS.items()
            if any(way.kind == kind for way in ways)
        ],
    }


def _way(way: Alternative, bars: list[int], left_handed: bool) -> dict:
    some = (
        f"Only in {_bars(way.bars)}: elsewhere other frets are written." if set(way.bars) < set(bars) else ""
    )
    return {
        "value": value_of(way.shape),
        "drawing": diagram(way.shape, left_handed=left_handed),
        "text": f"{way.text} {some}".strip(),
        "written": way.shape.written,
    }


def _bars(numbers) -> str:
    return f"bar{'s' if len(numbers) > 1 else ''} {listed(numbers)}"

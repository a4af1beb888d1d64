"""One bar set out in columns: what stands over and under what.

A ``Slot`` is one column: a moment of the bar, or a grace note before it. Each of
its texts has signs before the column and a body that starts on it, so that a
bracket or an ``h`` never moves a fret away from its count.
"""

from collections.abc import Hashable
from dataclasses import dataclass, field
from fractions import Fraction

from pieces.music.score import Bar, Event, Meter, Note
from pieces.music.tab.cells import cell_text
from pieces.music.tab.counts import spell, written_unit
from pieces.music.tab.events import usual_tuplet
from pieces.music.tab.lines import plain_text
from pieces.music.tab.marks import ELISION
from pieces.music.tuning import Tuning

COLUMNS_A_WHOLE = 16

Row = Hashable


@dataclass
class Slot:
    """One column of a bar; ``texts`` gives by row the signs before the column and the body on it."""

    place: Fraction | None
    texts: dict[Row, tuple[str, str]] = field(default_factory=dict)


@dataclass
class DrawnBar:
    """A bar between its barlines: by row the (column, text) in it, and how wide it is."""

    width: int = 0
    rows: dict[Row, list[tuple[int, str]]] = field(default_factory=dict)
    opens_repeat: bool = False
    closes_repeat: bool = False


def string_row(string: int) -> Row:
    return "string", string


def chord_row(number: int) -> Row:
    return "chords", number


def draw_bar(bar: Bar, meter_before: Meter, tuning: Tuning, frets: dict[int, int]) -> DrawnBar:
    """Set ``bar`` out in columns. ``frets`` are those last played by string; they are moved on."""
    drawn = DrawnBar(opens_repeat=bar.opens_repeat, closes_repeat=bool(bar.repeats))
    marks = _bar_marks(bar, meter_before)
    if marks:
        drawn.rows["marks"] = [(0, marks)]
    end = _set_columns(drawn, _slots(bar, tuning, frets), first=1 + bar.opens_repeat)
    drawn.width = max(end, len(marks)) + bool(bar.repeats)
    return drawn


def _bar_marks(bar: Bar, meter_before: Meter) -> str:
    marks = []
    if bar.letter:
        marks.append(f"[{plain_text(bar.letter)}]")
    if bar.key:
        marks.append(f"(key {plain_text(bar.key)})")
    if bar.meter != meter_before:
        marks.append(str(bar.meter))
    if bar.endings:
        marks.append("".join(f"{number}." for number in bar.endings))
    if bar.repeats not in (0, 2):
        marks.append(f"{bar.repeats}x")
    return " ".join(marks)


def _set_columns(drawn: DrawnBar, slots: list[Slot], first: int) -> int:
    """Give each slot its column and return how wide the bar is.

    A slot stands as far from the one before as its time asks, and farther where its
    texts need room. The last slot is the end of the bar, which is where the first
    column of the next bar will stand: two columns are left for the barline and a dash.
    """
    free: dict[Row, int] = {}
    column, placed_at = first, None
    for slot in slots:
        if slot.place is not None and placed_at is not None:
            before, since = placed_at
            column = max(column, since + round((slot.place - before) * COLUMNS_A_WHOLE))
        for row, (signs, _) in slot.texts.items():
            column = max(column, free.get(row, first - 1) + len(signs))
        for row, (signs, body) in slot.texts.items():
            drawn.rows.setdefault(row, []).append((column - len(signs), signs + body))
            free[row] = column + len(body) + 1
        if slot.place is not None:
            placed_at = slot.place, column
        column += 1
    return max([column - 3, first, *(end - (row[0] != "string") for row, end in free.items())])


def _slots(bar: Bar, tuning: Tuning, frets: dict[int, int]) -> list[Slot]:
    """The columns of a bar in order, the last one bare: it only keeps the room of the last moment."""
    start = pickup_start(bar)
    end = start + bar.length
    unit = written_unit(bar.meter, start, end)
    events = {start + event.onset: event for event in bar.events}
    chords = _chords(bar, start)
    beats = {n * unit for n in range(-(start // -unit), -(end // -unit))}
    places = sorted(beats | set(events) | set(chords))
    stops = end % unit != 0 or not bar.length
    words = spell([*places, end] if stops and places != [end] else places or [end], bar.meter, unit)
    slots, sounding = [], None
    for place, word in zip(places, words, strict=False):
        event = events.get(place)
        sounding = event or sounding
        if event:
            slots += _grace_slots(event, tuning, frets)
        slot = Slot(place)
        slot.texts["count"] = _count(word, event, sounding)
        for number, symbol in enumerate(chords.get(place, ())):
            slot.texts[chord_row(number)] = ("", symbol)
        if event:
            slot.texts |= _event_texts(event, tuning, frets)
        slots.append(slot)
    if not bar.length:
        slots = slots or [Slot(start)]
        slots[-1].texts["count"] = ("", words[-1] + ".")
    elif stops:
        slots.append(Slot(end, {"count": ("", words[-1] + ".")}))
    else:
        slots.append(Slot(end))
    return slots


def pickup_start(bar: Bar) -> Fraction:
    """How far into a full bar ``bar`` begins: a pickup ends with the barline."""
    short = bar.is_pickup and 0 < bar.length < bar.meter.length
    return bar.meter.length - bar.length if short else Fraction(0)


def _chords(bar: Bar, start: Fraction) -> dict[Fraction, list[str]]:
    chords: dict[Fraction, list[str]] = {}
    for onset, symbol in bar.chords:
        chords.setdefault(start + onset, []).append(symbol)
    return chords


def _count(word: str, event: Event | None, sounding: Event | None) -> tuple[str, str]:
    if sounding is None or sounding.is_rest:
        return "[", f"{word}]"
    return ("", word) if event and event.struck else ("(", f"{word})")


def _grace_slots(event: Event, tuning: Tuning, frets: dict[int, int]) -> list[Slot]:
    return [Slot(None, _note_texts((note,), tuning, frets, grace=True)) for note in event.grace]


def _event_texts(event: Event, tuning: Tuning, frets: dict[int, int]) -> dict[Row, tuple[str, str]]:
    texts = _note_texts(event.notes, tuning, frets)
    if event.is_rest:
        texts[string_row((len(tuning.strings) + 1) // 2)] = ("", "r")
    if event.accent:
        texts["accent"] = ("", ">")
    if event.stroke:
        texts["strum"] = ("", event.stroke[0].upper())
    if event.tuplet != usual_tuplet(event.duration):
        actual, normal = event.tuplet or (1, 1)
        texts["tuplet"] = ("", f"{actual}:{normal}")
    if event.lyric:
        texts["words"] = ("", ELISION.join(plain_text(event.lyric).split()))
    return texts


def _note_texts(notes: tuple[Note, ...], tuning: Tuning, frets: dict[int, int], *, grace=False):
    texts = {}
    for note in notes:
        texts[string_row(note.string)] = cell_text(
            note, tuning, grace=grace, fret_before=frets.get(note.string)
        )
        if note.fret is not None:
            frets[note.string] = note.fret
    if any(note.pick for note in notes):
        texts["pick"] = ("", "".join(note.pick or "." for note in notes))
    if any(note.finger for note in notes):
        texts["left"] = ("", "".join(str(note.finger or ".") for note in notes))
    return texts

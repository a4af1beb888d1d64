"""Editing bars one by one: what the bar editor is given, and what it sends back.

An edit holds whole bars, so that sending it twice is the same as once. It says what
its bars were before, and where somebody else has changed them meanwhile nothing is
overwritten: ``ChangedMeanwhile`` says which.
"""

import json
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from fractions import Fraction
from hashlib import sha256

from django.db import transaction

from pieces.models import Arrangement, Override, Revision
from pieces.music.counting import Syllables, begins_at, count_unit
from pieces.music.decisions import Decisions
from pieces.music.grid import Column, bar_of, columns_of
from pieces.music.score import Bar, ChordMark, Event, Note, Score
from pieces.music.stored import event_from, to_data
from pieces.music.tab.cells import MOST_FRETS
from pieces.music.tuning import Tuning

SITTING = timedelta(minutes=30)  # edits with no longer pause between them are one sitting
MOST_COLUMNS = 128
LONGEST_SYMBOL = 24
_TIME = re.compile(r"\d{1,7}(/\d{1,7})?")  # Fraction itself would also work out 1e999999999


class UnusableEdit(ValueError):
    """An edit that cannot be a bar; the text says why."""


class ChangedMeanwhile(Exception):
    """Bars of an edit that are no longer what its sender knew; ``numbers`` names them."""

    def __init__(self, numbers):
        self.numbers: list[int] = list(numbers)
        super().__init__(f"changed meanwhile: {self.numbers}")


@dataclass(frozen=True)
class Edit:
    """New columns, and chord marks or None to leave them, of one bar.

    ``known`` is the digest of the bar as its sender knew it.
    """

    columns: tuple[Column, ...]
    chords: tuple[ChordMark, ...] | None
    known: str


def digest_of(bar: Bar) -> str:
    """A short word that differs as soon as anything in the bar does."""
    return sha256(json.dumps(to_data(bar), sort_keys=True).encode()).hexdigest()[:16]


def bar_data(bar: Bar, syllables: Syllables, chords=None) -> dict:
    """A bar for the editor. Times are written ``"1/4"``, an event that goes on is None."""
    marks = bar.chords if chords is None else chords
    return {
        "meter": str(bar.meter),
        "unit": str(count_unit(bar.meter, syllables)),
        "begins": str(begins_at(bar)),
        "chords": to_data(tuple(marks)),
        "known": digest_of(bar),
        "columns": [
            {"length": str(column.length), "event": to_data(column.event)}
            for column in columns_of(bar, syllables)
        ],
    }


def bars_data(arrangement: Arrangement, bars: Iterable[Bar], syllables: Syllables) -> dict:
    """Bars by number, with the chords that the teacher decided."""
    decided = _decided_chords(arrangement)
    return {bar.number: bar_data(bar, syllables, decided.get(bar.number)) for bar in bars}


def read_edits(data, tuning: Tuning) -> dict[int, Edit]:
    """What the editor sent: ``{"3": {"columns": [...], "chords": [...], "known": "..."}}``.

    Raises ``UnusableEdit`` on anything that is no bar.
    """
    try:
        return {int(number): _edit(entry, tuning) for number, entry in data.items()}
    except UnusableEdit:
        raise
    except (AttributeError, KeyError, TypeError, ValueError, ZeroDivisionError):
        raise UnusableEdit("This is no bar. Load the page again.") from None


def keep_bars(
    arrangement: Arrangement,
    edits: Mapping[int, Edit],
    *,
    by,
    at: datetime,
    in_use: Callable[[Revision], bool],
) -> Arrangement:
    """Store edited bars. The same bars make no revision; one sitting makes one.

    A revision that is ``in_use``, that somebody else made, or that was finished, is left
    as it is and the next is made. Raises ``ChangedMeanwhile`` or ``UnusableEdit``.
    """
    with transaction.atomic():
        arrangement = Arrangement.objects.select_for_update(of=("self",)).with_piece().get(pk=arrangement.pk)
        score, decided = arrangement.to_score(), _decided_chords(arrangement)
        new = {number: _edited(score, number, edit, decided) for number, edit in edits.items()}
        old = {number: score.bar(number) for number in new}
        if changed := [
            number
            for number, edit in edits.items()
            if edit.known != digest_of(old[number]) and new[number] != old[number]
        ]:
            raise ChangedMeanwhile(changed)
        _forget_decisions(arrangement, old, new, edits, decided)
        if new == old:
            return arrangement
        bars = tuple(new.get(bar.number, bar) for bar in score.bars)
        return _next_revision(arrangement, replace(score, bars=bars), by=by, at=at, in_use=in_use)


def finish_sitting(arrangement: Arrangement) -> None:
    """What was edited is done: the next edit makes a new revision."""
    Revision.objects.filter(pk=arrangement.current_id).update(sitting=None)


def is_settled(revision: Revision, now: datetime) -> bool:
    """Whether nobody is editing a revision any more."""
    return revision.sitting is None or now - revision.sitting > SITTING


def _next_revision(arrangement, score: Score, *, by, at, in_use) -> Arrangement:
    """A revision is a row that never changes: within a sitting the last one is replaced."""
    last = arrangement.current
    replaced = last.by_id == by.pk and not is_settled(last, at) and not in_use(last)
    number = last.number if replaced else last.number + 1
    if replaced:
        Arrangement.objects.filter(pk=arrangement.pk).update(current=None)
        last.delete()
    arrangement.current = Revision.objects.create(
        studio_id=arrangement.studio_id,
        arrangement=arrangement,
        number=number,
        score=to_data(score),
        by=by,
        made=at,
        sitting=at,
    )
    arrangement.save(update_fields=["current"])
    return arrangement


def _edited(score: Score, number: int, edit: Edit, decided) -> Bar:
    try:
        bar = score.bar(number)
    except KeyError:
        raise UnusableEdit(f"There is no bar {number} any more.") from None
    if sum(column.length for column in edit.columns) != (bar.length or bar.meter.length):
        raise UnusableEdit(f"Bar {number} would not keep its length.")
    chords = bar.chords
    if edit.chords is not None and edit.chords != decided.get(number, bar.chords):
        chords = edit.chords
    try:
        return bar_of(replace(bar, chords=chords), edit.columns)
    except ValueError as error:
        raise UnusableEdit(str(error)) from None


def _forget_decisions(arrangement, old, new, edits, decided) -> None:
    """Decisions about what is no longer there: fingers and picking of changed events, chords replaced."""
    gone = [
        f"chords:{number}"
        for number, edit in edits.items()
        if edit.chords is not None and edit.chords != decided.get(number, edit.chords)
    ]
    for row in Override.objects.filter(arrangement=arrangement):
        kind, _, place = row.key.partition(":")
        if kind in ("finger", "pick"):
            number, at = (int(part) for part in place.split(".")[:2])
            if number in new and not _same_event(old[number], new[number], at):
                gone.append(row.key)
    Override.objects.filter(arrangement=arrangement, key__in=gone).delete()


def _same_event(before: Bar, after: Bar, at: int) -> bool:
    pairs = [bar.events[at] if at < len(bar.events) else None for bar in (before, after)]
    return None not in pairs and (pairs[0].onset, pairs[0].notes) == (pairs[1].onset, pairs[1].notes)


def _decided_chords(arrangement: Arrangement) -> dict[int, tuple[ChordMark, ...]]:
    rows = Override.objects.filter(arrangement=arrangement, key__startswith="chords:")
    return dict(Decisions.of(dict(rows.values_list("key", "value"))).chords)


def _edit(entry: dict, tuning: Tuning) -> Edit:
    columns = tuple(_column(data, tuning) for data in entry["columns"])
    if not 1 <= len(columns) <= MOST_COLUMNS:
        raise UnusableEdit("A bar has between 1 and 128 columns.")
    chords = entry.get("chords")
    return Edit(columns, None if chords is None else _chords(chords), str(entry["known"]))


def _column(data: dict, tuning: Tuning) -> Column:
    length = _time(data["length"])
    if not 0 < length <= 8:
        raise UnusableEdit("A column lasts some time, and no longer than eight whole notes.")
    return Column(length, None if data["event"] is None else _event(data["event"], length, tuning))


def _chords(data) -> tuple[ChordMark, ...]:
    """Chord marks as sent. They are copied from bar to bar, so what was written once may stand again."""
    marks = tuple(ChordMark(_time(onset), symbol) for onset, symbol in data)
    if not all(isinstance(mark.symbol, str) and 0 < len(mark.symbol) <= LONGEST_SYMBOL for mark in marks):
        raise UnusableEdit("A chord symbol is short, as in C, F#m or Bb7.")
    return tuple(sorted(marks))


def _event(data: dict, length: Fraction, tuning: Tuning) -> Event:
    """An event as sent, each value looked at. A new one gets the length of its column."""
    strung = {
        name: [_timed({"pitch": None, **note}, "length") for note in data.get(name, ())]
        for name in ("notes", "grace")
    }
    event = event_from({**_timed({"duration": "0", **data}, "duration"), "onset": "0", **strung})
    fits = (
        event.stroke in ("", "down", "up")
        and isinstance(event.accent, bool)
        and isinstance(event.lyric, str)
        and len(event.lyric) <= 60
        and len(event.grace) <= 8
        and (event.tuplet is None or all(type(n) is int and 1 <= n <= 16 for n in event.tuplet))
        and 0 <= event.duration <= 8
    )
    if not fits:
        raise UnusableEdit("This is no bar. Load the page again.")
    notes = tuple(sorted((_note(note, tuning) for note in event.notes), key=lambda note: -note.string))
    if len({note.string for note in notes}) < len(notes):
        raise UnusableEdit("One string cannot sound two notes at once.")
    return replace(event, notes=notes, grace=tuple(_note(note, tuning) for note in event.grace))


def _time(text) -> Fraction:
    if not _TIME.fullmatch(str(text)):
        raise UnusableEdit("A time is written as a part of a whole note, such as 3/8.")
    return Fraction(str(text))


def _timed(data: dict, name: str) -> dict:
    """``data`` whose time under ``name``, if it has one, can be worked out."""
    return {**data, name: str(_time(data[name]))} if data.get(name) is not None else data


def _note(note: Note, tuning: Tuning) -> Note:
    """A note with the pitch that its place sounds; a harmonic keeps its own."""
    if type(note.string) is not int or note.string not in tuning.strings:
        raise UnusableEdit(f"{tuning.name} has strings 1 to {len(tuning.open_pitches)}.")
    if note.fret is None and note.muted:
        return replace(note, pitch=None)
    if type(note.fret) is not int or not 0 <= note.fret <= MOST_FRETS:
        raise UnusableEdit(f"Frets run from 0 to {MOST_FRETS}.")
    fits = (
        note.finger in (None, 1, 2, 3, 4)
        and note.pick in ("", "p", "i", "m", "a")
        and note.join in ("", "hammer", "pull", "slide")
        and all(isinstance(value, bool) for value in (note.tied, note.muted, note.harmonic))
        and (note.length is None or 0 < note.length <= 64)
    )
    if not fits:
        raise UnusableEdit("This is no bar. Load the page again.")
    if note.harmonic and type(note.pitch) is int and 0 <= note.pitch <= 127:
        return note
    return replace(note, pitch=None if note.muted else tuning.pitch(note.string, note.fret))

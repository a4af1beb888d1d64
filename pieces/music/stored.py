"""A score as plain data for JSON and back, without loss.

Fractions are written ``"3/8"``; what stands at its default is left out, so that a
stored bar stays readable.
"""

from dataclasses import MISSING, fields
from fractions import Fraction

from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.tuning import Tuning


def to_data(value):
    """Plain data of a score, bar, event or note.

    >>> to_data(Event(Fraction(0), Fraction(1, 4), (Note(69, 1, 0),)))
    {'onset': '0', 'duration': '1/4', 'notes': [{'pitch': 69, 'string': 1, 'fret': 0}]}
    """
    if isinstance(value, Meter):
        return str(value)
    if isinstance(value, Fraction):
        return str(value)
    if isinstance(value, ChordMark):
        return [str(value.onset), value.symbol]
    if isinstance(value, tuple):
        return [to_data(item) for item in value]
    if hasattr(value, "__dataclass_fields__"):
        return {
            f.name: to_data(getattr(value, f.name))
            for f in fields(value)
            if f.default is MISSING or getattr(value, f.name) != f.default
        }
    return value


def note_from(data: dict) -> Note:
    """The note that ``to_data`` wrote."""
    return Note(**{**data, **_fractions(data, "length")})


def event_from(data: dict) -> Event:
    """The event that ``to_data`` wrote."""
    more = dict(data)
    for name in ("notes", "grace"):
        if name in more:
            more[name] = tuple(note_from(note) for note in more[name])
    if more.get("tuplet"):
        more["tuplet"] = tuple(more["tuplet"])
    return Event(**{**more, **_fractions(data, "onset", "duration")})


def bar_from(data: dict) -> Bar:
    """The bar that ``to_data`` wrote."""
    more = dict(data)
    more["meter"] = Meter.parse(data["meter"])
    more["events"] = tuple(event_from(event) for event in data["events"])
    if "chords" in more:
        more["chords"] = tuple(ChordMark(Fraction(onset), symbol) for onset, symbol in more["chords"])
    if "endings" in more:
        more["endings"] = tuple(more["endings"])
    return Bar(**more)


def score_from(data: dict) -> Score:
    """The score that ``to_data`` wrote. Raises KeyError, TypeError or ValueError on other data."""
    more = dict(data)
    if "tuning" in more:
        tuning = dict(more["tuning"])
        more["tuning"] = Tuning(**{**tuning, "open_pitches": tuple(tuning["open_pitches"])})
    if "meter" in more:
        more["meter"] = Meter.parse(more["meter"])
    more["bars"] = tuple(bar_from(bar) for bar in more.get("bars", ()))
    if "remarks" in more:
        more["remarks"] = tuple(more["remarks"])
    return Score(**more)


def _fractions(data: dict, *names: str) -> dict:
    return {name: Fraction(data[name]) for name in names if data.get(name) is not None}

"""What a teacher decided in place of what was found, by the finding's key.

Keys name one finding each: ``chords:3`` (bar 3), ``shape:F``, ``finger:3.1.2``
(bar 3, its event 1, string 2), ``pick:3.1`` (bar 3, event 1), ``sections``,
``difficulty:3``, ``own:5`` (bar 5 is not the same as an earlier bar). A value of
None says only that the finding was looked at and is right.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from pieces.music.chords import parse_chord
from pieces.music.score import Bar, ChordMark, Event, Score
from pieces.music.shapes import Shape, shape_of, with_fingers


@dataclass(frozen=True, slots=True)
class Decisions:
    """Overrides by kind. Events count from 0 within their bar."""

    chords: Mapping[int, tuple[ChordMark, ...]] = field(default_factory=dict)
    shapes: Mapping[str, tuple[tuple[int | None, ...], tuple[int | None, ...] | None]] = field(
        default_factory=dict
    )
    fingers: Mapping[tuple[int, int, int], int] = field(default_factory=dict)
    picks: Mapping[tuple[int, int], str] = field(default_factory=dict)
    sections: tuple[tuple[int, str], ...] = ()
    difficulty: Mapping[int, float] = field(default_factory=dict)
    own: frozenset[int] = frozenset()
    confirmed: frozenset[str] = frozenset()

    @classmethod
    def of(cls, rows: Mapping[str, object]) -> "Decisions":
        """Read stored overrides. Raises ValueError on a key or value that none can have.

        >>> Decisions.of({"difficulty:3": 4.5, "finger:3.1.2": 4}).fingers
        {(3, 1, 2): 4}
        """
        kinds: dict[str, dict] = {name: {} for name in ("chords", "shape", "finger", "pick", "difficulty")}
        sections: tuple = ()
        own = set()
        for key, value in rows.items():
            if value is None:
                continue
            kind, _, place = key.partition(":")
            if kind == "sections":
                sections = tuple((int(bar), str(letter)) for bar, letter in value)
            elif kind == "own":
                own.add(int(place))
            elif kind in kinds:
                at, read = READERS[kind](place, value)
                kinds[kind][at] = read
            else:
                raise ValueError(f"There is no finding {key!r}.")
        return cls(
            kinds["chords"],
            kinds["shape"],
            kinds["finger"],
            kinds["pick"],
            sections,
            kinds["difficulty"],
            frozenset(own),
            frozenset(rows),
        )

    def applied_to(self, score: Score, classes: Mapping[int, int]) -> Score:
        """``score`` with the teacher's chords, fingers and picking written in.

        ``classes`` gives for a bar the first that is played like it: what was decided
        there holds here too, unless this bar has a decision of its own.
        """
        return replace(
            score, bars=tuple(self._apply(bar, classes.get(bar.number, bar.number)) for bar in score.bars)
        )

    def chosen_shapes(self, score: Score) -> dict[str, Shape]:
        """The teacher's own shapes by symbol, where a hand can play them on this tuning."""
        shapes = {}
        for symbol, (frets, fingers) in self.shapes.items():
            if len(frets) == len(score.tuning.open_pitches):
                shape = shape_of(symbol, frets, score.tuning)
                shapes[symbol] = with_fingers(shape, fingers) if fingers else shape
        return shapes

    @property
    def fingered_symbols(self) -> frozenset[str]:
        """The symbols whose shape has the teacher's own fingers, not only frets."""
        return frozenset(symbol for symbol, (_frets, fingers) in self.shapes.items() if fingers)

    def _apply(self, bar: Bar, like: int) -> Bar:
        numbers = (bar.number, like)
        events = tuple(self._apply_to_event(numbers, at, event) for at, event in enumerate(bar.events))
        return replace(bar, events=events, chords=self.chords.get(bar.number, bar.chords))

    def _apply_to_event(self, numbers, at: int, event: Event) -> Event:
        letters = iter(_first(self.picks, [(number, at) for number in numbers]) or "")
        notes = tuple(
            replace(
                note,
                finger=_first(self.fingers, [(number, at, note.string) for number in numbers]) or note.finger,
                pick=next(letters, note.pick),
            )
            for note in event.notes
        )
        return replace(event, notes=notes)


def _first(decided: Mapping, keys):
    """The decision under the first of ``keys`` that has one."""
    return next((decided[key] for key in keys if key in decided), None)


def _read_chords(place, value):
    marks = tuple(ChordMark(Fraction(onset), str(symbol)) for onset, symbol in value)
    for mark in marks:
        parse_chord(mark.symbol)
    return int(place), marks


def _read_shape(place, value):
    fingers = value.get("fingers")
    return place, (tuple(value["frets"]), tuple(fingers) if fingers else None)


def _read_finger(place, value):
    bar, event, string = (int(part) for part in place.split("."))
    if value not in (1, 2, 3, 4):
        raise ValueError("A left-hand finger is 1, 2, 3 or 4.")
    return (bar, event, string), value


def _read_pick(place, value):
    bar, event = (int(part) for part in place.split("."))
    if not value or set(value) - set("pima"):
        raise ValueError("The picking hand's fingers are p, i, m and a.")
    return (bar, event), value


def _read_difficulty(place, value):
    number = float(value)
    if not 0 <= number <= 10:
        raise ValueError("Difficulty runs from 0 to 10.")
    return int(place), number


READERS = {
    "chords": _read_chords,
    "shape": _read_shape,
    "finger": _read_finger,
    "pick": _read_pick,
    "difficulty": _read_difficulty,
}

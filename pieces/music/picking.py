"""Which finger of the picking hand plays what, and why.

Fingers are p, i, m and a: thumb, index, middle, ring, the open names of the
trade. Three manners are known, ``STYLES``. A run of single notes gets its fingers
by the cheapest path: each finger keeps to its own string where it can, none
strikes twice in a row at speed, and none crosses over another. More notes than
there are fingers are strummed. (Common practice, no source.)
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

from pieces.music.score import Bar, Event, Stroke
from pieces.music.tuning import Tuning
from pieces.music.words import listed

STYLES = ("thumb", "thumb and two", "thumb and three")
FINGERS = {"thumb": "p", "thumb and two": "pim", "thumb and three": "pima"}
FINGER_NAMES = {"p": "the thumb", "i": "index", "m": "middle", "a": "ring"}

DEFAULT_TEMPO = 80
# One finger repeats without strain about three times a second (common practice, no source).
REPEAT_SECONDS = 0.34

AWAY_FROM_HOME = 0.4  # a finger, for each place in the hand that it leaves its own string
THUMB_AWAY = 0.3  # more, where the thumb reaches over to a finger's string
REPEATED = 3.0  # the same finger twice in a row at speed
SWEPT = 0.2  # the thumb falling through to the next string: one motion, so nearly free
CROSSED = 10.0  # a finger reaching over its neighbour


@dataclass(frozen=True, slots=True)
class Picked:
    """How one moment is played by the picking hand.

    ``bar`` and ``event`` are places in the sequence of bars and in that bar, from 0.
    ``picks`` has a letter for each note of the event, "" for a held one. ``stroke``
    is "" where strings are plucked. ``strings`` are the first and last string struck,
    in the order the hand meets them. ``melody`` is the string that carries the tune,
    None where no tune stands out.
    """

    bar: int
    event: int
    picks: tuple[str, ...]
    stroke: Stroke
    strings: tuple[int, int]
    melody: int | None
    why: str


@dataclass(frozen=True, slots=True)
class _Moment:
    """A struck event, with the time since the start of the passage in seconds."""

    bar: int
    place: int
    event: Event
    seconds: float
    stroke: Stroke
    melody: int | None

    @property
    def strings(self) -> tuple[int, ...]:
        return tuple(note.string for note in self.event.struck)

    @property
    def written(self) -> tuple[str, ...]:
        return tuple(note.pick for note in self.event.struck)


def assign_picking(
    bars: Sequence[Bar], tuning: Tuning, style: str, *, tempo: int = DEFAULT_TEMPO
) -> tuple[Bar, ...]:
    """Return ``bars`` with the picking hand written in; what is written already stays.

    ``tempo`` is in beats of the first meter a minute. Strummed events get their
    direction, and an event whose highest note carries the tune is marked for accent.
    Raises ValueError on an unknown style, or on notes that have no string yet.

    >>> from pieces.music.score import Event, Meter, Note
    >>> from pieces.music.tuning import TUNINGS
    >>> uke = TUNINGS["ukulele high G"]
    >>> quarter = Fraction(1, 4)
    >>> strings = enumerate((4, 3, 2, 1))
    >>> events = tuple(Event(i * quarter, quarter, (Note.at(uke, s, 0),)) for i, s in strings)
    >>> picked = assign_picking([Bar(1, Meter(4, 4), events)], uke, "thumb and two")
    >>> "".join(event.notes[0].pick for event in picked[0].events)
    'ppim'
    """
    events = [list(bar.events) for bar in bars]
    for picked in plan_picking(bars, tuning, style, tempo=tempo):
        event = events[picked.bar][picked.event]
        notes = tuple(
            replace(note, pick=pick) if pick else note
            for note, pick in zip(event.notes, picked.picks, strict=True)
        )
        accent = event.accent or (picked.melody is not None and len(event.struck) > 1)
        events[picked.bar][picked.event] = replace(event, notes=notes, stroke=picked.stroke, accent=accent)
    return tuple(replace(bar, events=tuple(new)) for bar, new in zip(bars, events, strict=True))


def plan_picking(
    bars: Sequence[Bar], tuning: Tuning, style: str, *, tempo: int = DEFAULT_TEMPO
) -> list[Picked]:
    """Say for each struck moment of ``bars`` which fingers play it, and why.

    Arguments and errors are those of ``assign_picking``.
    """
    if style not in FINGERS:
        raise ValueError(f"{style!r} is no picking style; choose one of {', '.join(STYLES)}.")
    moments = _moments(bars, style, tempo)
    many = len(tuning.open_pitches)
    paths = _cheapest(moments, style, many)
    return [
        _picked(moment, fingers, moments[at - 1] if at else None, paths[at - 1] if at else (), style, many)
        for at, (moment, fingers) in enumerate(zip(moments, paths, strict=True))
    ]


def home_finger(string: int, style: str, strings: int) -> str:
    """The finger whose own string this is, on an instrument of ``strings`` strings.

    >>> [home_finger(string, "thumb and two", 4) for string in (4, 3, 2, 1)]
    ['p', 'p', 'i', 'm']
    >>> [home_finger(string, "thumb and three", 6) for string in (6, 4, 3, 2, 1)]
    ['p', 'p', 'i', 'm', 'a']
    """
    if style == "thumb":
        return "p"
    if style == "thumb and three":
        return {3: "i", 2: "m", 1: "a"}.get(string, "p")
    return {3: "i" if strings > 4 else "p", 2: "i", 1: "m"}.get(string, "p")


def crosses(before: Sequence[tuple[str, int]], after: Sequence[tuple[str, int]]) -> bool:
    """Whether a finger must reach over another between two moments of (finger, string).

    From one full handful to the next the hand moves as a whole, so nothing crosses.

    >>> crosses([("m", 2)], [("i", 1)]), crosses([("i", 2)], [("m", 1)])
    (True, False)
    """
    if len(before) > 1 and len(after) > 1:
        return False
    return any(
        (string - other) * ("pima".index(finger) - "pima".index(next_finger)) > 0
        for finger, string in before
        for next_finger, other in after
    )


# --- What is struck when -------------------------------------------------------------------


def _moments(bars: Sequence[Bar], style: str, tempo: int) -> list[_Moment]:
    moments, start = [], Fraction(0)
    for at, bar in enumerate(bars):
        beat = bars[0].meter.beat
        tune = _has_tune(bar)
        strummed = [event for event in bar.events if _is_strummed(event, style)]
        directions = _directions(bar, strummed)
        for place, event in enumerate(bar.events):
            if not event.struck:
                continue
            if any(note.string is None for note in event.struck):
                raise ValueError(f"Bar {bar.number} is not set on strings yet.")
            seconds = float((start + event.onset) / beat) * 60 / tempo
            melody = _melody_string(event) if tune else None
            moments.append(_Moment(at, place, event, seconds, directions.get(event.onset, ""), melody))
        start += bar.length
    return moments


def _is_strummed(event: Event, style: str) -> bool:
    """More notes than fingers are strummed; so is what is written so, or only muted."""
    struck = event.struck
    if len(struck) < 2:
        return bool(struck and event.stroke)
    return bool(event.stroke) or len(struck) > len(FINGERS[style]) or all(note.muted for note in struck)


def _directions(bar: Bar, strummed: Sequence[Event]) -> dict[Fraction, Stroke]:
    """The hand swings evenly: down on the pulse and up between, as fast as the bar needs."""
    beat = bar.meter.beat
    if bar.meter.compound:
        swing = beat / 3
    else:
        swings = (beat, beat / 2, beat / 4, beat / 3, beat / 8)
        swing = next((s for s in swings if all(e.onset % s == 0 for e in strummed)), beat / 2)
    return {e.onset: e.stroke or ("up" if (e.onset % beat) // swing % 2 else "down") for e in strummed}


def _has_tune(bar: Bar) -> bool:
    """A tune shows where single notes stand among the chords, or the top of the chords moves."""
    sounding = [[n.pitch for n in e.struck if n.pitch is not None] for e in bar.events]
    tops = {max(pitches) for pitches in sounding if pitches}
    return len(tops) > 1 or any(len(pitches) == 1 for pitches in sounding)


def _melody_string(event: Event) -> int | None:
    sounding = [note for note in event.notes if note.pitch is not None]
    top = max(sounding, key=lambda note: (note.pitch, -note.string), default=None)
    return None if top is None or top.tied else top.string


# --- The cheapest fingers ------------------------------------------------------------------


def _cheapest(moments: Sequence[_Moment], style: str, many: int) -> list[tuple[str, ...]]:
    """Fingers for each moment at the least total cost, by dynamic programming."""
    columns: list[dict[tuple[str, ...], tuple[float, tuple[str, ...] | None]]] = []
    for at, moment in enumerate(moments):
        column = {}
        for fingers in _options(moment, style, many):
            here = _own_cost(moment, fingers, style, many)
            if not columns:
                column[fingers] = (here, None)
                continue
            before = moments[at - 1]
            column[fingers] = min(
                (total + here + _between_cost(before, earlier, moment, fingers), earlier)
                for earlier, (total, _) in columns[-1].items()
            )
        columns.append(column)
    return _trace(columns)


def _trace(columns) -> list[tuple[str, ...]]:
    if not columns:
        return []
    path = [min(columns[-1], key=lambda fingers: (columns[-1][fingers][0], fingers))]
    for column in reversed(columns[1:]):
        path.append(column[path[-1]][1])
    return path[::-1]


def _options(moment: _Moment, style: str, many: int) -> list[tuple[str, ...]]:
    """The ways to finger a moment that keep what is written and the order of the hand."""
    written = moment.written
    if moment.stroke:
        # The thumb brushes down with its own weight; up goes to the index where there is one.
        finger = "i" if moment.stroke == "up" and style != "thumb" else "p"
        return [tuple(pick or finger for pick in written)]
    options = [
        fingers
        for fingers in combinations(FINGERS[style], len(written))
        if all(pick in ("", finger) for pick, finger in zip(written, fingers, strict=True))
    ]
    if options:
        return options
    own = (home_finger(string, style, many) for string in moment.strings)
    return [tuple(pick or finger for pick, finger in zip(written, own, strict=True))]


def _own_cost(moment: _Moment, fingers: tuple[str, ...], style: str, many: int) -> float:
    if moment.stroke:
        return 0.0
    cost = 0.0
    for finger, string in zip(fingers, moment.strings, strict=True):
        away = abs("pima".index(finger) - "pima".index(home_finger(string, style, many)))
        cost += AWAY_FROM_HOME * away + (THUMB_AWAY if away and finger == "p" else 0)
    return cost


def _between_cost(
    before: _Moment, earlier: tuple[str, ...], moment: _Moment, fingers: tuple[str, ...]
) -> float:
    if before.stroke or moment.stroke:
        return 0.0
    then, now = _pairs(before, earlier), _pairs(moment, fingers)
    cost = CROSSED if crosses(then, now) else 0.0
    if moment.seconds - before.seconds < REPEAT_SECONDS:
        cost += sum(SWEPT if _sweeps(then, now) else REPEATED for finger in fingers if finger in earlier)
    return cost


def _pairs(moment: _Moment, fingers: Sequence[str]) -> list[tuple[str, int]]:
    return list(zip(fingers, moment.strings, strict=True))


def _sweeps(then: Sequence[tuple[str, int]], now: Sequence[tuple[str, int]]) -> bool:
    """Whether the thumb falls through from one string to its neighbour nearer the floor."""
    return len(then) == len(now) == 1 and then[0][0] == now[0][0] == "p" and then[0][1] - now[0][1] == 1


# --- In words ------------------------------------------------------------------------------


def _picked(
    moment: _Moment,
    fingers: tuple[str, ...],
    before: _Moment | None,
    earlier: tuple[str, ...],
    style: str,
    many: int,
) -> Picked:
    given = iter(fingers)
    picks = tuple("" if note.tied else next(given) for note in moment.event.notes)
    ends = max(moment.strings), min(moment.strings)
    if moment.stroke:
        strings = ends if moment.stroke == "down" else ends[::-1]
        why = _why_strummed(moment, fingers, strings)
    else:
        strings = ends
        why = _why_plucked(moment, fingers, before, earlier, style, many)
    return Picked(moment.bar, moment.place, picks, moment.stroke, strings, moment.melody, why)


def _why_strummed(moment: _Moment, fingers: tuple[str, ...], strings: tuple[int, int]) -> str:
    first, last = strings
    hand = FINGER_NAMES[fingers[0]]
    if first == last:
        return f"Strum {moment.stroke} on string {first} with {hand}."
    text = f"Strum {moment.stroke} with {hand}, strings {first} to {last}"
    silent = sorted(set(range(min(strings), max(strings) + 1)) - set(moment.strings), reverse=True)
    if silent:
        text += f"; keep {_strings(silent)} from sounding"
    if moment.melody is None or len(moment.strings) < 2:
        return text + "."
    if moment.melody == last:
        return text + f"; string {last} has the tune, so let it ring last."
    if moment.melody == first:
        return text + f"; string {first} has the tune, so lean on the start."
    return text + f"; string {moment.melody} has the tune, so listen for it."


def _why_plucked(
    moment: _Moment,
    fingers: tuple[str, ...],
    before: _Moment | None,
    earlier: tuple[str, ...],
    style: str,
    many: int,
) -> str:
    if len(fingers) > 1:
        text = f"Pluck {_strings(moment.strings)} together with {listed(fingers)}"
        if moment.melody is None:
            return text + "."
        return text + f"; string {moment.melody} has the tune, so play it a little stronger."
    finger, string = fingers[0], moment.strings[0]
    if moment.written[0]:
        return f"{finger} on string {string}, as written."
    own = home_finger(string, style, many)
    if before and not before.stroke and moment.seconds - before.seconds < REPEAT_SECONDS:
        if _sweeps(_pairs(before, earlier), _pairs(moment, fingers)):
            return f"The thumb falls through to string {string} in one motion."
        if finger != own and own in earlier:
            return f"{finger} on string {string}: {own} has just played, and this is too fast to repeat it."
    if finger != own:
        return f"{finger} on string {string}, so that the fingers take turns and none crosses over."
    return f"{finger} on string {string}: its own string."


def _strings(strings: Sequence[int]) -> str:
    return f"string{'s' if len(strings) > 1 else ''} {listed(strings)}"

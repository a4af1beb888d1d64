"""Where each note of a piece lies best on the strings.

The place of each note is chosen by dynamic programming over positions of the left
hand (the method of Sayegh, Computer Music Journal 13(3), 1989): low frets, few
shifts, one note a string, no wider than the hand. The weights are common practice,
no source.
"""

from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from pieces.music.score import Event, Note, Score
from pieces.music.tuning import Tuning

HIGHEST_FRET = 15
REACH = 3  # frets the hand covers without a stretch, counted from the first finger
STRETCH = 4  # the widest it can open
FINGERS = 4

Place = tuple[tuple[int, int], ...]  # (string, fret) of each note of an event
Ringing = tuple[tuple[int, Fraction], ...]  # (string, until when it sounds)


class _Hand(NamedTuple):
    """A state of the search: where the first finger is, what is held, what rings on."""

    fret: int
    place: Place
    ringing: Ringing


def place_event(event: Event, place: Place | None, tuning: Tuning, highest: int) -> Event:
    """``event`` with its notes at ``place``, from the highest string number down."""
    if place is None:
        unset = tuple(n if _is_right(n, tuning) else replace(n, string=None, fret=None) for n in event.notes)
        return replace(event, notes=unset)
    spots = iter(place)
    notes = [n if n.pitch is None else _at(n, *next(spots)) for n in event.notes]
    notes.sort(key=lambda note: -(note.string or 0))
    grace = tuple(_grace_placed(note, place, tuning, highest) for note in event.grace)
    return replace(event, notes=tuple(notes), grace=grace)


def _at(note: Note, string: int, fret: int) -> Note:
    return note if (note.string, note.fret) == (string, fret) else replace(note, string=string, fret=fret)


def _grace_placed(note: Note, place: Place, tuning: Tuning, highest: int) -> Note:
    """A grace note on the string of the note it leads to where it can, else at its lowest place."""
    if note.pitch is None or _is_right(note, tuning):
        return note
    spots = [spot for (spot,) in places_of((note.pitch,), tuning, highest)]
    if not spots:
        return replace(note, string=None, fret=None)
    led_to = {string for string, _ in place}
    near = max((fret for _, fret in place), default=0)
    string, fret = min(spots, key=lambda s: (s[0] not in led_to, abs(s[1] - near), s[1]))
    return replace(note, string=string, fret=fret)


def _is_right(note: Note, tuning: Tuning) -> bool:
    if note.string is None or note.fret is None or note.string not in tuning.strings:
        return False
    return note.pitch is None or tuning.pitch(note.string, note.fret) == note.pitch


def _candidates(event: Event, tuning: Tuning, highest: int) -> list[Place]:
    """Every place for the sounding notes of ``event``, in the order of its notes."""
    notes = [note for note in event.notes if note.pitch is not None]
    order = sorted(range(len(notes)), key=lambda i: notes[i].pitch)
    places = []
    for ordered in places_of(tuple(notes[i].pitch for i in order), tuning, highest):
        place = [(0, 0)] * len(notes)
        for i, spot in zip(order, ordered, strict=True):
            place[i] = spot
        places.append(tuple(place))
    written = [((n.string, n.fret) if _is_right(n, tuning) else None) for n in notes]
    if all(written):
        return [tuple(written)]
    kept = [p for p in places if all(w is None or w == s for w, s in zip(written, p, strict=True))]
    return kept or places


@lru_cache(maxsize=4096)
def places_of(pitches: tuple[int, ...], tuning: Tuning, highest: int) -> tuple[Place, ...]:
    """Every way one hand can hold ``pitches``, each on a string of its own."""
    if len(pitches) > len(tuning.strings):
        return ()
    found: list[Place] = []

    def add(rest: tuple[int, ...], place: Place) -> None:
        if not rest:
            if _fingers_needed(place) <= FINGERS:
                found.append(place)
            return
        for string in tuning.strings:
            fret = tuning.fret(string, rest[0])
            if fret is None or fret > highest or any(string == used for used, _ in place):
                continue
            longer = (*place, (string, fret))
            if _span(longer) <= STRETCH:
                add(rest[1:], longer)

    add(pitches, ())
    return tuple(found)


def _stopped(place: Place) -> list[int]:
    return [fret for _, fret in place if fret > 0]


def _span(place: Place) -> int:
    frets = _stopped(place)
    return max(frets) - min(frets) if frets else 0


def _fingers_needed(place: Place) -> int:
    """Fingers that stop ``place``, where one may lie across its lowest fret."""
    frets = _stopped(place)
    if not frets:
        return 0
    lowest = min(frets)
    lowest_strings = [string for string, fret in place if fret == lowest]
    under = range(min(lowest_strings), max(lowest_strings) + 1)
    barred = all(fret > 0 for string, fret in place if string in under)
    return len(frets) - (len(lowest_strings) - 1 if barred else 0)


def _hand_frets(place: Place) -> range:
    """Frets where the first finger may stand to hold ``place``; empty where all is open."""
    frets = _stopped(place)
    if not frets:
        return range(0)
    return range(min(min(frets), max(1, max(frets) - REACH)), min(frets) + 1)


def _local_cost(hand: int, place: Place, drones: frozenset[int]) -> float:
    cost = 0.5 * (hand - 1)
    for string, fret in place:
        cost += 0.4 + 0.1 * fret if fret else 0.0
        if len(place) == 1 and string in drones:
            cost += 3.0
    return cost + 1.5 * max(0, _span(place) - REACH) + 0.4 * max(0, _fingers_needed(place) - 2)


def _shift_cost(before: int, after: int) -> float:
    return 0.0 if before == after else 1.0 + 0.4 * abs(before - after)


def _drones(tuning: Tuning) -> frozenset[int]:
    """Strings tuned above the next one, as the fourth of a high G ukulele: not for the tune."""
    return frozenset(s for s in tuning.strings if s > 1 and tuning.open_pitch(s) > tuning.open_pitch(s - 1))


def best_places(score: Score, tuning: Tuning, highest: int) -> list[Place | None]:
    """The cheapest place of each event of the piece in order; None for rests and what fits nowhere."""
    drones = _drones(tuning)
    columns: list[dict[_Hand, tuple[float, _Hand | None]]] = []
    column_of: list[int | None] = []
    states: dict[_Hand, float] = {_Hand(1, (), ()): 0.0}
    before: Event | None = None
    start = Fraction(0)
    for bar in score.bars:
        for event in bar.events:
            candidates = _candidates(event, tuning, highest) if event.notes else []
            if not candidates or not any(note.pitch is not None for note in event.notes):
                column_of.append(None)
                continue
            column = _step(states, candidates, event, before, start + event.onset, drones)
            columns.append(column)
            column_of.append(len(columns) - 1)
            states = {hand: cost for hand, (cost, _) in column.items()}
            before = event
        start += bar.length
    chosen = _trace(columns)
    return [None if i is None else chosen[i].place for i in column_of]


def _step(states, candidates, event, before, now, drones) -> dict[_Hand, tuple[float, _Hand | None]]:
    """The cheapest way into each state of ``event`` from the states before it."""
    cheapest: dict[tuple[int, Ringing], tuple[float, _Hand]] = {}
    for hand, cost in states.items():
        ringing = tuple((string, until) for string, until in hand.ringing if until > now)
        entry = (hand.fret, ringing)
        if entry not in cheapest or cost < cheapest[entry][0]:
            cheapest[entry] = (cost, hand)
    holds = any(note.tied for note in event.notes)
    sources = (
        [(cost, hand, hand.fret, hand.ringing) for hand, cost in states.items()]
        if holds
        else [(cost, hand, fret, ringing) for (fret, ringing), (cost, hand) in cheapest.items()]
    )
    column: dict[_Hand, tuple[float, _Hand | None]] = {}
    for place in candidates:
        positions = _hand_frets(place)
        for cost, source, fret, ringing in sources:
            through = cost + _clash_cost(place, event, before, source, ringing, now)
            for position in positions or (fret,):
                total = through + _shift_cost(fret, position) + _local_cost(position, place, drones)
                state = _Hand(position, place, _rings(event, place, ringing, now))
                if state not in column or total < column[state][0]:
                    column[state] = (total, source)
    return column


def _clash_cost(place, event, before, source, ringing, now) -> float:
    """What it costs to strike a string that still rings, or to move a note that is held."""
    sounding = [note for note in event.notes if note.pitch is not None]
    struck_strings = {s for note, (s, _) in zip(sounding, place, strict=True) if not note.tied}
    cost = 6.0 * sum(string in struck_strings and until > now for string, until in ringing)
    if before is None or not any(note.tied for note in sounding):
        return cost
    held = [note for note in before.notes if note.pitch is not None]
    was = {note.pitch: spot for note, spot in zip(held, source.place, strict=False)}
    moved = sum(
        note.tied and note.pitch in was and was[note.pitch] != spot
        for note, spot in zip(sounding, place, strict=True)
    )
    return cost + 50.0 * moved


def _rings(event: Event, place: Place, ringing: Ringing, now: Fraction) -> Ringing:
    sounding = [note for note in event.notes if note.pitch is not None]
    strings = {string for string, _ in place}
    still = [
        (string, until) for string, until in ringing if until > now + event.duration and string not in strings
    ]
    new = [
        (spot[0], now + note.length)
        for note, spot in zip(sounding, place, strict=True)
        if note.length is not None and note.length > event.duration
    ]
    return tuple(sorted(still + new))


def _trace(columns) -> list[_Hand]:
    if not columns:
        return []
    state = min(columns[-1], key=lambda s: columns[-1][s][0])
    chosen = [state]
    for column in reversed(columns[1:]):
        state = column[state][1]
        chosen.append(state)
    return chosen[::-1]

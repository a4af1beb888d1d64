"""The same piece set for another instrument: in the same key, or with the same shapes.

What must change is never hidden: every octave moved and every note left out is
told in words.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from pieces.music.keys import transpose_key, transpose_symbol
from pieces.music.places import HIGHEST_FRET, places_of
from pieces.music.score import Bar, Event, Note, Score
from pieces.music.setting import set_on_strings, transpose
from pieces.music.tuning import Tuning
from pieces.music.words import counted, listed

NEAR_THE_NUT = 7  # frets in which few learners are lost (common practice, no source)


class CannotMove(ValueError):
    """The piece cannot be set for this instrument in the way asked; the message says why."""


@dataclass(frozen=True, slots=True)
class Moved:
    """A piece set for another tuning. ``changes`` are sentences, empty where nothing changed."""

    score: Score
    changes: tuple[str, ...]


def set_for(score: Score, tuning: Tuning, keep: Literal["key", "shapes"] = "key") -> Moved:
    """Set ``score`` for ``tuning``, and say what changes.

    ``keep="key"`` keeps what sounds: the notes find new places, by octaves where they
    must or would else lie high up the neck, and what no hand can reach beneath the tune
    is left out. ``keep="shapes"``
    keeps every fret and finger, so the piece sounds in another key. Raises
    ``CannotMove`` where the tune does not fit, or the strings are tuned so that the
    same shapes would be other chords.

    >>> from pieces.music.score import Bar
    >>> from pieces.music.tuning import TUNINGS
    >>> tune = Score(key="C", bars=(Bar.of("4/4", "1"),))
    >>> set_for(tune, TUNINGS["baritone ukulele"], keep="shapes").changes
    ('The same frets sound five half steps lower, in G.',)
    """
    if keep == "shapes":
        return _keeping_shapes(score, tuning)
    if keep == "key":
        return _keeping_key(score, tuning)
    raise ValueError(f"{keep!r} is nothing to keep; choose 'key' or 'shapes'.")


# --- The same shapes -----------------------------------------------------------------------


def _keeping_shapes(score: Score, tuning: Tuning) -> Moved:
    if not score.is_set:
        raise CannotMove("The piece is not set on strings yet, so it has no shapes to keep.")
    steps = {s: tuning.open_pitch(s) - score.tuning.open_pitch(s) for s in _both(score.tuning, tuning)}
    used = {note.string for note in _notes(score)} & steps.keys()
    if len({steps[string] % 12 for string in used}) > 1:
        raise CannotMove(f"On {tuning.name} the same shapes would sound other chords. Keep the key instead.")
    lowest = min(used, default=1)
    step = steps[lowest]
    bars, thinner = [], []
    for bar in score.bars:
        kept = replace(bar, events=tuple(_same_frets(event, tuning) for event in bar.events))
        if sum(len(e.notes) for e in kept.events) < sum(len(e.notes) for e in bar.events):
            thinner.append(bar.number)
        bars.append(kept)
    key = transpose_key(score.key, step)
    bars = [_with_chords(bar, step, key) for bar in bars]
    moved = replace(score, tuning=tuning, key=key, bars=tuple(bars))
    return Moved(moved, tuple(_shape_changes(score, moved, steps, step, used, thinner)))


def _shape_changes(
    score: Score, moved: Score, steps: dict[int, int], step: int, used: set[int], thinner: list[int]
) -> Iterator[str]:
    if step:
        where = f", in {moved.key}" if moved.key and moved.key != score.key else ""
        way = "higher" if step > 0 else "lower"
        yield f"The same frets sound {counted(abs(step), 'half step')} {way}{where}."
    for string in sorted(used):
        octaves = (steps[string] - step) // 12
        if octaves:
            amount = "an octave" if abs(octaves) == 1 else counted(abs(octaves), "octave")
            way = "higher" if octaves > 0 else "lower"
            yield f"String {string} sounds {amount} {way} than the rest does."
    over = [new.number for old, new in zip(score.bars, moved.bars, strict=True) if _tune_is_lost(old, new)]
    if over:
        yield f"In {_bars(over)} the tune is no longer the highest note."
    if thinner:
        gone = sorted(set(score.tuning.strings) - set(moved.tuning.strings))
        strings = f"string{'s' * (len(gone) > 1)} {listed(gone)}"
        yield f"Without {strings}, {_bars(thinner)} lose{'s' * (len(thinner) == 1)} notes."


def _both(a: Tuning, b: Tuning) -> range:
    return range(1, min(len(a.open_pitches), len(b.open_pitches)) + 1)


def _same_frets(event: Event, tuning: Tuning) -> Event:
    def kept(notes: tuple[Note, ...]) -> tuple[Note, ...]:
        return tuple(
            note if note.pitch is None else replace(note, pitch=tuning.pitch(note.string, note.fret))
            for note in notes
            if note.string in tuning.strings
        )

    return replace(event, notes=kept(event.notes), grace=kept(event.grace))


def _with_chords(bar: Bar, step: int, key: str) -> Bar:
    own = transpose_key(bar.key, step)
    return replace(
        bar,
        key=own,
        chords=tuple(c._replace(symbol=transpose_symbol(c.symbol, step, own or key)) for c in bar.chords),
    )


def _tune_is_lost(old: Bar, new: Bar) -> bool:
    pairs = zip(old.events, new.events, strict=True)
    return any(_top_string(a) != _top_string(b) for a, b in pairs)


def _top_string(event: Event) -> int | None:
    sounding = [note for note in event.notes if note.pitch is not None]
    return max(sounding, key=lambda note: note.pitch).string if sounding else None


# --- The same key --------------------------------------------------------------------------


def _keeping_key(score: Score, tuning: Tuning) -> Moved:
    shift = _best_octave(score, tuning)
    bare = replace(score, bars=tuple(_unset(bar) for bar in transpose(score, shift).bars))
    bars, thinner, before = [], [], frozenset()
    for bar in bare.bars:
        events = []
        for event in bar.events:
            kept = _playable(event, before, tuning)
            before = frozenset(note.pitch for note in kept.notes)
            if len(kept.notes) < len(event.notes):
                thinner.append(bar.number)
            events.append(kept)
        bars.append(replace(bar, events=tuple(events)))
    placed = set_on_strings(replace(bare, bars=tuple(bars)), tuning)
    return Moved(placed, tuple(_key_changes(score, placed, shift, sorted(set(thinner)))))


def _key_changes(score: Score, placed: Score, shift: int, thinner: list[int]) -> Iterator[str]:
    if shift:
        octaves = "an octave" if abs(shift) == 12 else "two octaves"
        yield f"Everything sounds {octaves} {'higher' if shift > 0 else 'lower'}."
    if thinner:
        yield f"Notes beneath the tune that no hand can reach are left out in {_bars(thinner)}."
    if score.is_set:
        elsewhere = sum(_spots(a) != _spots(b) for a, b in zip(score.bars, placed.bars, strict=True))
        if elsewhere:
            bars = counted(elsewhere, "bar").capitalize()
            yield f"{bars} of {len(score.bars)} lie{'s' * (elsewhere == 1)} at other strings or frets."
    high = max((note.fret for note in _notes(placed) if note.fret), default=0)
    was = max((note.fret for note in _notes(score) if note.fret), default=0)
    if score.is_set and high > was:
        yield f"The highest fret is now {high}; it was {was}."


def _best_octave(score: Score, tuning: Tuning) -> int:
    """The octaves by which the tune fits, the fewest notes are lost and the hand stays low.

    What lay high on the instrument it comes from may lie as high on this one.
    """
    events = {
        pitches
        for bar in score.bars
        for event in bar.events
        if (pitches := tuple(sorted({n.pitch for n in event.notes if n.pitch is not None})))
    }
    was_high = _high_up(events, 0, score.tuning)
    ways = []
    for shift in (0, -12, 12, -24, 24):
        if all(places_of((pitches[-1] + shift,), tuning, HIGHEST_FRET) for pitches in events):
            lost = sum(
                not places_of(tuple(p + shift for p in pitches), tuning, HIGHEST_FRET) for pitches in events
            )
            higher = max(0, _high_up(events, shift, tuning) - was_high)
            ways.append((lost, higher, abs(shift), shift))
    if not ways:
        raise CannotMove(f"The tune does not fit {tuning.name} in this key. Choose another key.")
    return min(ways)[-1]


def _high_up(events: set[tuple[int, ...]], shift: int, tuning: Tuning) -> int:
    """How many of ``events``, moved by ``shift``, have no place near enough to the nut."""
    return sum(not places_of(tuple(p + shift for p in pitches), tuning, NEAR_THE_NUT) for pitches in events)


def _playable(event: Event, before: frozenset[int | None], tuning: Tuning) -> Event:
    """``event`` without what no hand can hold: doubled notes first, then the lowest, never the tune."""
    top = max((n for n in event.notes if n.pitch is not None), key=lambda n: n.pitch, default=None)
    notes = [
        replace(note, tied=False) if note is top and note.tied and note.pitch not in before else note
        for note in event.notes
        if note is top or not note.tied or note.pitch in before
    ]
    while len(notes) > 1 and not places_of(_pitches(notes), tuning, HIGHEST_FRET):
        sounding = [note for note in notes if note.pitch is not None]
        if len(sounding) < 2:
            break
        beneath = [note for note in sounding if note is not top]
        pitches = [note.pitch for note in sounding]
        notes.remove(min(beneath, key=lambda note: (pitches.count(note.pitch) < 2, note.pitch)))
    return replace(event, notes=tuple(notes))


def _pitches(notes: list[Note]) -> tuple[int, ...]:
    return tuple(sorted(note.pitch for note in notes if note.pitch is not None))


def _unset(bar: Bar) -> Bar:
    def bare(notes: tuple[Note, ...]) -> tuple[Note, ...]:
        return tuple(
            note if note.pitch is None else replace(note, string=None, fret=None, finger=None, pick="")
            for note in notes
        )

    return replace(
        bar,
        events=tuple(replace(e, notes=bare(e.notes), grace=bare(e.grace), stroke="") for e in bar.events),
    )


def _spots(bar: Bar) -> list[list[tuple[int | None, int | None]]]:
    return [[(note.string, note.fret) for note in event.notes] for event in bar.events]


def _notes(score: Score) -> Iterator[Note]:
    for bar in score.bars:
        for event in bar.events:
            yield from event.notes


def _bars(numbers: list[int]) -> str:
    return f"bar{'s' if len(numbers) > 1 else ''} {listed(numbers)}"

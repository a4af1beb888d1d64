"""Setting staff music on strings: where each note lies best, and in which key it fits.

Nothing is ever transposed here unless it was asked for, and nothing is left out.
"""

from dataclasses import dataclass, replace
from itertools import chain

from pieces.music.keys import fifths, transpose_key, transpose_symbol
from pieces.music.places import HIGHEST_FRET, best_places, place_event, places_of
from pieces.music.score import Bar, Event, Note, Problem, Score
from pieces.music.tuning import NOTE_NAMES, Tuning


@dataclass(frozen=True, slots=True)
class KeyChoice:
    """A transposition in which every note fits. ``key`` is "" where the piece names none."""

    semitones: int
    key: str
    text: str


def set_on_strings(score: Score, tuning: Tuning, highest: int = HIGHEST_FRET) -> Score:
    """``score`` with every note at its lowest comfortable place on ``tuning``.

    A string and fret already written stays where it sounds the note's pitch. Notes
    that do not fit keep no string (``out_of_range`` names them): nothing is
    transposed or left out.

    >>> from fractions import Fraction
    >>> from pieces.music.tuning import TUNINGS
    >>> tune = Event(Fraction(0), Fraction(1, 4), (Note(67),))
    >>> bar = replace(Bar.of("1/4", "1/4"), events=(tune,))
    >>> placed = set_on_strings(Score(bars=(bar,)), TUNINGS["ukulele high G"])
    >>> placed.bars[0].events[0].notes[0].string, placed.bars[0].events[0].notes[0].fret
    (2, 3)
    """
    places = best_places(score, tuning, highest)
    bars, at = [], 0
    for bar in score.bars:
        events = []
        for event in bar.events:
            events.append(place_event(event, places[at], tuning, highest))
            at += 1
        bars.append(replace(bar, events=tuple(events)))
    return replace(score, bars=tuple(bars), tuning=tuning)


def out_of_range(score: Score, tuning: Tuning, highest: int = HIGHEST_FRET) -> list[Problem]:
    """What cannot be played on ``tuning``: notes too low or high, chords no hand can hold.

    One problem a bar and reason, not fatal: the piece can still be read and moved.
    """
    lowest, top = _range(tuning, highest)
    problems = []
    for bar in score.bars:
        pitches = {n.pitch for e in bar.events for n in e.notes + e.grace if n.pitch is not None}
        low, high = sorted(p for p in pitches if p < lowest), sorted(p for p in pitches if p > top)
        if low:
            problems.append(_range_problem(low, "below", "lowest", lowest, bar.number))
        if high:
            problems.append(_range_problem(high, "above", "highest", top, bar.number))
        if not low and not high:
            problems += _unplayable_chords(bar, tuning, highest)
    return problems


def transpose(score: Score, semitones: int) -> Score:
    """``score`` moved by ``semitones``: notes, key and chord symbols. Strings are to be set anew.

    >>> moved = transpose(Score(key="C", bars=(Bar.of("1/4", "1/4"),)), -2)
    >>> moved.key, moved.bars[0].events[0].notes[0].pitch, moved.is_set
    ('Bb', 67, False)
    """
    if semitones == 0:
        return score
    key = transpose_key(score.key, semitones)
    bars, here = [], key
    for bar in score.bars:
        here = transpose_key(bar.key, semitones) or here
        bars.append(
            replace(
                bar,
                key=transpose_key(bar.key, semitones),
                events=tuple(_moved(event, semitones) for event in bar.events),
                chords=tuple(
                    c._replace(symbol=transpose_symbol(c.symbol, semitones, here)) for c in bar.chords
                ),
            )
        )
    return replace(score, key=key, bars=tuple(bars))


def fitting_keys(score: Score, tuning: Tuning, highest: int = HIGHEST_FRET) -> list[KeyChoice]:
    """Transpositions, within two octaves, in which every note can be played; easiest first.

    Empty where the piece is wider than the instrument. The order is by how low the
    notes lie, then by how little is changed (common practice, no source).
    """
    groups = _groups(score)
    pitches = [p for group in groups for p in group]
    if not pitches:
        return [KeyChoice(0, score.key, _as_written(score))]
    lowest, top = _range(tuning, highest)
    choices = []
    for semitones in range(-24, 25):
        if min(pitches) + semitones < lowest or max(pitches) + semitones > top:
            continue
        distinct = {tuple(p + semitones for p in group) for group in groups}
        if not all(places_of(group, tuning, highest) for group in distinct):
            continue
        frets = [min(_frets(pitch + semitones, tuning, highest)) for pitch in pitches]
        far = max(0, abs(semitones) - 6)
        signature = 0.06 * abs(fifths(transpose_key(score.key, semitones)))
        effort = sum(_effort(fret) for fret in frets) / len(frets)
        effort += signature + 0.02 * abs(semitones) + 0.3 * far
        choices.append((effort, abs(semitones), semitones, frets))
    choices.sort()
    return [KeyChoice(s, transpose_key(score.key, s), _why(score, s, frets)) for _, _, s, frets in choices]


def _groups(score: Score) -> list[tuple[int, ...]]:
    """The pitches that sound together in each event, and each grace note alone."""
    groups = []
    for event in chain.from_iterable(bar.events for bar in score.bars):
        groups += [(note.pitch,) for note in event.grace if note.pitch is not None]
        sounding = tuple(sorted(note.pitch for note in event.notes if note.pitch is not None))
        groups += [sounding] if sounding else []
    return groups


def _range(tuning: Tuning, highest: int) -> tuple[int, int]:
    opens = [tuning.open_pitch(string) for string in tuning.strings]
    return min(opens), max(opens) + highest


def _frets(pitch: int, tuning: Tuning, highest: int) -> list[int]:
    frets = (tuning.fret(string, pitch) for string in tuning.strings)
    return [fret for fret in frets if fret is not None and fret <= highest]


def _effort(fret: int) -> float:
    return 0.0 if fret == 0 else 0.3 + 0.1 * fret + 0.4 * max(0, fret - 4)


def _why(score: Score, semitones: int, frets: list[int]) -> str:
    easy = sum(fret <= 3 for fret in frets)
    where = f"{easy} of {len(frets)} notes lie open or on the first three frets, none above fret {max(frets)}"
    if semitones == 0:
        return f"{_as_written(score)}: {where}."
    way = "Up" if semitones > 0 else "Down"
    octaves, steps = divmod(abs(semitones), 12)
    parts = ["an octave" if octaves == 1 else f"{octaves} octaves"] if octaves else []
    parts += [f"{steps} half step{'s' if steps > 1 else ''}"] if steps else []
    key = transpose_key(score.key, semitones)
    return f"{way} {' and '.join(parts)}{f' to {key}' if key and steps else ''}: {where}."


def _as_written(score: Score) -> str:
    return f"As written, in {score.key}" if score.key else "As written"


def _range_problem(pitches: list[int], side: str, end: str, limit: int, bar: int) -> Problem:
    names = ", ".join(_named(pitch) for pitch in pitches)
    verb = "lie" if len(pitches) > 1 else "lies"
    return Problem(
        f"{names} {verb} {side} the {end} note of this instrument, {_named(limit)}.",
        "Choose a key that fits, or another tuning.",
        bar=bar,
        fatal=False,
    )


def _unplayable_chords(bar: Bar, tuning: Tuning, highest: int) -> list[Problem]:
    problems = []
    for event in bar.events:
        pitches = tuple(sorted(note.pitch for note in event.notes if note.pitch is not None))
        if len(pitches) > 1 and not places_of(pitches, tuning, highest):
            names = " ".join(_named(pitch) for pitch in pitches)
            problems.append(
                Problem(
                    f"{names} cannot be held together on this instrument.",
                    "Leave out a note of it, or choose another tuning.",
                    bar=bar.number,
                    fatal=False,
                )
            )
    return list(dict.fromkeys(problems))


def _named(pitch: int) -> str:
    return f"{NOTE_NAMES[pitch % 12]}{pitch // 12 - 1}"


def _moved(event: Event, semitones: int) -> Event:
    def move(note: Note) -> Note:
        if note.pitch is None:
            return note
        return replace(note, pitch=note.pitch + semitones, string=None, fret=None, finger=None)

    return replace(event, notes=tuple(map(move, event.notes)), grace=tuple(map(move, event.grace)))

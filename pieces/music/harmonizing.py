"""Chords proposed for a tune that has none: always a proposal, never a finding.

The key, where the piece names none, is the one whose profile fits the tune best
(Krumhansl and Kessler, 1982; the figures are from memory). The chords are those of
the key, one a bar, or two where the half bars ask for it, chosen by dynamic
programming from how much of the tune each holds and how one leads to the next.
The weights are common practice, no source.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

from pieces.music.chords import chord_tones
from pieces.music.keys import spell, transpose_key
from pieces.music.melody import Symbols, Tone, strong_beats, tones_of
from pieces.music.score import Bar, ChordMark, Score

MAJOR_PROFILE = (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88)
MINOR_PROFILE = (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17)

# Semitones above the tonic, suffix, and how welcome the chord is in itself.
MAJOR_CHORDS = (
    (0, "", 0.6),
    (7, "", 0.3),
    (7, "7", 0.35),
    (5, "", 0.4),
    (9, "m", 0.1),
    (2, "m", 0.1),
    (4, "m", -0.3),
)
MINOR_CHORDS = (
    (0, "m", 0.6),
    (7, "7", 0.35),
    (5, "m", 0.3),
    (8, "", 0.15),
    (3, "", 0.2),
    (10, "", 0.2),
    (7, "m", -0.3),
)
# How well a root follows another, by semitones upward: a fourth up leads most strongly.
LEADS = MappingProxyType({5: 0.4, 7: 0.2, 2: 0.15, 9: 0.1, 8: 0.1, 0: 0.0})
NEW_CHORD_IN_BAR = -1.6
NEW_CHORD_AT_BAR = -0.1
FOREIGN_NOTE = -0.8
CLOSE = 1.5  # the last chord is the tonic


@dataclass(frozen=True, slots=True)
class Proposal:
    """Chord symbols for a tune, by bar number, and the key they are taken from.

    ``sure`` (0 to 1) is the share of the tune's time that lies on tones of its chord.
    """

    key: str
    symbols: Symbols
    sure: float
    text: str


class _Slot(NamedTuple):
    """A stretch of time that takes one chord."""

    bar: int
    onset: Fraction
    weights: tuple[float, ...]  # of the tune, by pitch class, in beats; strong beats count more
    opens_bar: bool


class _Choice(NamedTuple):
    root: int
    symbol: str
    tones: frozenset[int]
    welcome: float


def propose_symbols(melody: Score) -> Proposal:
    """Propose chords for ``melody`` from its notes and its key, or the key they suggest.

    A pickup gets none. The symbols are spelled in the key.

    >>> from pieces.music.score import Event, Meter, Note
    >>> quarter = Fraction(1, 4)
    >>> notes = [Event(i * quarter, quarter, (Note(p),)) for i, p in enumerate((60, 64, 67, 64))]
    >>> tune = Score(key="C", bars=(Bar(1, Meter(4, 4), tuple(notes)),))
    >>> propose_symbols(tune).symbols[1]
    (ChordMark(onset=Fraction(0, 1), symbol='C'),)
    """
    tune = tones_of(melody)
    key = melody.key or find_key(tune)
    slots = _slots(melody, tune)
    chosen = _cheapest(slots, _choices(key))
    symbols: dict[int, list[ChordMark]] = {}
    last = None
    for slot, choice in zip(slots, chosen, strict=True):
        if slot.opens_bar or choice is not last:
            marks = symbols.setdefault(melody.bars[slot.bar].number, [])
            marks.append(ChordMark(slot.onset, choice.symbol))
        last = choice
    held = sum(slot.weights[pc] for slot, c in zip(slots, chosen, strict=True) for pc in c.tones)
    whole = sum(sum(slot.weights) for slot in slots)
    sure = round(held / whole, 2) if whole else 0.0
    named = "" if melody.key else ", which the tune suggests"
    text = (
        f"These chords are a proposal from the tune and the key of {_said(key)}{named}. "
        f"{round(100 * sure)}% of the tune lies on tones of its chord. Change what sounds wrong."
    )
    return Proposal(key, {number: tuple(marks) for number, marks in symbols.items()}, sure, text)


def find_key(tune: list[Tone]) -> str:
    """The key whose profile fits the lengths of the notes best ("" for no notes).

    >>> find_key([Tone(0, i, Fraction(i), Fraction(0), Fraction(1), p, False)
    ...           for i, p in enumerate((67, 69, 71, 72, 74, 76, 78, 79, 67, 71, 74))])
    'G'
    """
    if not tune:
        return ""
    lengths = [0.0] * 12
    for tone in tune:
        lengths[tone.pitch % 12] += float(tone.duration)
    lengths[tune[-1].pitch % 12] += max(lengths) / 2  # a tune comes home
    scored = [
        (_likeness(lengths[tonic:] + lengths[:tonic], profile), -tonic, minor)
        for tonic in range(12)
        for minor, profile in (("", MAJOR_PROFILE), ("m", MINOR_PROFILE))
    ]
    _, tonic, minor = max(scored)
    return transpose_key(f"C{minor}", -tonic)


def _likeness(lengths: list[float], profile: tuple[float, ...]) -> float:
    """Pearson's correlation."""
    mean, middle = sum(lengths) / 12, sum(profile) / 12
    above = [(a - mean, b - middle) for a, b in zip(lengths, profile, strict=True)]
    size = (sum(a * a for a, _ in above) * sum(b * b for _, b in above)) ** 0.5
    return sum(a * b for a, b in above) / size if size else 0.0


def _slots(melody: Score, tune: list[Tone]) -> list[_Slot]:
    slots = []
    by_bar: dict[int, list[Tone]] = {}
    for tone in tune:
        by_bar.setdefault(tone.bar, []).append(tone)
    for at, bar in enumerate(melody.bars):
        if bar.is_pickup or not bar.length:
            continue
        cuts = [Fraction(0), *(onset for onset in strong_beats(bar) if onset > 0)]
        for onset, end in zip(cuts, [*cuts[1:], bar.length], strict=True):
            weights = _weights(by_bar.get(at, []), onset, end, bar)
            slots.append(_Slot(at, onset, weights, onset == 0))
    return slots


def _weights(tune: list[Tone], start: Fraction, end: Fraction, bar: Bar) -> tuple[float, ...]:
    weights = [0.0] * 12
    strong = strong_beats(bar)
    for tone in tune:
        overlap = min(end, tone.onset + tone.duration) - max(start, tone.onset)
        if overlap > 0:
            weights[tone.pitch % 12] += float(overlap / bar.meter.beat) * (1.5 if tone.onset in strong else 1)
    return tuple(weights)


@lru_cache(maxsize=64)
def _choices(key: str) -> tuple[_Choice, ...]:
    minor = key.endswith("m")
    tonic = chord_tones(key or "C")[0]
    found = []
    for step, suffix, welcome in MINOR_CHORDS if minor else MAJOR_CHORDS:
        root = (tonic + step) % 12
        letter, alter, _ = spell(60 + root, key)
        symbol = letter + ("#" * alter if alter > 0 else "b" * -alter) + suffix
        found.append(_Choice(root, symbol, frozenset(chord_tones(symbol)), welcome))
    return tuple(found)


def _cheapest(slots: list[_Slot], choices: tuple[_Choice, ...]) -> list[_Choice]:
    """The row of chords that fits best, by dynamic programming."""
    columns: list[list[tuple[float, int]]] = []
    for at, slot in enumerate(slots):
        column = []
        for place, choice in enumerate(choices):
            fit = _fit(slot, choice)
            if at == len(slots) - 1 and place == 0:
                fit += CLOSE
            if not columns:
                column.append((fit, -1))
                continue
            total, earlier = max(
                (value + _leads(choices[before], choice, slot), before)
                for before, (value, _) in enumerate(columns[-1])
            )
            column.append((fit + total, earlier))
        columns.append(column)
    if not columns:
        return []
    place = max(range(len(choices)), key=lambda i: columns[-1][i][0])
    row = []
    for column in reversed(columns):
        row.append(choices[place])
        place = column[place][1]
    return row[::-1]


def _fit(slot: _Slot, choice: _Choice) -> float:
    held = sum(w if pc in choice.tones else FOREIGN_NOTE * w for pc, w in enumerate(slot.weights))
    return held + choice.welcome


def _leads(before: _Choice, after: _Choice, slot: _Slot) -> float:
    if before is after:
        return 0.0
    lead = LEADS.get((after.root - before.root) % 12, -0.1)
    if before.symbol.endswith("7"):
        lead += 0.4 if (after.root - before.root) % 12 == 5 else -0.4
    return lead + (NEW_CHORD_AT_BAR if slot.opens_bar else NEW_CHORD_IN_BAR)


def _said(key: str) -> str:
    return f"{key[:-1]} minor" if key.endswith("m") else f"{key} major"

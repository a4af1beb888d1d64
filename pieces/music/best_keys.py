"""In which of the twelve keys a tune lies best on an instrument, and why.

Each key is tried in every octave that could fit. It is judged by whether the
tune fits, how many strong beats can carry chord tones beneath it, how high the
hand must go, how hard the chords are, and how much rings on open strings. The
weights are common practice, no source.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import NamedTuple

from pieces.music.chords import parse_chord
from pieces.music.fingering import hands
from pieces.music.grips import HIGHEST_FRET, most_beneath
from pieces.music.harmonizing import find_key, propose_symbols
from pieces.music.keys import transpose_key, transpose_symbol
from pieces.music.melody import Harmony, Symbols, harmonies_of, harmony_at, strong_beats, tones_of
from pieces.music.score import Score
from pieces.music.tuning import Tuning
from pieces.music.words import counted, listed

OUT_OF_RANGE = 30.0  # a tune that does not fit, and more for the share that does not
BARE = 60.0  # times the share of strong beats with fewer than two tones beneath
THIN = 2.0  # times the share of strings left silent on strong beats
HEIGHT = 0.35  # each fret that the tune goes up on average
HIGH_UP = 8.0  # times the share of notes above the seventh fret, where few learners are at home
HARD_CHORDS = 0.5  # times the mean cost of the easiest hand for each chord
OPEN = -1.0  # times the share of notes on open strings
FAR = 0.05  # each half step away from the key it was written in
NEAR_FRETS = 5  # how far up a first-position chord may go
HIGH_FRET = 7
EASY_NOTES = 3  # frets counted as easy for a melody note
HARD_HANDS = 3  # fingers, from which a chord is named as hard


@dataclass(frozen=True, slots=True)
class KeyRank:
    """One of twelve keys. ``semitones`` moves the tune there from where it is written.

    ``fits``: every note can be played. ``strong`` strong beats have a chord, of which
    ``carried`` can have two chord tones or more beneath the tune. The lower ``cost``
    the better. ``text`` gives the reasons.
    """

    key: str
    semitones: int
    fits: bool
    strong: int
    carried: int
    cost: float
    text: str


class _Tune(NamedTuple):
    """What the judging needs, gathered once for all keys."""

    key: str
    pitches: tuple[int, ...]
    strong: tuple[tuple[int, tuple[int, ...]], ...]  # pitch and chord tones of each strong beat
    symbols: tuple[str, ...]


def best_keys(melody: Score, symbols: Symbols | None, tuning: Tuning) -> list[KeyRank]:
    """The twelve keys, best first, each in its best octave.

    ``symbols`` are as in ``arrange``: None takes those written in the score, or
    proposes some. ``setting.transpose(melody, rank.semitones)`` moves the tune there.

    >>> from pieces.music.score import Bar
    >>> from pieces.music.tuning import TUNINGS
    >>> len(best_keys(Score(key="A", bars=(Bar.of("4/4", "1"),)), None, TUNINGS["ukulele high G"]))
    12
    """
    tune = _gathered(melody, symbols)
    ranks = []
    for step in range(12):
        octaves = (step - 24, step - 12, step, step + 12)
        ranks.append(min((_judged(tune, s, tuning) for s in octaves), key=lambda rank: rank.cost))
    return sorted(ranks, key=lambda rank: (rank.cost, abs(rank.semitones)))


def _gathered(melody: Score, symbols: Symbols | None) -> _Tune:
    written = any(bar.chords for bar in melody.bars)
    if symbols is None and not written:
        symbols = propose_symbols(melody).symbols
    harmonies = harmonies_of(melody, symbols)
    tones = tones_of(melody)
    strong = tuple(_strong(melody, tones, harmonies))
    known = tuple(dict.fromkeys(harmony.symbol for harmony in harmonies if harmony.tones))
    struck = tuple(tone.pitch for tone in tones if not tone.tied)
    return _Tune(melody.key or find_key(tones), struck, strong, known)


def _strong(melody: Score, tones, harmonies: list[Harmony]) -> Iterator[tuple[int, tuple[int, ...]]]:
    beats = [set(strong_beats(bar)) for bar in melody.bars]
    for tone in tones:
        for beat in beats[tone.bar]:
            if tone.onset <= beat < tone.onset + tone.duration:
                harmony = harmony_at(harmonies, tone.at + beat - tone.onset)
                if harmony and harmony.tones:
                    yield tone.pitch, harmony.tones


def _judged(tune: _Tune, semitones: int, tuning: Tuning) -> KeyRank:
    frets = [_lowest_fret(pitch + semitones, tuning) for pitch in tune.pitches]
    reached = [fret for fret in frets if fret is not None]
    outside = len(frets) - len(reached)
    beneath = [_beneath(pitch, tones, semitones, tuning) for pitch, tones in tune.strong]
    carried = sum(count >= 2 for count, _ in beneath)
    chords = {s: _easiest(transpose_symbol(s, semitones, ""), tuning) for s in tune.symbols}
    most = len(tuning.open_pitches) - 1
    cost = FAR * abs(semitones)
    if outside:
        cost += OUT_OF_RANGE * (1 + outside / len(frets))
    if beneath:
        cost += BARE * (1 - carried / len(beneath))
        cost += THIN * sum(1 - count / most for count, _ in beneath) / len(beneath)
        cost += sum(height for _, height in beneath) / len(beneath)
    if reached:
        cost += HIGH_UP * sum(fret > HIGH_FRET for fret in reached) / len(reached)
        cost += HEIGHT * sum(reached) / len(reached) + OPEN * reached.count(0) / len(reached)
    if chords:
        cost += HARD_CHORDS * sum(cost for cost, _ in chords.values()) / len(chords)
    key = transpose_key(tune.key, semitones)
    hard = [transpose_symbol(s, semitones, key) for s, (_, fingers) in chords.items() if fingers > HARD_HANDS]
    return KeyRank(
        key=key,
        semitones=semitones,
        fits=not outside,
        strong=len(beneath),
        carried=carried,
        cost=round(cost, 3),
        text=_why(frets, reached, len(beneath), carried, hard),
    )


@lru_cache(maxsize=1 << 12)
def _lowest_fret(pitch: int, tuning: Tuning) -> int | None:
    frets = [pitch - tuning.open_pitch(string) for string in tuning.strings]
    return min((fret for fret in frets if 0 <= fret <= HIGHEST_FRET), default=None)


def _beneath(pitch: int, tones: tuple[int, ...], semitones: int, tuning: Tuning) -> tuple[int, float]:
    return most_beneath(pitch + semitones, tuple((tone + semitones) % 12 for tone in tones), tuning)


@lru_cache(maxsize=1 << 12)
def _easiest(symbol: str, tuning: Tuning) -> tuple[float, int]:
    """Cost and fingers of the easiest hand near the nut that sounds the chord on the upper strings."""
    chord = parse_chord(symbol)
    strings = list(tuning.strings)[-4:]
    options = [
        [f for f in range(NEAR_FRETS + 1) if tuning.pitch(string, f) % 12 in chord.tones][:2]
        for string in strings
    ]
    best = (9.0, 4)
    for frets in product(*options):
        classes = {tuning.pitch(s, f) % 12 for s, f in zip(strings, frets, strict=True)}
        if not set(chord.tones[:2]) <= classes:
            continue
        for hand in hands(frets)[:1]:
            best = min(best, (hand.cost, len({finger for finger in hand.fingers if finger})))
    return best


def _why(frets: list, reached: list[int], strong: int, carried: int, hard: list[str]) -> str:
    if not reached:
        return "No note of the tune lies on this instrument."
    said = []
    if len(reached) < len(frets):
        outside = len(frets) - len(reached)
        said.append(f"{counted(outside, 'note')} of {len(frets)} lie{'s' if outside == 1 else ''} outside")
    else:
        easy = sum(fret <= EASY_NOTES for fret in reached)
        said.append(f"{easy} of {len(frets)} notes lie open or on the first three frets")
        said.append(f"the highest is at fret {max(reached)}")
    if strong:
        said.append(f"{carried} of {strong} strong beats can carry two chord tones or more")
    if hard:
        said.append(f"{listed(hard)} need{'s' if len(hard) == 1 else ''} four fingers")
    text = "; ".join(said)
    return f"{text[0].upper()}{text[1:]}."

"""Why a shape is easy or hard, in the sentences of a teacher."""

from itertools import pairwise

from pieces.music.chords import UnknownChord, degree_name, degrees_of, parse_chord, spell
from pieces.music.fingering import Fingers, Frets, Press, presses_of
from pieces.music.tuning import NOTE_NAMES, Tuning

FINGER_NAMES = (None, "index", "middle", "ring", "little finger")
NUMBERS = ("no", "one", "two", "three", "four")
# From this fret up a shape is said to lie high.
HIGH_FRET = 5


def reasons_of(symbol: str, frets: Frets, fingers: Fingers, tuning: Tuning) -> tuple[str, ...]:
    """Sentences about a shape: the hand first, then what sounds.

    >>> from pieces.music.tuning import TUNINGS
    >>> reasons_of("C", (0, 0, 0, 3), (0, 0, 0, 3), TUNINGS["ukulele high G"])
    ('One finger: ring on string 1.', 'Strings 4, 3 and 2 stay open.')
    """
    presses = presses_of(frets, fingers)
    return tuple(
        sentence
        for sentence in (
            _hand_sentence(frets, presses),
            _open_sentence(frets),
            *_barre_sentences(frets, presses),
            *_stretch_sentences(presses),
            _height_sentence(frets),
            _silence_sentence(frets),
            *_tone_sentences(symbol, frets, tuning),
        )
        if sentence
    )


def finger_sentence(frets: Frets, usual: Fingers, other: Fingers) -> str:
    """What changes from the usual fingers to others on the same frets.

    >>> finger_sentence((0, 0, 0, 2), (0, 0, 0, 2), (0, 0, 0, 1))
    'Index instead of middle on string 1.'
    """
    changes: dict[tuple[int, int], list[int]] = {}
    for place, (old, new) in enumerate(zip(usual, other, strict=True)):
        if old and new and old != new:
            changes.setdefault((new, old), []).append(len(frets) - place)
    parts = [
        f"{FINGER_NAMES[new]} instead of {FINGER_NAMES[old]} on {_strings(strings)}"
        for (new, old), strings in changes.items()
    ]
    return _sentence(_listed(parts)) if parts else ""


def _hand_sentence(frets: Frets, presses: tuple[Press, ...]) -> str:
    if not presses:
        return "No finger at all: strum it open." if 0 in frets else ""
    places = [
        f"{FINGER_NAMES[press.finger]} on {_strings([len(frets) - place for place in press.places])}"
        for press in presses
    ]
    if len(presses) == 1:
        return _sentence(f"one finger: {places[0]}")
    return _sentence(f"{NUMBERS[len(presses)]} fingers: {_listed(places)}")


def _open_sentence(frets: Frets) -> str:
    opens = [len(frets) - place for place, fret in enumerate(frets) if fret == 0]
    if not opens or not any(frets):
        return ""
    return _sentence(f"{_strings(opens)} {'stays' if len(opens) == 1 else 'stay'} open")


def _barre_sentences(frets: Frets, presses: tuple[Press, ...]) -> list[str]:
    sentences = []
    for press in presses:
        if press.is_barre:
            first, last = len(frets) - press.places[0], len(frets) - press.places[-1]
            sentences.append(
                f"The {FINGER_NAMES[press.finger]} lies flat from string {first} to string {last} "
                f"at fret {press.fret}."
            )
    return sentences


def _stretch_sentences(presses: tuple[Press, ...]) -> list[str]:
    return [
        f"Stretch: {FINGER_NAMES[low.finger]} and {FINGER_NAMES[high.finger]} "
        f"stand {NUMBERS[high.fret - low.fret]} frets apart."
        for low, high in pairwise(presses)
        if high.fret - low.fret > high.finger - low.finger
    ]


def _height_sentence(frets: Frets) -> str:
    lowest = min((fret for fret in frets if fret), default=0)
    if lowest < HIGH_FRET:
        return ""
    beside = " beside the open strings" if 0 in frets else ""
    return f"It lies up the neck, from fret {lowest}{beside}."


def _silence_sentence(frets: Frets) -> str:
    silent = [len(frets) - place for place, fret in enumerate(frets) if fret is None]
    if not silent or len(silent) == len(frets):
        return ""
    return f"Leave out {_strings(silent)}."


def _tone_sentences(symbol: str, frets: Frets, tuning: Tuning) -> list[str]:
    try:
        chord = parse_chord(symbol)
    except UnknownChord:
        return []
    pitches = [
        tuning.pitch(string, fret)
        for string, fret in zip(tuning.strings, frets, strict=True)
        if fret is not None
    ]
    if not pitches:
        return []
    names = spell(symbol)
    sounding = {pitch % 12 for pitch in pitches}
    sentences = []
    missing = [
        f"the {degree_name(degree)}, {names[tone]}"
        for tone, degree in degrees_of(symbol).items()
        if tone not in sounding
    ]
    if missing:
        sentences.append(f"It leaves out {_listed(missing)}.")
    foreign = sorted(sounding - set(chord.sounding))
    if foreign:
        sentences.append(f"{_listed([NOTE_NAMES[tone] for tone in foreign])} is not in {symbol}.")
    lowest = min(pitches) % 12
    wanted = chord.root if chord.bass is None else chord.bass
    if lowest != wanted and lowest in names and not tuning.reentrant and len(frets) > 4:
        sentences.append(f"{names[lowest]} is in the bass, not {names[wanted]}.")
    return sentences


def _strings(numbers: list[int]) -> str:
    word = "string" if len(numbers) == 1 else "strings"
    return f"{word} {_listed([str(number) for number in numbers])}"


def _listed(parts: list[str]) -> str:
    """Parts with commas and a last "and"."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."

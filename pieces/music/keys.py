"""Keys as they are written, and how a pitch is spelled in one.

A key is a tonic with ``m`` for minor ("C", "F#m"). Signatures count fifths from C:
sharps above zero, flats below. Spelling follows the line of fifths
(... Bb F C G D ...): each pitch takes its name nearest the key (music theory
handbooks; the window for notes foreign to the key is common practice, no source).
"""

import re

from pieces.music.words import counted

_LINE = "FCGDAEB"
_KEY = re.compile(r"([A-G])([#b]?)(m?)\Z")
_SPELLED = re.compile(r"([A-G])(##|#|bb|b)?")
_ALTER = {"#": 1, "b": -1, "##": 2, "bb": -2, "": 0, None: 0}
_SIGN = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}


def fifths(key: str) -> int:
    """Sharps (above zero) or flats (below) in the signature of ``key``; 0 where none is given.

    >>> fifths("D"), fifths("F#m"), fifths("Bb"), fifths("")
    (2, 3, -2, 0)
    """
    match = _KEY.match(key)
    if not match:
        return 0
    letter, sign, minor = match.groups()
    return _place(letter, sign) - (3 if minor else 0)


def key_of(signature: int, minor: bool = False) -> str:
    """The key with that many sharps or flats.

    >>> key_of(2), key_of(3, minor=True), key_of(-2)
    ('D', 'F#m', 'Bb')
    """
    return _name(signature + (3 if minor else 0)) + ("m" if minor else "")


def transpose_key(key: str, semitones: int) -> str:
    """``key`` moved by ``semitones``, written with the fewest sharps or flats.

    >>> transpose_key("C", 2), transpose_key("Am", 3), transpose_key("", 5)
    ('D', 'Cm', '')
    """
    if not _KEY.match(key):
        return key
    signature = (fifths(key) + 7 * semitones + 5) % 12 - 5
    return key_of(signature, key.endswith("m"))


def spell(pitch: int, key: str = "") -> tuple[str, int, int]:
    """Letter, alteration in semitones and octave (C4 is middle C) of MIDI ``pitch`` in ``key``.

    >>> spell(66, "G"), spell(70, "F"), spell(68, "Am"), spell(68, "Cm")
    (('F', 1, 4), ('B', -1, 4), ('G', 1, 4), ('A', -1, 4))
    """
    place = _nearest(pitch % 12, key)
    alter = (place + 1) // 7
    return _LINE[(place + 1) % 7], alter, (pitch - alter) // 12 - 1


def transpose_symbol(symbol: str, semitones: int, key: str = "") -> str:
    """A chord symbol moved by ``semitones``, spelled for ``key``, the key it comes to stand in.

    >>> transpose_symbol("Am7/G", 2, "D"), transpose_symbol("Bbmaj7", 5, "Bb")
    ('Bm7/A', 'Ebmaj7')
    """

    def moved(name: str) -> str:
        match = _SPELLED.match(name)
        if not match:
            return name
        letter, sign = match.groups()
        pitch_class = (7 * _place(letter, sign)) % 12
        return _name(_nearest((pitch_class + semitones) % 12, key)) + name[match.end() :]

    if semitones % 12 == 0:
        return symbol
    chord, slash, bass = symbol.partition("/")
    return moved(chord) + slash + moved(bass)


def _place(letter: str, sign: str | None) -> int:
    return _LINE.index(letter) - 1 + 7 * _ALTER[sign]


def _name(place: int) -> str:
    return _LINE[(place + 1) % 7] + _SIGN[(place + 1) // 7]


def _nearest(pitch_class: int, key: str) -> int:
    lowest = fifths(key) - (3 if key.endswith("m") else 4)
    return lowest + (7 * pitch_class - lowest) % 12


def key_in_words(key: str) -> str:
    """The key as it is said, "" where none is given.

    >>> key_in_words("C"), key_in_words("F#m"), key_in_words("")
    ('C major', 'F# minor', '')
    """
    if not key:
        return ""
    return f"{key[:-1]} minor" if key.endswith("m") else f"{key} major"


def way_of(semitones: int) -> str:
    """Which way a key moves the tune.

    >>> way_of(0), way_of(1), way_of(-14)
    ('as written', 'up a half step', 'down an octave and two half steps')
    """
    if not semitones:
        return "as written"
    octaves, steps = divmod(abs(semitones), 12)
    parts = [("an octave" if octaves == 1 else counted(octaves, "octave"))] if octaves else []
    parts += [("a half step" if steps == 1 else counted(steps, "half step"))] if steps else []
    return f"{'up' if semitones > 0 else 'down'} {' and '.join(parts)}"

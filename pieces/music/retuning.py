"""What has to be done to an instrument before the next piece, in words."""

from pieces.music.tuning import Tuning
from pieces.music.words import listed

# More than a fourth asks for other strings, not for the pegs (common practice, no source).
MOST_BY_PEG = 5  # semitones


def before_playing(last: Tuning, coming: Tuning) -> str:
    """What to do between a piece in ``last`` and one in ``coming``, "" where nothing.

    >>> from pieces.music.tuning import TUNINGS
    >>> guitar = TUNINGS["guitar"]
    >>> before_playing(guitar, guitar.with_capo(2))
    'Capo on fret 2.'
    >>> dropped = Tuning("guitar, low D", (38, 45, 50, 55, 59, 64))
    >>> before_playing(guitar.with_capo(2), dropped)
    'Retune string 6 down from E to D. Capo off.'
    >>> before_playing(guitar, TUNINGS["mandolin"])
    'Change to the mandolin.'
    """
    if not _same_instrument(last, coming):
        capo = f", capo on fret {coming.capo}" if coming.capo else ""
        return f"Change to the {coming.name}{capo}."
    return " ".join(filter(None, (_pegs(last, coming), _capo(last.capo, coming.capo))))


def _same_instrument(last: Tuning, coming: Tuning) -> bool:
    if len(last.open_pitches) != len(coming.open_pitches):
        return False
    pairs = zip(last.open_pitches, coming.open_pitches, strict=True)
    return all(abs(a - b) <= MOST_BY_PEG for a, b in pairs)


def _pegs(last: Tuning, coming: Tuning) -> str:
    turned = [
        f"string {string} {'up' if after > before else 'down'} "
        f"from {last.string_name(string)} to {coming.string_name(string)}"
        for string, before, after in zip(last.strings, last.open_pitches, coming.open_pitches, strict=True)
        if after != before
    ]
    return f"Retune {listed(turned)}." if turned else ""


def _capo(last: int, coming: int) -> str:
    if last == coming:
        return ""
    if not coming:
        return "Capo off."
    return f"Capo from fret {last} to fret {coming}." if last else f"Capo on fret {coming}."

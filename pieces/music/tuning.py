"""Tunings of fretted strings, and the pitch of a fret.

Pitches are MIDI numbers (A4 = 69, ISO 16: 440 Hz). String 1 is the string
nearest the floor when the instrument is held; wherever strings are listed they
run from the highest string number to string 1, as a shape is written (``0003``).
"""

from dataclasses import dataclass, replace
from types import MappingProxyType

NOTE_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


@dataclass(frozen=True, slots=True)
class Tuning:
    """Open strings as MIDI numbers, from the highest string number to string 1.

    A course of doubled strings counts as one string. ``capo`` is the fret that
    stands for the nut: every fret, 0 included, sounds that much higher.

    >>> Tuning("ukulele high G", (67, 60, 64, 69)).pitch(string=1, fret=3)
    72
    """

    name: str
    open_pitches: tuple[int, ...]
    capo: int = 0

    def __post_init__(self):
        if not self.open_pitches:
            raise ValueError("A tuning needs at least one string.")

    @property
    def strings(self) -> range:
        """String numbers in the order shapes are written: highest first."""
        return range(len(self.open_pitches), 0, -1)

    def open_pitch(self, string: int) -> int:
        """MIDI number of ``string`` played open, capo included."""
        if not 1 <= string <= len(self.open_pitches):
            raise ValueError(f"There is no string {string} on {self.name}.")
        return self.open_pitches[-string] + self.capo

    def pitch(self, string: int, fret: int) -> int:
        """MIDI number that sounds at ``fret`` of ``string``."""
        return self.open_pitch(string) + fret

    def fret(self, string: int, pitch: int) -> int | None:
        """Fret of ``string`` that sounds ``pitch``, or None below the open string."""
        fret = pitch - self.open_pitch(string)
        return fret if fret >= 0 else None

    def string_name(self, string: int) -> str:
        """Letter of the open string without capo, as printed beside a tab line."""
        return NOTE_NAMES[self.open_pitches[-string] % 12]

    @property
    def reentrant(self) -> bool:
        """Whether pitch does not rise all the way from the highest string number to string 1."""
        return any(a > b for a, b in zip(self.open_pitches, self.open_pitches[1:], strict=False))

    def with_capo(self, capo: int) -> "Tuning":
        """The same strings with the capo at ``capo``."""
        return replace(self, capo=capo)


# Usual tunings (common practice, no source).
TUNINGS = MappingProxyType(
    {
        tuning.name: tuning
        for tuning in (
            Tuning("ukulele high G", (67, 60, 64, 69)),
            Tuning("ukulele low G", (55, 60, 64, 69)),
            Tuning("baritone ukulele", (50, 55, 59, 64)),
            Tuning("guitar", (40, 45, 50, 55, 59, 64)),
            Tuning("mandolin", (55, 62, 69, 76)),
            Tuning("tenor banjo", (48, 55, 62, 69)),
            Tuning("plectrum banjo", (48, 55, 59, 62)),
            Tuning("five-string banjo", (67, 50, 55, 59, 62)),
            Tuning("bass", (28, 33, 38, 43)),
        )
    }
)

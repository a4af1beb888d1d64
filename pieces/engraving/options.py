"""How a strip is set: for the phone, the desk, a note beside a sentence, and paper.

All measures are user units of the drawing. A page shows a strip at its own width,
so they are type sizes relative to ``width``.
"""

from dataclasses import dataclass, replace

from pieces.music.counting import BEATS_AND, Syllables


@dataclass(frozen=True, slots=True)
class StripOptions:
    """Measures and choices of a strip; start from a preset and change with ``but``.

    ``width`` is that of a system, ``per_system`` the most bars in one. ``spacing`` is
    the distance of two strings, ``fret`` and ``count`` are type sizes, ``room`` is what
    lies between the last string and the count band, ``band`` the height of the band,
    ``chord`` the size of chord names and ``chord_gap`` the air under them. ``lead`` is
    how far a count stands into its cell. ``paper``: black counts between two hairlines
    and no tint, to survive a photocopy.

    ``prefix`` goes before every id, so that two strips on one page stay apart.
    ``names``: letters of the open strings before the first bar. ``meter``: the time
    signature before the first bar (a change is always shown). ``fingers``: left-hand
    fingers beside the frets. ``loop``: repeat signs at both ends. ``closed``: a final
    bar line at the end. ``sections``: a section letter opens a new system.
    ``left_handed`` mirrors the fret diagrams; the lines of a tab are read the same by
    either hand. ``counts``: the count band; without it the stems stand alone.
    """

    width: float = 856
    per_system: int = 4
    spacing: float = 11.5
    fret: float = 13
    count: float = 21
    room: float = 22
    band: float = 28
    chord: float = 15
    chord_gap: float = 9
    label: float = 11
    lead: float = 0.34
    stem: float = 1.2
    beam: float = 2.4
    paper: bool = False
    prefix: str = ""
    names: bool = True
    meter: bool = False
    chords: bool = True
    picks: bool = True
    fingers: bool = False
    lyrics: bool = False
    closed: bool = True
    loop: bool = False
    sections: bool = True
    left_handed: bool = False
    counts: bool = True
    syllables: Syllables = BEATS_AND

    def but(self, **changes) -> "StripOptions":
        """These options with some changed.

        >>> PHONE.but(prefix="p", loop=True).per_system
        1
        """
        return replace(self, **changes)

    @property
    def small(self) -> float:
        """Size of counts between beats, and of counts that are held."""
        return self.count * 0.72

    @property
    def note(self) -> float:
        """Size of picking letters and of marks."""
        return self.fret * 0.8


DESK = StripOptions()
PHONE = StripOptions(
    width=374, per_system=1, spacing=17, fret=17.5, count=39, room=27, band=50, chord=22, chord_gap=13,
    label=12.6, lead=0.4, stem=1.5, beam=3.2,
)  # fmt: skip
NOTE = StripOptions(
    width=560, per_system=2, count=24, room=23, band=33, chord_gap=13, lead=0.3,
)  # fmt: skip
ONE_BAR = DESK.but(width=300, per_system=1, names=False)  # bars to be set side by side
PAPER = StripOptions(
    width=690, per_system=2, spacing=12, fret=14, count=28, room=23, band=35, chord=17, chord_gap=13,
    lead=0.36, paper=True,
)  # fmt: skip

"""What a loop sounds like and how it is counted along, for a device that plays it.

Times are metronome beats from the start of a pass, exact; a device turns them into
seconds at whatever tempo is asked. A pass follows the one before without a gap.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, NamedTuple

from pieces.music.counting import BEATS_AND, Syllables, UncountableRhythm, begins_at, count_bar
from pieces.music.score import Bar, Event, Meter, Note, Score
from pieces.music.sounding import sounds
from pieces.music.tuning import Tuning

How = Literal["", "soft", "muted"]

# A grace note is played so many steps of a strum before its beat.
GRACE_STEPS = 6
MUTED_LASTS = Fraction(1, 12)


class Click(NamedTuple):
    """One stroke of the metronome; ``first`` on the first beat of a bar."""

    at: Fraction
    first: bool


class Pluck(NamedTuple):
    """One string sounded. ``step`` is its place in a strum, negative for a grace note.

    ``how``: "soft" where the left hand sounds it, "muted" where it only thuds.
    """

    at: Fraction
    lasts: Fraction
    pitch: int
    step: int = 0
    how: How = ""


class Said(NamedTuple):
    """One count: where it is said, and the id that the strip gives it."""

    at: Fraction
    id: str


@dataclass(frozen=True, slots=True)
class Playing:
    """One pass of a loop of ``beats`` metronome beats, and the clicks that lead into it.

    ``count_in`` are clicks from its own start, ``lead`` beats before the pass.
    """

    beats: Fraction
    lead: Fraction
    count_in: tuple[Click, ...]
    clicks: tuple[Click, ...]
    plucks: tuple[Pluck, ...]
    counts: tuple[Said, ...]

    def to_data(self) -> dict:
        """The same as plain lists, times as floats: they go to a sound card, nothing is reckoned with them."""
        return {
            "beats": float(self.beats),
            "lead": float(self.lead),
            "countIn": [[float(click.at), click.first] for click in self.count_in],
            "clicks": [[float(click.at), click.first] for click in self.clicks],
            "plucks": [
                [float(pluck.at), float(pluck.lasts), pluck.pitch, pluck.step, pluck.how]
                for pluck in self.plucks
            ],
            "counts": [[float(count.at), count.id] for count in self.counts],
        }


def playing(
    bars: Sequence[Bar], tuning: Tuning, *, beat: Fraction | None = None, syllables: Syllables = BEATS_AND
) -> Playing:
    """One pass through ``bars`` in the order given.

    ``beat`` is what the metronome counts, as a fraction of a whole note; without it
    the beat of the first bar. A bar may come twice, as in a repeat. No bars: ValueError.

    >>> loop = playing([Bar.of("3/4", "1/4 1/2")], Tuning("one string", (69,)))
    >>> loop.beats, [str(c.at) for c in loop.clicks], [str(p.at) for p in loop.plucks]
    (Fraction(3, 1), ['0', '1', '2'], ['0', '1'])
    >>> [said.id for said in loop.counts]
    ['b1c1', 'b1c2', 'b1c3']

    The count-in is a full bar, and the counts before the pickup where there is one:

    >>> upbeat = playing([Bar.of("3/4", "1/4", number=0)], Tuning("one string", (69,)))
    >>> [click.first for click in upbeat.count_in]
    [True, False, False, True, False]
    """
    if not bars:
        raise ValueError("There is no bar to play.")
    beat = beat or bars[0].meter.beat
    clicks, counts, at = [], [], Fraction(0)
    for bar in bars:
        clicks += [Click((at + onset) / beat, first) for onset, first in _beats(bar)]
        counts += [Said((at + onset) / beat, said) for onset, said in _counts(bar, syllables)]
        at += bar.length
    count_in, lead = _count_in(bars[0])
    return Playing(
        at / beat,
        lead / beat,
        tuple(Click(click.at / beat, click.first) for click in count_in),
        tuple(clicks),
        tuple(
            pluck._replace(at=pluck.at / beat, lasts=pluck.lasts / beat) for pluck in _plucks(bars, tuning)
        ),
        tuple(counts),
    )


def _beats(bar: Bar) -> Iterable[tuple[Fraction, bool]]:
    """Onsets of the beats of ``bar``, and whether each is the first of a full bar."""
    begins, beat = begins_at(bar), bar.meter.beat
    number = -(-begins // beat)
    while number * beat < begins + bar.length:
        yield number * beat - begins, number == 0
        number += 1


def _counts(bar: Bar, syllables: Syllables) -> Iterable[tuple[Fraction, str]]:
    try:
        counts = count_bar(bar, syllables)
    except UncountableRhythm:
        return []
    return [(count.onset, f"b{bar.number}c{place}") for place, count in enumerate(counts, start=1)]


def _count_in(first: Bar) -> tuple[list[Click], Fraction]:
    """A full bar of clicks and what is counted of the first bar before it begins, in whole notes."""
    meter, begins = first.meter, begins_at(first)
    clicks = [*_full_bar(meter, Fraction(0))]
    clicks += [click for click in _full_bar(meter, meter.length) if click.at < meter.length + begins]
    return clicks, meter.length + begins


def _full_bar(meter: Meter, at: Fraction) -> Iterable[Click]:
    return (Click(at + n * meter.beat, n == 0) for n in range(-(-meter.length // meter.beat)))


def _plucks(bars: Sequence[Bar], tuning: Tuning) -> list[Pluck]:
    """Every string that is sounded, in whole notes from the start, ties joined."""
    lasts = {(s.start, s.pitch, s.string): s.duration for s in sounds(Score(bars=tuple(bars)))}
    found, at = [], Fraction(0)
    for bar in bars:
        for event in bar.events:
            start = at + event.onset
            for place, note in enumerate(event.grace):
                before = (place - len(event.grace)) * GRACE_STEPS
                found += _pluck(note, start, event.duration / 4, before, tuning)
            for step, note in _in_order(event):
                length = lasts.get((start, note.pitch, note.string))
                if length is not None:  # else it is tied to a note that sounds already
                    found += _pluck(note, start, length, step, tuning)
        at += bar.length
    return found


def _in_order(event: Event) -> list[tuple[int, Note]]:
    """The notes of an event with their places in the strum: the first string struck is 0."""
    notes = event.notes[::-1] if event.stroke == "up" else event.notes
    return [(step if event.stroke else 0, note) for step, note in enumerate(notes)]


def _pluck(note: Note, at: Fraction, lasts: Fraction, step: int, tuning: Tuning) -> list[Pluck]:
    if note.pitch is not None:
        return [Pluck(at, lasts, note.pitch, step, "soft" if note.join else "")]
    if note.string is None:
        return []
    return [Pluck(at, MUTED_LASTS * lasts, tuning.open_pitch(note.string), step, "muted")]

"""How hard a bar is, from 0 to 10, and why.

The rating is a sum of loads, each with its reason: how fast it goes, what falls
between the counts, the shape, the change of shape within the time there is, the
reach along the neck, the strings, both hands apart. Each load can only shrink when
the tempo falls, a note is left out, the shape is reduced or its barre goes; so can
the rating. The weights stand in ``loads`` and ``left_hand``.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import log2
from typing import NamedTuple

from pieces.music.counting import BEATS_AND, Syllables
from pieces.music.left_hand import left_hand_loads
from pieces.music.loads import Kind, between_loads, pace_loads, picking_hand_loads
from pieces.music.score import Bar
from pieces.music.shapes import Shape
from pieces.music.tuning import Tuning

HALFWAY = 3.5  # the load that is rated 5
WORTH_SAYING = 0.4  # a smaller load is no reason
BRACKETED = 1.2  # a smaller load marks no count as hard

TRUSTED = 4  # so many learners weigh as much as the computed rating
A_DOUBLING = 2.0  # points for needing twice as long as expected
MOST_DOUBLINGS = 2.0


@dataclass(frozen=True, slots=True)
class Rating:
    """How hard a bar is: ``score`` 0 to 10 with one decimal, and why, worst first.

    ``kinds`` names the load behind each reason (``loads.Kind``).
    ``worst`` is the stretch of the hardest load from its first onset to its end, in
    whole notes from the barline, or None where nothing is hard.
    """

    score: float
    reasons: tuple[str, ...]
    worst: tuple[Fraction, Fraction] | None
    kinds: tuple[Kind, ...] = ()


def rate_bar(
    bar: Bar,
    *,
    tempo: int,
    tuning: Tuning,
    shapes: Mapping[str, Shape] = {},
    before: Bar | None = None,
    reduced: bool = False,
    syllables: Syllables = BEATS_AND,
) -> Rating:
    """Rate ``bar`` at ``tempo`` metronome beats a minute (a dotted beat in compound meters).

    ``shapes`` gives the left hand for each chord symbol; a symbol without one is
    passed over. ``before`` is the bar played just before, whose last chord the hand
    comes from. ``reduced``: only the fingers whose strings sound are held.

    >>> from pieces.music.tuning import TUNINGS
    >>> bar = Bar.of("4/4", "1/4 1/8 1/8 1/4 1/8 1/8")
    >>> rate_bar(bar, tempo=76, tuning=TUNINGS["ukulele high G"]).reasons[0]
    'Six notes in four counts: up to 2.5 a second at 76.'
    """
    moments = [event for event in bar.events if event.struck]
    if not moments:
        return Rating(0.0, ("Nothing is played here.",), None)
    whole_note = 60 / (tempo * float(bar.meter.beat))
    loads = [
        *pace_loads(bar, moments, tempo, whole_note),
        *between_loads(bar, moments, whole_note, syllables),
        *left_hand_loads(bar, moments, whole_note, shapes, before, reduced),
        *picking_hand_loads(bar, moments, whole_note, tuning),
    ]
    loads = sorted((load for load in loads if load.points > 0), key=lambda load: -load.points)
    total = sum(load.points for load in loads)
    reasons = [load for load in loads if load.reason]
    said = [load for load in reasons if load.points >= WORTH_SAYING] or reasons[:1]
    hard = reasons[0].points >= BRACKETED
    return Rating(
        score=round(10 * (1 - 2 ** (-total / HALFWAY)), 1),
        reasons=tuple(load.reason for load in said),
        worst=(reasons[0].start, reasons[0].end) if hard else None,
        kinds=tuple(load.kind for load in said),
    )


class Evidence(NamedTuple):
    """What one learner needed for a bar: minutes expected by the plan, and minutes played."""

    expected: float
    needed: float


@dataclass(frozen=True, slots=True)
class Corrected:
    """A computed score, moved by what learners needed; the screen shows both."""

    score: float
    computed: float
    learners: int
    text: str


def correct_ratings(
    ratings: Mapping[int, Rating],
    classes: Mapping[int, int],
    evidence: Mapping[int, Sequence[Evidence]],
    judged: Collection[int] = (),
) -> dict[int, Corrected]:
    """Every bar that learners have played, corrected; bars that are the same share their evidence.

    Everything goes by bar number. ``judged`` are bars whose difficulty the teacher said: they stay as they are.
    """
    by_class: dict[int, list[Evidence]] = {}
    for number, found in evidence.items():
        by_class.setdefault(classes.get(number, number), []).extend(found)
    return {
        number: correct_rating(rating, by_class[first])
        for number, rating in ratings.items()
        if (first := classes.get(number, number)) in by_class and number not in judged
    }


def correct_rating(rating: Rating, evidence: Sequence[Evidence]) -> Corrected:
    """Move ``rating`` by what the studio's learners needed, little while they are few.

    Each learner who needed twice as long as expected says two points more; the mean
    of n learners counts for n / (n + 4), the rest stays with the computed score.

    >>> correct_rating(Rating(5.0, (), None), [Evidence(4, 8)] * 4).text
    '6.0: 4 learners needed 2.0 times as long as expected; computed 5.0.'
    """
    usable = [one for one in evidence if one.expected > 0 and one.needed > 0]
    if not usable:
        return Corrected(
            rating.score, rating.score, 0, f"{rating.score}: computed; no learner has played it yet."
        )
    doublings = [max(-MOST_DOUBLINGS, min(MOST_DOUBLINGS, log2(e.needed / e.expected))) for e in usable]
    mean = sum(doublings) / len(doublings)
    trust = len(usable) / (len(usable) + TRUSTED)
    score = round(max(0.0, min(10.0, rating.score + A_DOUBLING * trust * mean)), 1)
    learners = "1 learner" if len(usable) == 1 else f"{len(usable)} learners"
    text = f"{score}: {learners} needed {2**mean:.1f} times as long as expected; computed {rating.score}."
    return Corrected(score, rating.score, len(usable), text)

"""What the demo's teachers write in a lesson, from what they see of the week."""

from dataclasses import dataclass
from random import Random

from students.planning.stuck import Stuck


@dataclass(frozen=True)
class Week:
    """``days`` with practice since the last lesson, pieces at hand, what is stuck, whether all is secure."""

    days: int
    pieces: tuple[str, ...]
    stuck: Stuck | None = None
    all_secure: bool = False


ON_THE_WAY = (
    "Say the count aloud before the first note, then play.",
    "Let the long notes ring until the next one sounds.",
    "Thumb rests on the string it has just played; look once, then play without looking.",
    "Start each loop slower than you think, and stop while it still goes clean.",
    "Fingers stay near the strings: lift only what has to move.",
    "Join the two lines: last bar of the first, first bar of the second.",
)
PROMISES = (
    "",
    "",
    "",
    "Bring the spare strings.",
    "Play it for the pair before them.",
    "Listen to the click at 60.",
)


def note_of(week: Week, chance: Random) -> str:
    """The note for the learner.

    >>> note_of(Week(days=0, pieces=()), Random(1))
    'First lesson: how to hold the instrument, and counting four aloud.'
    """
    if not week.pieces:
        return "First lesson: how to hold the instrument, and counting four aloud."
    if week.all_secure:
        return "All of it holds. Play it through once for somebody at home."
    if week.stuck:
        bars = week.stuck
        where = f"Bar {bars.first}" if bars.first == bars.last else f"Bars {bars.first} to {bars.last}"
        return f"{where} on its own, four marks slower than now, three clean in a row before the next mark."
    if week.days < 3:
        return "Few days this week. Five minutes are enough; the same time every day helps."
    return chance.choice(ON_THE_WAY)


def promise_of(week: Week, chance: Random) -> str:
    """What the teacher means to do or bring next time; mostly nothing."""
    return chance.choice(PROMISES) if week.pieces else "Print a sign-in card."

"""Who teaches and learns at the demo studio: invented people, as plain values.

Times are told from today backwards, so that the studio looks the same on whatever day
it is loaded: ``weeks`` and ``days`` count back from today, ``lesson`` is the number of
days until the next lesson (0: today).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from students.models import WEEKDAYS

STUDIO = "Lantern Row Strings"
TIME_ZONE = "Europe/London"
OWNER = ("Ines Calder", "owner@lantern.example")
SECOND_TEACHER = ("Tam Ruddock", "teacher@lantern.example")
PAIR = ("Isla Marrow", "Tamsin Quay")
EVENING = ("Open evening", "Mill Hall")
# What is played that evening, by whom; None: by the pair.
PROGRAMME = (("Simple Gifts", None), ("Harbour Steps", "Otto Brand"), ("Greensleeves", "Odile Marsh"))
EVENING_IN = 9  # days


@dataclass(frozen=True)
class Given:
    """Sections of a piece, given ``days`` ago and kept until put away ``put_away`` days ago.

    ``performs_in`` is the number of days from today until it is performed; without it
    the date is always the next lesson. ``goal`` overrides the piece's own tempo.
    """

    piece: str
    days: int
    letters: tuple[str, ...]
    put_away: int | None = None
    performs_in: int | None = None
    goal: int | None = None


@dataclass(frozen=True)
class Habits:
    """How somebody practises.

    ``regular`` is the chance that a planned day is practised, ``ease`` the chance that
    a loop of middling difficulty goes clean as planned, ``pace`` their minutes over
    what was planned. The last practice was ``silent`` days ago (0: whenever chance has
    it). ``returns`` says whether pieces that were put away are played when they come
    back. ``sticks`` names bars that never get past a tempo, as {(piece, bar): tempo}.
    """

    regular: float = 0.85
    ease: float = 0.75
    pace: float = 1.0
    silent: int = 0
    returns: bool = True
    sticks: Mapping[tuple[str, int], int] = field(default_factory=dict)


def every_day(minutes: int, *off: str) -> dict[str, int]:
    """Minutes by weekday, none on the days ``off``."""
    return {day: 0 if day in off else minutes for day in WEEKDAYS}


@dataclass(frozen=True)
class Person:
    """A learner. ``at`` is the time of the lesson, ``teacher`` 0 for the owner and 1 for the second."""

    name: str
    level: str
    lesson: int
    at: str
    joined: int
    habits: Habits
    given: tuple[Given, ...] = ()
    instrument: str = "ukulele high G"
    hand: str = "right"
    minutes: Mapping[str, int] = field(default_factory=lambda: every_day(10, "sun"))
    teacher: int = 0
    is_child: bool = True
    has_card: bool = True
    note: str = ""


PEOPLE = (
    # Stuck at one place of the section that everything else is ready for.
    Person(
        "Juno Pell",
        "beginner",
        lesson=0,
        at="16:30",
        joined=56,
        minutes=every_day(12, "sun"),
        habits=Habits(regular=1.0, ease=0.85, pace=1.1, sticks={("Two Lanterns", 3): 54}),
        given=(
            Given("Scarborough Fair", 56, ("A", "B"), put_away=7),
            Given("Two Lanterns", 7, ("A",)),
        ),
        note="Likes to know why a finger stays.",
    ),
    # Performs soon, and the minutes that are left do not hold what is still to learn.
    Person(
        "Otto Brand",
        "beginner",
        lesson=2,
        at="16:00",
        joined=56,
        minutes=every_day(8, "sun"),
        habits=Habits(regular=0.6, ease=0.6, pace=1.15, returns=False),
        given=(
            Given("Two Lanterns", 56, ("A", "A'"), put_away=19),
            Given("Harbour Steps", 19, ("A", "B", "A'"), performs_in=EVENING_IN),
        ),
        note="Plays Harbour Steps at the open evening.",
    ),
    # Was getting on, then nothing for six days.
    Person(
        "Ravi Sandor",
        "beginner",
        lesson=0,
        at="18:15",
        joined=56,
        minutes=every_day(10),
        habits=Habits(regular=0.8, ease=0.75, silent=6, returns=False),
        given=(
            Given("Two Lanterns", 42, ("A", "A'"), put_away=28),
            Given("Scarborough Fair", 28, ("A", "B", "C", "D")),
        ),
    ),
    # Everything that was given is secure.
    Person(
        "Nell Farrow",
        "intermediate",
        lesson=1,
        at="17:00",
        joined=56,
        minutes=every_day(20, "sat"),
        habits=Habits(regular=0.97, ease=0.97, pace=0.85),
        given=(
            Given("Scarborough Fair", 56, ("A", "B"), put_away=34),
            Given("Two Lanterns", 34, ("A", "A'", "B")),
        ),
    ),
    # Two Lanterns was put away and is due again; Harbour Steps is under way.
    Person(
        "Bram Holt",
        "intermediate",
        lesson=0,
        at="15:30",
        joined=56,
        minutes=every_day(15, "sun"),
        habits=Habits(regular=0.9, ease=0.88),
        given=(
            Given("Two Lanterns", 56, ("A", "A'"), put_away=14),
            Given("Harbour Steps", 14, ("A", "B", "A'")),
        ),
    ),
    # Steady and well on the way.
    Person(
        "Odile Marsh",
        "advanced",
        lesson=0,
        at="16:00",
        joined=11,
        instrument="ukulele low G",
        minutes=every_day(12, "sun"),
        habits=Habits(regular=0.9, ease=0.72, pace=0.95),
        given=(Given("Greensleeves", 11, ("A", "A'", "B", "B'")),),
        teacher=1,
        is_child=False,
    ),
    # The pair come together; one of them missed the last days.
    Person(
        "Isla Marrow",
        "beginner",
        lesson=0,
        at="17:30",
        joined=28,
        instrument="baritone ukulele",
        habits=Habits(regular=1.0, ease=0.82),
        given=(Given("Simple Gifts", 28, ("A", "B", "C", "D")),),
        teacher=1,
    ),
    Person(
        "Tamsin Quay",
        "beginner",
        lesson=0,
        at="17:30",
        joined=28,
        instrument="baritone ukulele",
        minutes=every_day(10),
        habits=Habits(regular=0.7, ease=0.65, pace=1.2, silent=5),
        given=(Given("Simple Gifts", 28, ("A", "B", "C", "D")),),
        teacher=1,
    ),
    Person(
        "Piet Lorne",
        "intermediate",
        lesson=4,
        at="18:15",
        joined=24,
        instrument="guitar",
        hand="left",
        minutes={"mon": 15, "tue": 15, "wed": 0, "thu": 20, "fri": 15, "sat": 20, "sun": 20},
        habits=Habits(regular=0.8, ease=0.75),
        given=(Given("Weir Waltz", 24, ("A", "B")),),
        teacher=1,
        is_child=False,
    ),
    # Came yesterday for the first time: no piece yet, no card.
    Person(
        "Wenna Tarn",
        "beginner",
        lesson=6,
        at="16:30",
        joined=1,
        habits=Habits(),
        has_card=False,
        note="First lesson was about holding the instrument and counting four.",
    ),
)

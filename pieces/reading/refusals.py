"""How much one file may hold, and what a person is told when it is refused."""

from pieces.music.score import Problem, UnreadableScore

MOST_NOTES = 20_000
MOST_BARS = 2_000


def refuse(message: str, remedy: str = "", **place) -> Problem:
    """A reason why nothing is read; ``place`` is line, column or bar."""
    return Problem(message, remedy, fatal=True, **place)


def refused(message: str, remedy: str = "", **place) -> UnreadableScore:
    """The exception for one such reason."""
    return UnreadableScore([refuse(message, remedy, **place)])

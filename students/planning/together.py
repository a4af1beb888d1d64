"""Who of a group is ahead and who behind, against the middle of the group.

Progress is half the loops that were met, half the sections at tempo; ahead or behind
is a fifth or more from the median (common practice, no source).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median
from typing import Literal

FAR = 0.2


@dataclass(frozen=True)
class Member:
    """How far one learner is with the piece of a group; ``last`` is the day of the last tick.

    ``number`` tells members of one name apart.
    """

    name: str
    met: int
    loops: int
    at_tempo: int
    sections: int
    last: date | None = None
    number: int = 0

    @property
    def progress(self) -> float:
        """From 0, not begun, to 1, everything at tempo."""
        met = self.met / self.loops if self.loops else 0
        return (met + (self.at_tempo / self.sections if self.sections else 0)) / 2


@dataclass(frozen=True)
class Place:
    """Where a member is within the group, with the evidence."""

    member: Member
    where: Literal["ahead", "with the group", "behind"]
    text: str


def places(members: Sequence[Member]) -> list[Place]:
    """The members from the one furthest ahead to the one furthest behind.

    >>> three = [Member("Nell", 9, 10, 1, 1), Member("Otto", 4, 10, 0, 1), Member("Juno", 5, 10, 0, 1)]
    >>> [(place.member.name, place.where) for place in places(three)]
    [('Nell', 'ahead'), ('Juno', 'with the group'), ('Otto', 'with the group')]
    """
    if not members:
        return []
    middle = median(member.progress for member in members)
    in_order = sorted(members, key=lambda member: (-member.progress, member.name))
    return [Place(member, _where(member.progress - middle), _text(member)) for member in in_order]


def _where(distance: float) -> Literal["ahead", "with the group", "behind"]:
    if distance >= FAR:
        return "ahead"
    return "behind" if distance <= -FAR else "with the group"


def _text(member: Member) -> str:
    return (
        f"{member.met} of {member.loops} loop{_s(member.loops)} met, "
        f"{member.at_tempo} of {member.sections} section{_s(member.sections)} at tempo."
    )


def _s(number: int) -> str:
    return "" if number == 1 else "s"

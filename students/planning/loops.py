"""The loop, the unit of practice, and what can be done with a row of loops."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

Kind = Literal["bar", "pair", "half", "section", "join", "run", "drill"]


@dataclass(frozen=True, slots=True)
class Chunk:
    """A loop, the unit of practice.

    ``key`` is stable for one arrangement: "bar:3", "pair:1-2", "join:2-3",
    "half:1-4", "section:A", "run", "drill:change:Am-F", "drill:rhythm:3".
    ``bars`` are its bar numbers in the order played, ``first`` and ``last`` the ends
    of that order. ``beats`` are metronome beats in one pass. ``rating`` is the
    difficulty of its hardest bar, 0-10. ``parts`` are the keys of the loops it is
    made of, which come before it. ``section`` is a section letter ("" for the run).
    It climbs from ``start`` to ``goal``, beats a minute. ``resembles`` is the key of
    an earlier loop that it is nearly the same as. ``why`` says what it is for, to be
    read after "New:". ``sections`` are the letters of all chosen sections in which it
    is played; ``across``: it ties them together, and is of use only with all of them.
    ``start_goal`` is the goal from which the start was taken. ``apart`` are the loops that
    it is broken down into where it is stuck (``breaking``): its bars by themselves, each
    after the drill of its rhythm or change.
    """

    key: str
    kind: Kind
    first: int
    last: int
    label: str
    bars: tuple[int, ...]
    beats: Fraction
    rating: float
    parts: tuple[str, ...]
    section: str
    start: int
    goal: int
    resembles: str | None = None
    why: str = ""
    sections: tuple[str, ...] = ()
    across: bool = False
    start_goal: int = 0
    apart: tuple["Chunk", ...] = ()

    @property
    def is_whole(self) -> bool:
        """Whether it is a section or the run, which are played rather than drilled."""
        return self.kind in ("section", "run")


def letters_of(chunks: Iterable[Chunk]) -> tuple[str, ...]:
    """The section letters that ``chunks`` cover, in order of appearance."""
    return tuple(dict.fromkeys(c.section for c in chunks if c.section))


def keep_sections(chunks: Sequence[Chunk], letters: Iterable[str]) -> tuple[Chunk, ...]:
    """Only the loops that are needed for the sections of these letters, without the run."""
    keep = set(letters)
    kept = [
        chunk
        for chunk in chunks
        if chunk.kind != "run"
        and (keep.issuperset(chunk.sections) if chunk.across else keep.intersection(chunk.sections))
        and (chunk.kind != "section" or chunk.section in keep)
    ]
    return with_known_parts(kept)


def with_known_parts(chunks: Sequence[Chunk]) -> tuple[Chunk, ...]:
    """``chunks`` without references to loops that are not among them."""
    keys = {chunk.key for chunk in chunks}
    return tuple(
        replace(
            chunk,
            parts=tuple(part for part in chunk.parts if part in keys),
            resembles=chunk.resembles if chunk.resembles in keys else None,
        )
        for chunk in chunks
    )


def lower_goal(chunks: Iterable[Chunk], goal: int) -> tuple[Chunk, ...]:
    """The same loops with the goal lowered to ``goal`` for now; each starts where it would have.

    What they would be broken down into follows once it is needed (``breaking``).
    """
    return tuple(replace(chunk, goal=min(goal, chunk.goal), start=min(goal, chunk.start)) for chunk in chunks)

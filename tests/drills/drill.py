"""What a drill is, and what it tells."""

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Outcome:
    """What was measured, in words, and every way in which the promise was broken."""

    figures: str
    broken: tuple[str, ...] = ()

    @property
    def held(self) -> bool:
        return not self.broken


@dataclass(frozen=True)
class Drill:
    """A promise, how it is tried (``run(short)``), and what breaks its guard, by what is broken."""

    name: str
    promise: str
    run: Callable[[bool], Outcome]
    mutations: Mapping[str, Callable[[], AbstractContextManager]] = field(default_factory=dict)
    only_on: str | None = None  # a database vendor

    def tried(self, *, short: bool, broken: str | None = None) -> Outcome:
        """The outcome, with the guard named by ``broken`` out of order."""
        with self.mutations[broken]() if broken else nullcontext():
            return self.run(short)


def faults(**counted: int) -> tuple[str, ...]:
    """Those counts that are not nought, in words.

    >>> faults(ticks_lost=0, ticks_doubled=2)
    ('2 ticks doubled',)
    """
    return tuple(f"{count} {name.replace('_', ' ')}" for name, count in counted.items() if count)

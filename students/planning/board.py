"""The days while they are being filled, one loop after the other."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from students.planning.loads import Days, Load, Placed, Stop, due

# Returns each near the night it is due; the first so and the others as late as can be;
# all as soon, or all as late as can be.
Style = Literal["spaced", "held back", "soon", "late"]
STYLES: tuple[Style, ...] = ("spaced", "held back", "soon", "late")


@dataclass(slots=True)
class Board:
    """The days while they are being filled."""

    loads: Sequence[Load]
    days: Days
    placed: Placed
    style: Style
    caps: list[int]
    kept: dict[int, int] = field(default_factory=dict)
    new_on: dict[int, set[int]] = field(default_factory=dict)

    @property
    def end(self) -> int:
        return len(self.days.room) - 1

    def keep_the_close(self, i: int, load: Load) -> None:
        """Set aside the minutes of a play-through on the last day, where it has them."""
        if load.close and self.end >= 0 and self.placed.free[self.end] >= load.close:
            self.kept[i] = load.close
            self.placed.free[self.end] -= load.close

    def take_the_close(self, i: int, load: Load, full: int) -> int:
        """Minutes of the last day's visit: all of ``full`` where they fit, else once through, else 0."""
        if self.end < 0 or not load.close:
            return 0
        self.placed.free[self.end] += self.kept.pop(i, 0)
        free = self.placed.free[self.end]
        return full if 0 < full <= free else load.close if load.close <= free else 0

    def place_met(self, i: int, load: Load) -> None:
        sizes, before = load.returns, None
        close = self.take_the_close(i, load, sizes[-1] if sizes else 0)
        if close:
            sizes, before = sizes[:-1], self.end
        taken = self.find_returns(sizes, 0, load.since, anew=load.anew, before=before)
        for day, minutes, off in taken:
            self.put(i, day, minutes, off)
        if close:
            self.put(i, self.end, close, 0)
        short = len(sizes) - len(taken) + (self.end >= 0 and load.close > 0 and not close and not sizes)
        if short:
            self.placed.missing[i] = short

    def place_unmet(self, i: int, load: Load) -> None:
        closes = bool(load.close and load.returns)
        full = load.returns[-1] if closes else 0
        close = self.take_the_close(i, load, full)
        earliest = self.earliest(load)
        if earliest is None or (closes and not close):
            self.placed.missing[i] = load.visits
            return
        sizes = load.returns[:-1] if closes else load.returns
        for day in range(earliest, len(self.days.room) - len(load.returns)):
            if not self.admits(i, day):
                continue
            since = self.days.ordinals[day]
            before = self.end if closes else None
            taken = self.find_returns(sizes, day + 1, since, anew=True, before=before)
            if len(taken) < len(sizes):
                continue
            self.put(i, day, load.new, 0, new=True)
            for at, minutes, off in taken:
                self.put(i, at, minutes, off)
            if closes:
                self.put(i, self.end, close, 0)
            return
        self.placed.missing[i] = load.visits

    def earliest(self, load: Load) -> int | None:
        """The first day on which all parts have been met; None where one never is."""
        parts = [part for part in load.parts if self.loads[part].new]
        if any(part not in self.placed.first for part in parts):
            return None
        return max((self.placed.first[part] for part in parts), default=0)

    def admits(self, i: int, day: int) -> bool:
        """Whether load ``i`` can be new on ``day``."""
        load, new = self.loads[i], self.new_on.get(day, ())
        return (
            self.caps[day] > 0
            and self.placed.free[day] >= load.new
            and load.like not in new
            and not any(self.loads[other].like == i for other in new)
        )

    def put(self, i: int, day: int, minutes: int, off: int, *, new: bool = False) -> None:
        self.placed.stops.append(Stop(i, day, minutes, new))
        self.placed.free[day] -= minutes
        self.placed.off += off
        if new:
            self.caps[day] -= 1
            self.placed.first[i] = day
            self.new_on.setdefault(day, set()).add(i)

    def find_returns(
        self, sizes: Sequence[int], first: int, since: int, *, anew: bool, before: int | None
    ) -> list[tuple[int, int, int]]:
        """Days for returns in order, as (day, minutes, nights off); as many as find room."""
        ordinals, free = self.days.ordinals, self.placed.free
        taken: list[tuple[int, int, int]] = []
        stop = len(ordinals) if before is None else before
        for number, size in enumerate(sizes):
            wanted = due(since, self.days.goal, anew=anew and number == 0)
            still = len(sizes) - number - 1
            options = [day for day in range(first, stop - still) if free[day] >= size]
            if not options:
                break
            style = self.style
            # What is owed since an earlier day is never put off to make room.
            if style == "spaced" or (number == 0 and (style == "held back" or first == 0)):
                day = min(options, key=lambda d: (abs(ordinals[d] - wanted), -free[d], d))
            else:
                day = options[0 if style == "soon" else -1]
            taken.append((day, size, abs(ordinals[day] - max(wanted, ordinals[0]))))
            since, first = ordinals[day], day + 1
        return taken

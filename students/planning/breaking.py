"""A loop that is stuck is broken down: the bar that holds it alone first.

The bar that the stuck loops share (``stuck.pinpoint``) is taken by itself, a few marks
below where they are stuck, after the drill of its rhythm or change; the loops rest until
it has been played so, and come back a night later (common practice, no source). Once the
bar went clean at the tempo where they were stuck, they no longer wait for it. A bar that
is itself stuck waits for its drill in the same way.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from students.planning.history import History
from students.planning.loops import Chunk, lower_goal, with_known_parts
from students.planning.stuck import LOOK_BACK, Stuck, pinpoint
from students.planning.tempo import step_down

# A bar is taken so many marks below the tempo at which its loops are stuck.
BELOW = 4


@dataclass(frozen=True)
class Broken:
    """Loops with those that the stuck ones are broken down into.

    ``alone`` says of each loop that is taken alone what it holds, ``below`` from which
    tempo it is taken up at most; ``waits`` names for each loop that rests the one it
    waits for.
    """

    chunks: tuple[Chunk, ...]
    alone: Mapping[str, Stuck] = field(default_factory=dict)
    below: Mapping[str, int] = field(default_factory=dict)
    waits: Mapping[str, str] = field(default_factory=dict)


def break_down(chunks: Sequence[Chunk], history: History) -> Broken:
    """``chunks`` with the loops that stuck ones are broken down into, parts before wholes.

    What was taken alone within two weeks before the last tick stays among them, so that
    it comes back.
    """
    if not history.ticks:
        return Broken(tuple(chunks))
    apart = {part.key: part for chunk in chunks for part in chunk.apart}
    alone: dict[str, Stuck] = {}
    below: dict[str, int] = {}
    for one in pinpoint(history):
        key = _taken_first(one, chunks, apart)
        if key and not _is_done(key, one, history):
            alone[key] = one
            if not _played_since(key, one, history):
                below[key] = step_down(one.tempo, BELOW)
    wanted = [*alone, *(key for key in apart if _was_taken_lately(key, history))]
    wanted += [part for key in wanted if key in apart for part in apart[key].parts]
    added = {key: apart[key] for key in wanted if key in apart}
    cut = _put_in(chunks, added)
    waits = {
        chunk.key: key
        for key, one in alone.items()
        for chunk in cut
        if chunk.key != key and (chunk.key in one.loops or _goes_badly_there(chunk, one, history))
    }
    return Broken(cut, alone, below, waits)


def _taken_first(one: Stuck, chunks: Sequence[Chunk], apart: Mapping[str, Chunk]) -> str | None:
    """The loop to take alone: the bar, or its drill where the bar alone is stuck too; None for neither."""
    if one.first != one.last:
        return None
    key = f"bar:{one.first}"
    if key not in one.loops:
        return key if key in apart or any(chunk.key == key for chunk in chunks) else None
    bar = next((chunk for chunk in (*chunks, *apart.values()) if chunk.key == key), None)
    drills = [] if bar is None else [*bar.parts, *(part.key for part in bar.apart)]
    return next((drill for drill in drills if drill.startswith("drill:") and drill not in one.loops), None)


def _goes_badly_there(chunk: Chunk, one: Stuck, history: History) -> bool:
    ticks = history.by_loop.get(chunk.key)
    return bool(ticks) and chunk.kind != "drill" and one.first in chunk.bars and ticks[-1].felt != "clean"


def _is_done(key: str, one: Stuck, history: History) -> bool:
    """Whether it was played alone since its loops were, a bar clean at the tempo where they are stuck."""
    if not _played_since(key, one, history):
        return False
    last = history.by_loop[key][-1]
    return last.kind == "drill" or (last.felt == "clean" and last.tempo >= one.tempo)


def _played_since(key: str, one: Stuck, history: History) -> bool:
    ticks = history.by_loop.get(key)
    loops = [history.by_loop[loop][-1].day for loop in one.loops if loop in history.by_loop]
    return bool(ticks) and ticks[-1].day >= max(loops, default=date.min)


def _was_taken_lately(key: str, history: History) -> bool:
    ticks = history.by_loop.get(key)
    return bool(ticks) and (history.ticks[-1].day - ticks[-1].day).days <= LOOK_BACK


def _put_in(chunks: Sequence[Chunk], added: Mapping[str, Chunk]) -> tuple[Chunk, ...]:
    """``chunks`` with each of ``added`` before the first loop that it was taken from, and a part of it."""
    if not added:
        return tuple(chunks)
    left, made = dict(added), []
    for chunk in chunks:
        own = [part.key for part in chunk.apart if part.key in added]
        # The goal of a loop may have been lowered since it was cut.
        made += lower_goal([left.pop(key) for key in own if key in left], chunk.goal)
        inside = {part for key in own for part in added[key].parts}
        outermost = tuple(key for key in own if key not in inside and key not in chunk.parts)
        made.append(replace(chunk, parts=(*outermost, *chunk.parts)) if outermost else chunk)
    return with_known_parts(made)

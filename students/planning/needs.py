"""What each loop still needs of the days ahead, given where the learner stands with it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from students.planning.breaking import Broken, break_down
from students.planning.climbing import Climb, climb_of
from students.planning.history import LONG_AWAY, History, TickRecord
from students.planning.loads import Days, Load
from students.planning.loops import Chunk, letters_of
from students.planning.plan import Calendar, Learner
from students.planning.standing import standing_of
from students.planning.stuck import Stuck
from students.planning.tempo import climb
from students.planning.visits import (
    AHEAD,
    State,
    Visit,
    behind_parts,
    marks_after,
    play_through,
    ready_tempo,
    returns_left,
    visits_ahead,
    was_long_away,
)

# Every new loop comes back on at least so many other days, where the calendar has them.
RETURNS = 2
SECURE = ("secure", "due again")
GOES_WELL = ("at tempo", *SECURE)


@dataclass(frozen=True)
class Need:
    """A loop, where the learner stands with it, and the visits it still needs.

    ``tempo`` is where it is taken up, ``ready`` from where it may rest. ``secure``: it
    is only played through. ``share`` is how much of the usual climb a visit makes. ``within`` is
    the fastest clean tick of something that it is a part of; ``goes_well``: it is a
    section that stands at tempo. ``holds``: it is taken alone, for what is stuck there;
    ``waits`` is the place of the need that it rests for, as it is stuck itself.
    """

    chunk: Chunk
    state: State
    tempo: int
    ready: int
    visits: tuple[Visit, ...]
    load: Load
    secure: bool
    share: float = 1.0
    within: TickRecord | None = None
    goes_well: bool = False
    holds: Stuck | None = None
    waits: int | None = None

    @property
    def is_slow(self) -> bool:
        """Whether it is a whole on its way to the goal that climbs less than usual."""
        return self.chunk.is_whole and not self.secure and self.share < 1 and self.tempo < self.chunk.goal

    def was_long_away(self, on: date) -> bool:
        """Whether it has not been played for more than a week, nor anything that it is a part of."""
        lately = self.within is not None and (on - self.within.day).days < LONG_AWAY
        return was_long_away(self.state, on) and not lately

    def after(self, visits: int) -> int:
        """The tempo it will have reached after so many more visits."""
        return climb(self.tempo, self.chunk.goal, marks_after(self.chunk, visits, self.share))

    @property
    def minutes(self) -> int:
        """Minutes of all that it needs; a secure section needs its play-through."""
        return self.load.new + sum(self.load.returns) or self.load.close

    @property
    def is_known(self) -> bool:
        """Whether it has been met, or the teacher's mark says so."""
        return not self.load.new


def needs_of(
    chunks: Sequence[Chunk], calendar: Calendar, learner: Learner, history: History, today: date
) -> list[Need]:
    """The needs of all loops that want practice, parts before wholes.

    Left out are the parts of a whole that goes well: nothing secure is drilled. What is
    stuck is broken down (``breaking``).
    """
    broken = break_down(chunks, history)
    chunks = broken.chunks
    states = {chunk.key: State.of(history.by_loop.get(chunk.key, ())) for chunk in chunks}
    carried = _carried(chunks, states)
    standings = _standings(chunks, calendar, history, today)
    settled = _settled(chunks, states, standings)
    kept = [chunk for chunk in chunks if chunk.key not in settled]
    days = calendar.days
    view = _View(
        states=states,
        standings=standings,
        places={chunk.key: at for at, chunk in enumerate(kept)},
        sections_at={
            chunk.section: _kept_up_with(chunk, states[chunk.key], today)
            for chunk in chunks
            if chunk.kind == "section" and states[chunk.key].is_met
        },
        carried=carried,
        returns=max(0, min(RETURNS, len(days) - 1)),
        left=sum(1 for day in days if day >= today),
        pace=learner.pace,
        today=today,
        climb=climb_of(chunks, history, learner.climb),
        broken=broken,
    )
    return [_need(chunk, view) for chunk in kept]


def days_ahead(calendar: Calendar, learner: Learner, today: date, needs: Iterable[Need]) -> Days:
    """The days from ``today`` on; on a gentle day nothing is new while anything is known."""
    dates = [day for day in calendar.days if day >= today]
    gentle_cap = 0 if any(need.is_known for need in needs) else min(1, learner.new_loops)
    return Days(
        ordinals=tuple(day.toordinal() for day in dates),
        room=tuple(calendar.room(day) for day in dates),
        caps=tuple(gentle_cap if day in calendar.gentle else learner.new_loops for day in dates),
        goal=calendar.goal_date.toordinal(),
    )


def _standings(chunks: Sequence[Chunk], calendar: Calendar, history: History, today: date) -> dict[str, str]:
    letters = letters_of(chunks)
    if not (history.ticks or history.marks):
        return dict.fromkeys(letters, "new")
    return {
        letter: standing_of(letter, chunks, history, today, performance=calendar.performance).name
        for letter in letters
    }


def _settled(chunks: Sequence[Chunk], states: Mapping[str, State], standings: Mapping[str, str]) -> set[str]:
    """Loops that need no practice of their own, as a whole that they are part of goes well."""
    by_key = {chunk.key: chunk for chunk in chunks}
    queue = [chunk for chunk in chunks if _goes_well(chunk, states[chunk.key], standings)]
    settled: set[str] = set()
    for whole in queue:
        for key in whole.parts:
            part = by_key.get(key)
            if part and key not in settled:
                queue.append(part)
                if not part.is_whole:
                    settled.add(key)
    return settled


def _carried(chunks: Sequence[Chunk], states: Mapping[str, State]) -> dict[str, TickRecord]:
    """For each loop, the fastest clean tick of those that it is a part of: what it goes at within them."""
    carried: dict[str, TickRecord] = {}
    for chunk in reversed(chunks):
        state = states[chunk.key]
        above = [carried[chunk.key]] if chunk.key in carried else []
        own = [state.ticks[-1]] if state.is_clean and chunk.parts else []
        if best := max((*above, *own), key=lambda tick: tick.tempo, default=None):
            for part in chunk.parts:
                if part not in carried or carried[part].tempo < best.tempo:
                    carried[part] = best
    return carried


def _goes_well(chunk: Chunk, state: State, standings: Mapping[str, str]) -> bool:
    if not chunk.is_whole:
        return False
    if chunk.kind == "section" and standings[chunk.section] in GOES_WELL:
        return True
    return state.is_clean and state.ticks[-1].tempo >= chunk.goal


@dataclass(frozen=True)
class _View:
    """What the need of a loop is judged by besides the loop itself.

    ``places`` are the places of the loops in the list of needs, ``sections_at`` the
    tempos that the loops of sections already met must keep up with, by letter, ``returns`` how many each new loop has,
    ``left`` how many days there are.
    """

    states: Mapping[str, State]
    standings: Mapping[str, str]
    places: Mapping[str, int]
    sections_at: Mapping[str, int]
    carried: Mapping[str, TickRecord]
    returns: int
    left: int
    pace: float
    today: date
    climb: Climb
    broken: Broken

    def tempo_of(self, chunk: Chunk, *, judged: bool) -> int:
        """Where ``chunk`` is taken up: at the goal where the teacher's mark says that it goes."""
        state = self.states[chunk.key]
        if judged:
            return chunk.goal
        if chunk.key in self.broken.below:
            return min(state.tempo(chunk, self.today), self.broken.below[chunk.key])
        left = state.tempo(chunk, self.today)
        if chunk.key in self.broken.alone:
            return left
        within = self.carried.get(chunk.key)
        if within and state.is_met and (state.is_clean or within.day > state.days[-1]):
            left = max(left, min(within.tempo, chunk.goal))
        elif state.is_met and not state.is_clean:
            return left
        parts = [self.states[key] for key in chunk.parts if key in self.states]
        behind = behind_parts(chunk, [part.ticks[-1] for part in parts if part.is_met])
        return max(left, behind) if state.is_met else behind

    def returns_of(self, chunk: Chunk, *, new: bool, secure: bool) -> int:
        """How many returns ``chunk`` needs."""
        state = self.states[chunk.key]
        if secure or chunk.key in self.broken.waits:
            return 0
        if state.is_met and chunk.key in self.broken.alone:
            return min(self.left, max(1, returns_left(chunk, state, self.returns)))
        if not state.is_met:
            return self.returns if new else min(self.left, 1)
        within = self.carried.get(chunk.key)
        if within and within.day > state.days[-1] and within.tempo >= state.ticks[-1].tempo:
            # It came back within something longer, and went.
            return 0
        return min(self.left, returns_left(chunk, state, self.returns))

    def ready(self, chunk: Chunk) -> int:
        """The tempo from which ``chunk`` may rest."""
        within = self.carried.get(chunk.key)
        state = self.states[chunk.key]
        if within and state.is_met and within.day >= state.days[-1] and not chunk.across:
            return min(within.tempo, chunk.goal)
        at = [self.sections_at[letter] for letter in chunk.sections if letter in self.sections_at]
        return ready_tempo(chunk, at)


def _kept_up_with(section: Chunk, state: State, today: date) -> int:
    """The tempo that its loops must go at: its own where it went clean, else some marks ahead."""
    at = state.tempo(section, today)
    return at if state.is_clean else climb(at, section.goal, AHEAD)


def _need(chunk: Chunk, view: _View) -> Need:
    state, today = view.states[chunk.key], view.today
    standing = view.standings[chunk.section] if chunk.kind == "section" else ""
    secure = standing in SECURE or (standing != "learning" and state.is_secure(chunk))
    judged = standing in GOES_WELL and not state.is_met
    new = not (state.is_met or judged)
    tempo = view.tempo_of(chunk, judged=judged)
    count = new + view.returns_of(chunk, new=new, secure=secure)
    share = view.climb.share(chunk)
    visits = visits_ahead(chunk, tempo, count, new=new, pace=view.pace, share=share)
    last_played = state.days[-1] if state.days else today - timedelta(days=1)
    load = Load(
        new=visits[0].minutes if new else 0,
        returns=tuple(each.minutes for each in visits[new:]),
        since=last_played.toordinal(),
        anew=len(state.days) < 2 or not state.is_clean,
        parts=tuple(view.places[part] for part in chunk.parts if part in view.places),
        like=view.places.get(chunk.resembles or ""),
        close=play_through(chunk.beats, tempo, view.pace).minutes if chunk.kind == "section" else 0,
    )
    return Need(
        chunk, state, tempo, view.ready(chunk), tuple(visits), load, secure, share, view.carried.get(chunk.key),
        standing in GOES_WELL, view.broken.alone.get(chunk.key),
        view.places.get(view.broken.waits.get(chunk.key, "")),
    )  # fmt: skip

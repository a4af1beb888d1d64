"""A tune arranged for the instrument, from the melody alone to the melody over full chords.

The melody always sounds highest, or alone; beneath it stand only tones of the
chord in force; one finger is in one place, and the hand never opens wider than it
can. The search for the easiest hands is in ``hand_path``.
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from types import MappingProxyType

from pieces.music.best_keys import KeyRank, best_keys
from pieces.music.grips import HIGHEST_FRET, Grip
from pieces.music.hand_path import Moment, cheapest_grips, is_too_fast
from pieces.music.harmonizing import Proposal, propose_symbols
from pieces.music.instruments import Moved, set_for
from pieces.music.melody import (
    Harmony,
    Symbols,
    bar_starts,
    harmonies_of,
    harmony_at,
    strong_beats,
    top_note,
)
from pieces.music.picking import DEFAULT_TEMPO, assign_picking
from pieces.music.score import Bar, Event, Note, Score
from pieces.music.setting import transpose
from pieces.music.tuning import Tuning
from pieces.music.words import counted, listed

__all__ = [
    "LEVELS",
    "Arrangement",
    "KeyRank",
    "Moved",
    "OutOfReach",
    "Proposal",
    "arrange",
    "arrange_bars",
    "arrange_levels",
    "best_keys",
    "propose_symbols",
    "set_for",
]

LEVELS = MappingProxyType(
    {
        1: "melody alone",
        2: "melody with open or thumb notes",
        3: "melody over partial chords on strong beats",
        4: "full chord melody",
    }
)
MIXED = "levels chosen bar by bar"
WANTED = MappingProxyType({1: 0, 2: 1, 3: 2, 4: 3})  # tones beneath the melody, by level
HARMONY = 2  # tones beneath the melody that make a harmony
LACKING = 12.0  # what each tone short costs on a strong beat or a change of chord
LACKING_BETWEEN = 0.8  # and on the other beats of a full chord melody


class OutOfReach(ValueError):
    """The tune is wider than the instrument, or lies outside it; the message says which bars."""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A tune set on strings, with both hands' fingers.

    ``level`` is 0 where its bars are of several levels. ``proposed``: its chords are
    only a proposal. ``strong`` counts the strong beats on which the melody sounds over a
    chord, ``carried`` those of them with two or more chord tones beneath it. ``remarks``
    are sentences for the teacher.
    """

    level: int
    name: str
    score: Score
    proposed: bool
    strong: int
    carried: int
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Step:
    """A moment of the search and where it stands in the score: part of an event, or all of it."""

    bar: int
    source: Event
    at: Fraction
    onset: Fraction
    duration: Fraction
    strong: bool
    moment: Moment


def arrange(
    melody: Score, symbols: Symbols | None, tuning: Tuning, level: int, *, style: str = "thumb and two"
) -> Arrangement:
    """Arrange ``melody`` for ``tuning`` at ``level`` (see ``LEVELS``).

    The melody is the highest note of each event. ``symbols`` are chord marks by bar
    number; None takes those written in the score, or proposes some where there are
    none. Both hands are fingered for the score's tempo; the melody moves by whole
    octaves only where the instrument asks for it. Raises ``OutOfReach`` where no
    octave fits, and ValueError on another level or picking style.

    >>> from pieces.music.score import Meter
    >>> from pieces.music.tuning import TUNINGS
    >>> tune = Score(key="C", bars=(Bar(1, Meter(2, 4), (Event(Fraction(0), Fraction(1, 2), (Note(72),)),)),))
    >>> done = arrange(tune, None, TUNINGS["ukulele high G"], 4)
    >>> [note.fret for note in done.score.bars[0].events[0].notes], done.proposed
    ([0, 0, 0, 3], True)
    """
    _check([level])
    levels = {bar.number: level for bar in melody.bars}
    done = arrange_bars(melody, symbols, tuning, levels, style=style)
    return replace(done, level=level, name=LEVELS[level])


def arrange_bars(
    melody: Score,
    symbols: Symbols | None,
    tuning: Tuning,
    levels: Mapping[int, int],
    *,
    style: str = "thumb and two",
) -> Arrangement:
    """As ``arrange``, with a level for each bar by its number.

    The hand is led through the mixture as a whole, so what a bar holds beneath the
    tune may lie elsewhere than where the whole piece is of one level. Raises KeyError
    where a bar has no level, and what ``arrange`` raises.
    """
    chosen = {levels[bar.number] for bar in melody.bars}
    _check(chosen)
    melody, moved = _in_octave(melody, tuning)
    symbols, proposal = _symbols(melody, symbols)
    harmonies = harmonies_of(melody, symbols)
    steps = list(_steps(melody, harmonies, levels))
    grips = cheapest_grips([step.moment for step in steps], tuning)
    bars = _written(melody, symbols, steps, grips, tuning)
    bars = [_with_thumb(bar) if levels[bar.number] == 2 else bar for bar in bars]
    tempo = melody.tempo or DEFAULT_TEMPO
    bars = assign_picking(bars, tuning, style, tempo=tempo)
    carried = [grip.beneath >= HARMONY for step, grip in zip(steps, grips, strict=True) if step.strong]
    remarks = (
        *([proposal.text] if proposal and chosen != {1} else []),
        *moved,
        *_unread(melody, symbols),
        *_bare(melody, steps, grips, levels),
        *_hurried(melody, steps, grips),
    )
    score = replace(melody, tuning=tuning, bars=bars, key=melody.key or (proposal.key if proposal else ""))
    level = min(chosen) if len(chosen) == 1 else 0
    name = LEVELS.get(level, MIXED)
    return Arrangement(level, name, score, proposal is not None, len(carried), sum(carried), remarks)


def arrange_levels(
    melody: Score, symbols: Symbols | None, tuning: Tuning, *, style: str = "thumb and two"
) -> tuple[Arrangement, ...]:
    """The same tune at every level, to be set side by side. Errors are those of ``arrange``."""
    return tuple(arrange(melody, symbols, tuning, level, style=style) for level in LEVELS)


# --- What is to be played ------------------------------------------------------------------


def _check(levels: Iterable[int]) -> None:
    for level in levels:
        if level not in LEVELS:
            raise ValueError(f"There is no level {level}; choose 1 to {len(LEVELS)}.")


def _in_octave(melody: Score, tuning: Tuning) -> tuple[Score, list[str]]:
    pitches = {note.pitch for bar in melody.bars for event in bar.events if (note := top_note(event))}
    opens = [tuning.open_pitch(string) for string in tuning.strings]
    for shift in (0, 12, -12, 24, -24):
        if all(any(0 <= pitch + shift - o <= HIGHEST_FRET for o in opens) for pitch in pitches):
            way = "up" if shift > 0 else "down"
            octaves = "an octave" if abs(shift) == 12 else "two octaves"
            return transpose(melody, shift), [f"Moved {way} {octaves} to fit the strings."] if shift else []
    low, high = min(opens), max(opens) + HIGHEST_FRET
    outside = [b.number for b in melody.bars if any(not low <= p <= high for p in _tops(b))]
    where = f"bars {listed(outside)}" if len(outside) > 1 else f"bar {listed(outside)}"
    raise OutOfReach(
        f"The tune does not fit {tuning.name} in this key: see {where}. Choose another key or instrument."
    )


def _tops(bar: Bar) -> list[int]:
    return [note.pitch for event in bar.events if (note := top_note(event))]


def _symbols(melody: Score, symbols: Symbols | None) -> tuple[Symbols, Proposal | None]:
    if symbols is not None:
        return symbols, None
    written = {bar.number: bar.chords for bar in melody.bars if bar.chords}
    if written:
        return written, None
    proposal = propose_symbols(melody)
    return proposal.symbols, proposal


def _steps(melody: Score, harmonies: list[Harmony], levels: Mapping[int, int]) -> Iterator[_Step]:
    """Every event of the tune, cut where a chord is to be struck under a held note."""
    beat = melody.bars[0].meter.beat if melody.bars else Fraction(1, 4)
    second = Fraction(60, melody.tempo or DEFAULT_TEMPO) / beat
    changes = [harmony.at for harmony in harmonies]
    before, sounding = Fraction(0), None
    for number, (bar, start) in enumerate(zip(melody.bars, bar_starts(melody), strict=True)):
        level = levels[bar.number]
        strong = {start + onset for onset in strong_beats(bar)}
        within = bisect_left(changes, start), bisect_left(changes, start + bar.length)
        struck = strong.union(changes[slice(*within)])
        for event in bar.events:
            note = top_note(event)
            for at, end in _cut(event, start, struck, level):
                harmony = harmony_at(harmonies, at)
                tones = harmony.tones if harmony else ()
                wanted, lacking = _wanted(bar, event, at, at - start, struck, level)
                pitch = note.pitch if note else None
                tied = bool(note) and (note.tied or at > start + event.onset)
                moment = Moment(
                    pitch=pitch,
                    held=tied and pitch == sounding,
                    # Where the melody stands alone, what rang before it stops.
                    tones=tones if WANTED[level] else (),
                    wanted=wanted if tones and note else 0,
                    lacking=lacking,
                    seconds=float((at - before) * second),
                )
                counts = at in strong and bool(tones and note)
                yield _Step(number, event, at, at - start, end - at, counts, moment)
                before, sounding = at, pitch


def _cut(event: Event, start: Fraction, points: set[Fraction], level: int):
    """The event's time as (from, to), cut at ``points`` within it."""
    first, last = start + event.onset, start + event.end
    within = [] if level == 1 or event.tuplet or not event.notes else sorted(points)
    edges = [first, *(point for point in within if first < point < last), last]
    return pairwise(edges)


def _wanted(
    bar: Bar, event: Event, at: Fraction, onset: Fraction, struck: set[Fraction], level: int
) -> tuple[int, float]:
    """How many tones should stand beneath the melody here, and what each one short costs."""
    if at in struck:
        return WANTED[level], LACKING
    on_beat = onset == event.onset and onset % bar.meter.beat == 0 and event.duration >= bar.meter.beat
    return (WANTED[level], LACKING_BETWEEN) if level == 4 and on_beat else (0, 0.0)


# --- Writing it out ------------------------------------------------------------------------


def _written(
    melody: Score, symbols: Symbols, steps: list[_Step], grips: list[Grip], tuning: Tuning
) -> list[Bar]:
    ends = _ring_ends(steps, grips)
    events: list[list[Event]] = [[] for _ in melody.bars]
    for at, (step, grip) in enumerate(zip(steps, grips, strict=True)):
        events[step.bar].append(_event(step, grip, ends, at, tuning))
    return [
        replace(bar, events=tuple(new), chords=tuple(symbols.get(bar.number, ())))
        for bar, new in zip(melody.bars, events, strict=True)
    ]


def _ring_ends(steps: list[_Step], grips: list[Grip]) -> Mapping[tuple[int, int], Fraction]:
    """When each string struck beneath the melody stops, by (moment, place in the pattern)."""
    ends: dict[tuple[int, int], Fraction] = {}
    ringing: dict[int, int] = {}
    for at, (step, grip) in enumerate(zip(steps, grips, strict=True)):
        for place, since in list(ringing.items()):
            stays = grip.frets[place] == grips[since].frets[place] and place != grip.melody
            if step.moment.wanted or not stays:
                ends[since, place] = step.at
                del ringing[place]
        if step.moment.wanted:
            ringing = {p: at for p, f in enumerate(grip.frets) if f is not None and p != grip.melody}
    last = steps[-1].at + steps[-1].duration if steps else Fraction(0)
    ends.update({(since, place): last for place, since in ringing.items()})
    return ends


def _event(
    step: _Step, grip: Grip, ends: Mapping[tuple[int, int], Fraction], at: int, tuning: Tuning
) -> Event:
    starts = step.onset == step.source.onset
    notes = []
    for place, (string, fret) in enumerate(zip(tuning.strings, grip.frets, strict=True)):
        if place == grip.melody:
            source = replace(top_note(step.source), join="", pick="", length=None)
            notes.append(_placed(source, string, fret, grip.fingers[place], step.moment.held))
        elif fret is not None and step.moment.wanted:
            length = ends[at, place] - step.at
            note = Note(tuning.pitch(string, fret), length=None if length == step.duration else length)
            notes.append(_placed(note, string, fret, grip.fingers[place], False))
    grace = _grace(step.source, grip, tuning) if starts and grip.melody >= 0 else ()
    return replace(
        step.source,
        onset=step.onset,
        duration=step.duration,
        notes=tuple(notes),
        stroke="",
        grace=grace,
        accent=step.source.accent and starts,
        lyric=step.source.lyric if starts else "",
    )


def _placed(note: Note, string: int, fret: int, finger: int | None, tied: bool) -> Note:
    return replace(note, string=string, fret=fret, finger=finger or None, tied=tied)


def _grace(source: Event, grip: Grip, tuning: Tuning) -> tuple[Note, ...]:
    """Grace notes on the string of the note they lead to; those that do not lie there are left out."""
    string = tuning.strings[grip.melody]
    placed = ((note, tuning.fret(string, note.pitch)) for note in source.grace if note.pitch is not None)
    return tuple(
        _placed(note, string, fret, None, False)
        for note, fret in placed
        if fret is not None and fret <= HIGHEST_FRET
    )


def _with_thumb(bar: Bar) -> Bar:
    """The note beneath the melody goes to the thumb."""

    def picked(event: Event) -> Event:
        if len(event.notes) < 2:
            return event
        top = top_note(event)
        notes = tuple(note if note is top else replace(note, pick="p") for note in event.notes)
        return replace(event, notes=notes)

    return replace(bar, events=tuple(map(picked, bar.events)))


# --- In words ------------------------------------------------------------------------------


def _unread(melody: Score, symbols: Symbols) -> Iterator[str]:
    unread = {harmony.symbol for harmony in harmonies_of(melody, symbols) if not harmony.tones}
    for symbol in sorted(unread):
        yield f"Under {symbol} the tune stands alone, as it names no chord."


def _bare(melody: Score, steps: list[_Step], grips: list[Grip], levels: Mapping[int, int]) -> Iterator[str]:
    by_wanted: dict[int, list[_Step]] = {}
    for step, grip in zip(steps, grips, strict=True):
        wanted = min(WANTED[levels[melody.bars[step.bar].number]], HARMONY)
        if step.strong and grip.beneath < wanted:
            by_wanted.setdefault(wanted, []).append(step)
    for wanted, bare in sorted(by_wanted.items()):
        tones = counted(wanted, "chord tone")
        yield f"Fewer than {tones} fit beneath the tune on a strong beat of {_bars(melody, bare)}."


def _hurried(melody: Score, steps: list[_Step], grips: list[Grip]) -> Iterator[str]:
    pairs = zip(grips, grips[1:], steps[1:], strict=False)
    hurried = _bars(melody, [s for a, b, s in pairs if is_too_fast(a, b, s.moment.seconds)])
    if hurried:
        yield f"At this tempo the left hand is hurried in {hurried}."


def _bars(melody: Score, steps: list[_Step]) -> str:
    numbers = sorted({melody.bars[step.bar].number for step in steps})
    return f"bar{'s' if len(numbers) > 1 else ''} {listed(numbers)}" if numbers else ""

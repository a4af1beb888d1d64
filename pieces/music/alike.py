"""Which bars are the same, and which are nearly so.

What is played decides, not how it is written: a half note equals two tied
quarters, a half rest two quarter rests. Strings and frets, rhythm, strokes,
accents and ways of joining are played. Chord symbols, written fingers, lyrics and
remarks are not: the same frets under two chord names are one thing to learn, and
where a chord really is another the frets show it. Only in a bar of which nothing
is written out is the symbol all there is to play, and there it counts.
"""

from collections.abc import Callable, Hashable, Iterator
from fractions import Fraction
from typing import NamedTuple

from pieces.music.score import Bar, Note, Score

Place = tuple[int | None, int | None]


class Strike(NamedTuple):
    """A note as it is played: struck at ``onset``, sounding until ``end``.

    ``place`` is (string, fret), or (None, pitch) while the music is not on strings.
    ``held`` marks a sound that goes on from the bar before. ``manner`` holds what
    else the hands do: muted, harmonic, joined, stroke, accent, grace notes.
    """

    onset: Fraction
    place: Place
    end: Fraction
    held: bool
    manner: tuple


class NearRepeat(NamedTuple):
    """``bar`` is nearly bar ``like``; ``text`` says in what it differs."""

    bar: int
    like: int
    text: str


def strikes(bar: Bar) -> tuple[Strike, ...]:
    """What is played in ``bar``, in order of onset, ties within the bar joined.

    >>> [str(s.end) for s in strikes(Bar.of("3/4", "1/4 1/2"))]
    ['1/4', '3/4']
    """
    sounding: dict[Place, int] = {}
    played: list[Strike] = []
    for event in bar.events:
        for note in event.notes:
            place = _place(note)
            end = event.onset + note.length if note.length is not None else event.end
            if note.tied and place in sounding and played[sounding[place]].end >= event.onset:
                played[sounding[place]] = played[sounding[place]]._replace(end=end)
                continue
            sounding[place] = len(played)
            graces = tuple((_place(grace), grace.join) for grace in event.grace)
            manner = (note.muted, note.harmonic, note.join, event.stroke, event.accent, graces)
            played.append(Strike(event.onset, place, end, note.tied, manner))
    return tuple(sorted(played, key=_order))


def bar_classes(score: Score) -> dict[int, int]:
    """For each bar the number of the first bar that is played exactly like it.

    >>> a, b = Bar.of("4/4", "1/2 1/2"), Bar.of("4/4", "1/1", 2)
    >>> bar_classes(Score(bars=(a, b, Bar.of("4/4", "1/2 1/2", 3))))
    {1: 1, 2: 2, 3: 1}
    """
    return _classes(score, ((bar.number, what_is_played(bar)) for bar in score.bars))


def rhythm_classes(score: Score) -> dict[int, int]:
    """For each bar the number of the first bar in the same rhythm, whatever its notes.

    >>> bars = (Bar.of("4/4", "1/2 1/2"), Bar.of("2/2", "1/2 1/2", 2))
    >>> rhythm_classes(Score(bars=bars))
    {1: 1, 2: 2}
    """
    return _classes(score, ((bar.number, rhythm_of(bar)) for bar in score.bars))


def shape_classes(score: Score) -> dict[int, int]:
    """For each bar the number of the first bar whose left hand holds the same, in any rhythm.

    Where chord symbols are written (a symbol holds until the next) the row of
    symbols decides; else the frets that are pressed or played open.
    """
    return _classes(score, _shapes_held(score))


def near_repeats(score: Score) -> list[NearRepeat]:
    """The bars that are new but for a part, each with the earlier bar it is most like.

    Identical bars are not listed. A bar is near another if at most half its beats
    differ and two notes or more are the same, if it is the other moved along the
    frets, or if it has the other's notes in another rhythm.
    """
    classes = bar_classes(score)
    firsts = [bar for bar in score.bars if classes[bar.number] == bar.number]
    known = [(bar, strikes(bar)) for bar in firsts]
    found = []
    for position, (bar, played) in enumerate(known):
        if likeness := _nearest(bar, played, known[:position]):
            found.append(NearRepeat(bar.number, *likeness))
    return found


def what_is_played(bar: Bar) -> Hashable:
    """A value that is equal for two bars exactly if they are played alike."""
    played = strikes(bar)
    symbols = () if played else tuple(bar.chords)
    return bar.meter, bar.length, played, symbols


def rhythm_of(bar: Bar) -> Hashable:
    """A value that is equal for two bars exactly if their rhythm is."""
    ends: dict[tuple[Fraction, bool], Fraction] = {}
    for strike in strikes(bar):
        start = (strike.onset, strike.held)
        ends[start] = max(strike.end, ends.get(start, strike.end))
    return bar.meter, bar.length, tuple(sorted(ends.items()))


def _place(note: Note) -> Place:
    return (note.string, note.fret) if note.string is not None else (None, note.pitch)


def _order(strike: Strike):
    string, fret = strike.place
    return strike.onset, -(string or 0), -1 if fret is None else fret


def _classes(score: Score, keyed: Iterator[tuple[int, Hashable]]) -> dict[int, int]:
    first: dict[Hashable, int] = {}
    return {number: first.setdefault(key, number) for number, key in keyed}


def _shapes_held(score: Score) -> Iterator[tuple[int, Hashable]]:
    symbol = ""
    for bar in score.bars:
        row = [symbol] if symbol and not any(mark.onset == 0 for mark in bar.chords) else []
        for mark in bar.chords:
            if not row or row[-1] != mark.symbol:
                row.append(mark.symbol)
        symbol = row[-1] if row else ""
        yield bar.number, tuple(row) if row else frozenset(s.place for s in strikes(bar))


def _nearest(bar: Bar, played: tuple[Strike, ...], earlier) -> tuple[int, str] | None:
    for compare in (_but_some_beats, _along_the_frets, _in_another_rhythm):
        likenesses = [
            (cost, other.number, text)
            for other, theirs in earlier
            if other.meter == bar.meter
            for cost, text in compare(bar, played, other, theirs)
        ]
        if likenesses:
            _, number, text = min(likenesses)
            return number, text
    return None


Likeness = Iterator[tuple[Fraction, str]]
Compare = Callable[[Bar, tuple[Strike, ...], Bar, tuple[Strike, ...]], Likeness]


def _but_some_beats(bar: Bar, played, other: Bar, theirs) -> Likeness:
    ours, others = set(played), set(theirs)
    if len(ours & others) < 2 or bar.length != other.length:
        return
    beat = bar.meter.beat
    count = max(1, -(-bar.length // beat))
    changed = sorted({int(strike.onset // beat) for strike in ours ^ others})
    if 2 * len(changed) > max(count, 2):
        return
    gone, new = sorted(others - ours, key=_order), sorted(ours - others, key=_order)
    text = f"as bar {other.number} {_difference(gone, new, changed, count, beat)}"
    yield Fraction(len(gone) + len(new), len(ours | others)), text


def _along_the_frets(bar: Bar, played, other: Bar, theirs) -> Likeness:
    if len(played) != len(theirs) or len(played) < 2 or bar.length != other.length:
        return
    steps = set()
    for mine, old in zip(played, theirs, strict=True):
        if mine._replace(place=old.place) != old or mine.place[0] != old.place[0]:
            return
        if mine.place[1] is None or old.place[1] is None:
            return
        steps.add(mine.place[1] - old.place[1])
    if len(steps) == 1:
        step = steps.pop()
        unit = "fret" if played[0].place[0] is not None else "half step"
        way = "higher" if step > 0 else "lower"
        yield Fraction(0), f"as bar {other.number} {_number(abs(step))} {unit}{'s' * (abs(step) > 1)} {way}"


def _in_another_rhythm(bar: Bar, played, other: Bar, theirs) -> Likeness:
    places, before = [s.place for s in played], [s.place for s in theirs]
    if len(set(places)) >= 2 and len(places) >= 3 and places == before:
        yield Fraction(0), f"the notes of bar {other.number} in another rhythm"


def _difference(gone: list[Strike], new: list[Strike], changed: list[int], count: int, beat) -> str:
    where = _beats(changed, count)
    if not new:
        return f"without {_the_notes(gone)} on {where}"
    if not gone:
        return f"with {_notes(new)} more on {where}"
    if len(gone) == len(new) == 1:
        old, now = gone[0], new[0]
        if old.place == now.place and old.onset == now.onset:
            return f"but {_manner_change(old, now)} on {where}"
        if (old.onset, old.held, old.manner) == (now.onset, now.held, now.manner):
            return f"but {where}: {_place_change(old.place, now.place)}"
    if [(s.onset, s.place, s.held) for s in gone] == [(s.onset, s.place, s.held) for s in new]:
        if any(a.end != b.end for a, b in zip(gone, new, strict=True)):
            return f"but notes held otherwise on {where}"
        return f"but played otherwise on {where}"
    return f"but {where}"


def _manner_change(old: Strike, now: Strike) -> str:
    if old.held != now.held:
        return "the note is held over from the bar before" if now.held else "the note is struck anew"
    if old.end != now.end:
        return "the note is longer" if now.end > old.end else "the note is shorter"
    return "the note is played otherwise"


def _place_change(old: Place, now: Place) -> str:
    if now[0] is None or now[1] is None or old[1] is None:
        return "another note"
    if old[0] == now[0]:
        return f"string {now[0]} {_fret(now[1])}, not {_fret(old[1])}"
    return f"string {now[0]} {_fret(now[1])}, not string {old[0]} {_fret(old[1])}"


def _fret(fret: int) -> str:
    return f"fret {fret}" if fret else "open"


def _the_notes(gone: list[Strike]) -> str:
    return "the note" if len(gone) == 1 else f"the {_number(len(gone))} notes"


def _notes(new: list[Strike]) -> str:
    return "one note" if len(new) == 1 else f"{_number(len(new))} notes"


def _beats(changed: list[int], count: int) -> str:
    """Name beats (from 0) of a bar of ``count`` as a teacher does.

    >>> _beats([3], 4), _beats([2, 3], 4), _beats([0, 2], 4), _beats([0], 1)
    ('the last beat', 'the second half', 'beats 1 and 3', 'the beat')
    """
    half = count // 2
    if count >= 4 and count % 2 == 0 and changed in (list(range(half)), list(range(half, count))):
        return "the first half" if changed[0] == 0 else "the second half"
    if len(changed) == 1:
        if count == 1:
            return "the beat"
        if changed[0] in (0, count - 1):
            return "the last beat" if changed[0] else "the first beat"
        return f"beat {changed[0] + 1}"
    numbers = [str(beat + 1) for beat in changed]
    return f"beats {', '.join(numbers[:-1])} and {numbers[-1]}"


def _number(count: int) -> str:
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    return words[count] if count < len(words) else str(count)

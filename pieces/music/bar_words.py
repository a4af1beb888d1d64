"""A bar in the words of a teacher.

In the order in which a good teacher says it: what is the same as before, the shape
and where each finger goes, the change to it, the picking hand, the count, the trap
and the drill for it. What there is nothing to say about is left out. The same text
is the lesson outline, the long form on paper and what a screen reader says.
"""

from collections.abc import Callable, Collection, Mapping
from fractions import Fraction
from typing import NamedTuple

from pieces.music.changes import change
from pieces.music.counting import BEATS_AND, Syllables, UncountableRhythm, speak_count
from pieces.music.difficulty import Rating
from pieces.music.loads import Kind
from pieces.music.moments import say_moments, say_strings, spoken_place
from pieces.music.score import Bar
from pieces.music.shapes import Shape
from pieces.music.tuning import Tuning
from pieces.music.words import listed, sentence

# Below this rating a bar's pace is no trap: most bars are as fast as the piece is.
FAST_FROM = 5.0
# What to do about each kind of load. Common practice, no source.
DRILLS: Mapping[Kind, str] = {
    "pace": "play it alone at half the tempo until three passes in a row are clean",
    "between": "say the count and clap what is struck, then play it on one open string, then as written",
    "held over": "say the held count louder than the others, and let the hand pass above the strings",
    "shape": "press the shape, play its strings one by one, lift the hand off, and press again, five times",
    "change": "go to and fro between the two shapes without the picking hand, then with one slow strum each",
    "reach": "look at the fret ahead, move there and back without playing, then play only that move",
    "strings": "play the picking hand alone on open strings, in the order written here",
    "outside": "hold the shape and put down and lift the extra finger alone, without letting the others move",
    "ornament": "play the plain notes in time first, then put the ornaments back one by one",
    "apart": "play the thumb alone through the bar, then the fingers alone, then both",
}


class Said(NamedTuple):
    """One thing that is said: ``topic`` is same, shape, change, hand, count, trap or drill."""

    topic: str
    text: str


def outline_bar(
    bar: Bar,
    *,
    tuning: Tuning,
    shapes: Mapping[str, Shape],
    before: Bar | None = None,
    same_as: int | None = None,
    rating: Rating | None = None,
    left_handed: bool = False,
    near: str = "",
    told: Collection[Shape] = (),
    came: Shape | None = None,
    drilled: Mapping[str, str] = {},
    counted: str = "",
    syllables: Syllables = BEATS_AND,
) -> list[Said]:
    """What is said about ``bar``, in order, by topic; what there is nothing to say about is not there.

    ``before`` is the bar played just before; ``same_as`` the number of the earlier bar
    that this one repeats, and then only the way into it is said. ``near`` says how it
    differs from an earlier bar (``form.near_repeats``). ``told`` are the shapes that
    have been told already, ``came`` is the shape that the hand comes from, by default
    that of the last chord before, ``drilled`` gives for a kind of load the name of the
    bar with which its drill was told, and ``counted`` is the count told last: what was
    said a moment ago is not said again.
    """
    came = came or shapes.get(_carried(before) or "")
    moves = _changes(bar, shapes, came)
    if same_as is not None:
        into = moves[:1] if bar.chords and bar.chords[0].onset == 0 else []
        same = f"The same as bar {same_as}{'; only the way in is new' if into else ''}."
        return [Said("same", same), *(Said("change", text) for text in into)]
    struck = [event for event in bar.events if event.struck]
    if not struck:
        return [Said("count", _count(bar, syllables)), Said("hand", "Nothing is played: keep counting.")]
    moments = say_moments(bar, tuning, _shape_at(bar, shapes, before), syllables)
    count = _count(bar, syllables)
    known = _tells_all(near)
    return [
        *([Said("same", sentence(near))] if near else []),
        *(Said("shape", text) for text in _shapes(bar, shapes, before, told, came, left_handed)),
        *(Said("change", text) for text in moves),
        *([] if known else [Said("hand", sentence("; ".join(moments)))]),
        *([] if known or count == counted else [Said("count", count)]),
        *_trap(bar, rating, drilled, syllables),
    ]


def describe_bar(bar: Bar, *, tuning: Tuning, shapes: Mapping[str, Shape], **more) -> str:
    """``outline_bar`` as running text, with the bar's name first. Takes the same arguments.

    >>> from pieces.music.tuning import TUNINGS
    >>> describe_bar(Bar.of("3/4", "1/4 1/2"), tuning=TUNINGS["ukulele high G"], shapes={})
    'Bar 1. On 1, 2 play string 1 open. Count 1, 2, hold 3.'
    """
    said = outline_bar(bar, tuning=tuning, shapes=shapes, **more)
    return " ".join([f"{name_of(bar)}.", *(one.text for one in said)])


def speak_bar(bar: Bar, tuning: Tuning, syllables: Syllables = BEATS_AND) -> str:
    """A bar for a screen reader: its name, chords, count, and each string that is struck.

    >>> from pieces.music.tuning import TUNINGS
    >>> speak_bar(Bar.of("3/4", "1/4 1/2"), TUNINGS["ukulele high G"])
    'Bar 1. Count 1, 2, hold 3. 1, 2: string 1 open.'
    """
    said = [name_of(bar), *_chord_names(bar)]
    count = _count(bar, syllables).rstrip(".")
    notes = [f"{where}: {strings}" for where, strings in say_strings(bar, tuning, syllables)]
    return " ".join(sentence(text) for text in (*said, count, *notes))


def name_of(bar: Bar) -> str:
    """What a bar is called: its number, or the pickup."""
    return "Pickup" if bar.is_pickup else f"Bar {bar.number}"


def said_of(bar: Bar) -> str:
    """A bar within a sentence.

    >>> said_of(Bar.of("4/4", "1/4", number=0)), said_of(Bar.of("4/4", "1", number=3))
    ('the pickup', 'bar 3')
    """
    return "the pickup" if bar.is_pickup else f"bar {bar.number}"


# --- Parts of a bar ------------------------------------------------------------------------


def _chord_names(bar: Bar) -> list[str]:
    symbols = [mark.symbol for mark in bar.chords]
    return [", then ".join(symbols)] if symbols else []


def _count(bar: Bar, syllables: Syllables) -> str:
    """The count in a sentence."""
    try:
        return f"Count {speak_count(bar, syllables)}."
    except UncountableRhythm:
        return "Learn the rhythm by ear: it falls between all counts that can be said."


def _carried(before: Bar | None) -> str | None:
    """The chord that the hand comes from."""
    return before.chords[-1].symbol if before and before.chords else None


def _shape_at(
    bar: Bar, shapes: Mapping[str, Shape], before: Bar | None
) -> Callable[[Fraction], Shape | None]:
    """The shape held at an onset of ``bar``, as a function."""

    def at(onset: Fraction) -> Shape | None:
        symbol = _carried(before)
        for mark in bar.chords:
            if mark.onset <= onset:
                symbol = mark.symbol
        return shapes.get(symbol)

    return at


def _tells_all(near: str) -> bool:
    """Whether a likeness names the one note that differs, so that the rest need not be said again.

    >>> _tells_all("as bar 1 but the last beat: string 2 open, not fret 3"), _tells_all("as bar 1 but beat 2")
    (True, False)
    """
    return ": string" in near


def _trap(bar: Bar, rating: Rating | None, drilled: Mapping[str, str], syllables: Syllables) -> list[Said]:
    """What is hard in the bar and the drill for it, where there is a trap worth the words."""
    if not rating or not rating.worst or not rating.kinds:
        return []
    kind = rating.kinds[0]
    if kind == "pace" and rating.score < FAST_FROM:
        return []
    drill = f"Drill it as in {drilled[kind]}." if kind in drilled else _drill(bar, rating, syllables)
    return [Said("trap", f"The trap: {rating.reasons[0]}"), Said("drill", drill)]


def _shapes(
    bar: Bar,
    shapes: Mapping[str, Shape],
    before: Bar | None,
    told: Collection[Shape],
    came: Shape | None,
    left_handed: bool,
) -> list[str]:
    """Each chord of the bar: its shape where that is news, and the fingers that may stay off."""
    said = []
    for symbol in dict.fromkeys(mark.symbol for mark in bar.chords if mark.symbol in shapes):
        shape = shapes[symbol]
        spare = _spare_fingers(shape, _played(bar, shapes, before, shape))
        if shape == came:
            said.append(f"Stay on {symbol}.")
        elif shape not in told:
            said.append(say_shape(shape, left_handed=left_handed))
        if spare:
            said.append(f"In {symbol}, nothing here needs {spare}.")
    return said


def _played(bar: Bar, shapes: Mapping[str, Shape], before: Bar | None, shape: Shape) -> set[int]:
    """The strings that sound as ``shape`` stops them while it is held."""
    held_at = _shape_at(bar, shapes, before)
    return {
        note.string
        for event in bar.events
        if held_at(event.onset) is shape
        for note in event.notes
        if note.string is not None and shape.frets[-note.string] == note.fret
    }


def say_shape(shape: Shape, *, left_handed: bool = False) -> str:
    """Where each finger of ``shape`` goes.

    >>> say_shape(Shape("F", (2, 0, 1, 0), (2, 0, 1, 0), 0.0))
    'F, 2010: finger 1 on string 2 fret 1 and finger 2 on string 4 fret 2.'
    """
    strings = range(len(shape.frets), 0, -1)
    placed: dict[tuple[int, int], list[int]] = {}
    for string, fret, finger in zip(strings, shape.frets, shape.fingers, strict=True):
        if finger:
            placed.setdefault((finger, fret), []).append(string)
    fingers = [
        f"finger {finger} on string {on[0]} fret {fret}"
        if len(on) == 1
        else f"finger {finger} flat over strings {on[0]} to {on[-1]} at fret {fret}"
        for (finger, fret), on in sorted(placed.items())
    ]
    silent = [string for string, fret in zip(strings, shape.frets, strict=True) if fret is None]
    text = f"{shape.symbol}, {shape.written}: {listed(fingers) or 'no finger, all strings open'}"
    if silent:
        text += f"; leave out string{'s' * (len(silent) > 1)} {listed(silent)}"
    if left_handed:
        text += f" (on a diagram turned for you, string {len(shape.frets)} is at the right)"
    return f"{text}."


def _spare_fingers(shape: Shape, played: set[int]) -> str:
    """Which fingers may stay off, because their strings are not played; "" where all or none may."""
    strings = range(len(shape.frets), 0, -1)
    down = {finger for finger in shape.fingers if finger}
    used = {f for string, f in zip(strings, shape.fingers, strict=True) if f and string in played}
    spare = sorted(down - used)
    return f"finger{'s' * (len(spare) > 1)} {listed(spare)}" if spare and used else ""


def _changes(bar: Bar, shapes: Mapping[str, Shape], came: Shape | None) -> list[str]:
    """Each change of shape within the bar, and the one into it."""
    said, held = [], came
    for mark in bar.chords:
        shape = shapes.get(mark.symbol)
        if held and shape and shape != held:
            text = change(held, shape).text
            names = f"{held.symbol} to {mark.symbol}"
            if held.symbol == mark.symbol:
                names = f"From the earlier {held.symbol}"
            said.append(f"{names}: {text[:1].lower()}{text[1:]}")
        held = shape
    return said


def _drill(bar: Bar, rating: Rating, syllables: Syllables) -> str:
    """The drill for the hardest load, and where to play it if that is only a part of the bar."""
    drill = DRILLS[rating.kinds[0]]
    start, end = rating.worst
    struck = [event for event in bar.events if event.struck]
    hard = [event for event in struck if start <= event.onset < end]
    if rating.kinds[0] in ("shape", "change") or not hard or len(hard) == len(struck):
        return sentence(drill)
    first, last = (spoken_place(bar, event, syllables) for event in (hard[0], hard[-1]))
    return f"{f'On {first}' if first == last else f'From {first} to {last}'}: {drill}."

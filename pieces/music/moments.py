"""What the hands do at one moment of a bar, in words.

Both hands are named by what they do, never left or right, so that the words suit
every player.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from pieces.music.counting import BEATS_AND, SPOKEN, Syllables, UncountableRhythm, count_at
from pieces.music.score import Bar, Event, Note
from pieces.music.shapes import Shape
from pieces.music.tuning import Tuning
from pieces.music.words import listed

PICK_NAMES = {"p": "thumb", "i": "index", "m": "middle", "a": "ring"}
JOIN_NAMES = {"hammer": "hammered on", "pull": "pulled off", "slide": "slid to"}


def spoken_place(bar: Bar, event: Event, syllables: Syllables = BEATS_AND) -> str:
    """Where in the count ``event`` stands, for a voice; "then" where no words reach it.

    >>> bar = Bar.of("4/4", "1/4 1/8 1/8 1/2")
    >>> [spoken_place(bar, event) for event in bar.events]
    ['1', '2', '2 and', '3']
    """
    try:
        words = count_at(bar, event.onset, syllables).split()
    except UncountableRhythm:
        return "then"
    return " ".join(SPOKEN.get(word, word) for word in words)


def say_note(note: Note) -> str:
    """One string as it is struck.

    >>> say_note(Note(72, 1, 3, finger=4)), say_note(Note(69, 1, 0)), say_note(Note(None, 2, 0, muted=True))
    ('string 1 fret 3 with finger 4', 'string 1 open', 'string 2 muted')
    """
    if note.string is None:
        return "a note not yet on a string"
    if note.muted:
        return f"string {note.string} muted"
    text = f"string {note.string} " + (f"fret {note.fret}" if note.fret else "open")
    if note.harmonic:
        text = f"the harmonic at {text.replace(' fret', ', fret')}"
    if note.fret and note.finger:
        text += f" with finger {note.finger}"
    return f"{text}, {JOIN_NAMES[note.join]}" if note.join else text


def say_action(event: Event, shape: Shape | None = None, tuning: Tuning | None = None) -> str:
    """What the picking hand plays at ``event``, and the frets where ``shape`` does not tell.

    With ``tuning`` a strum over every string is said as one over all of them.

    >>> say_action(Event(0, 1, (Note(60, 3, 0, pick="p"), Note(72, 1, 3, pick="m"))))
    'thumb and middle pluck string 3 open and string 1 fret 3 together'
    """
    struck = event.struck
    text = _strum(event, shape, tuning) if _is_strum(event) else _pluck(struck, shape)
    if event.grace:
        graces = listed(say_note(note) for note in event.grace)
        text = f"squeeze in {graces}, then {text}"
    return f"{text}, accented" if event.accent else text


def say_moments(
    bar: Bar,
    tuning: Tuning,
    shape_at: Callable[[Fraction], Shape | None],
    syllables: Syllables = BEATS_AND,
) -> list[str]:
    """Everything struck in ``bar``: what is done on which counts, as sentences without a stop.

    ``shape_at`` gives the shape held at an onset, or None.
    """
    struck = [event for event in bar.events if event.struck]
    actions = [say_action(event, shape_at(event.onset), tuning) for event in struck]
    places = [spoken_place(bar, event, syllables) for event in struck]
    return [f"on {where} {action}" for where, action in _together(places, actions)]


def say_strings(bar: Bar, tuning: Tuning, syllables: Syllables = BEATS_AND) -> list[tuple[str, str]]:
    """The bare strings and frets of ``bar``: pairs of counts and what is struck on them.

    >>> from pieces.music.tuning import TUNINGS
    >>> say_strings(Bar.of("3/4", "1/4 1/2"), TUNINGS["ukulele high G"])
    [('1, 2', 'string 1 open')]
    """
    struck = [event for event in bar.events if event.struck]
    strings = [_bare(event.struck, tuning) for event in struck]
    return _together([spoken_place(bar, event, syllables) for event in struck], strings)


def _bare(struck: Sequence[Note], tuning: Tuning) -> str:
    if len(struck) < len(tuning.open_pitches) or len(struck) < 3:
        return listed(say_note(note) for note in struck)
    frets = ["muted" if note.muted else "open" if note.fret == 0 else str(note.fret) for note in struck]
    if len(set(frets)) == 1:
        return f"all strings {frets[0] if frets[0] in ('open', 'muted') else f'at fret {frets[0]}'}"
    return f"all strings, from string {struck[0].string}: {', '.join(frets)}"


def _together(places: Sequence[str], actions: Sequence[str]) -> list[tuple[str, str]]:
    """Places and actions, the same actions joined where only two kinds or neighbours are the same."""
    joined: list[tuple[list[str], str]] = []
    apart = len(set(actions)) > 2
    for place, action in zip(places, actions, strict=True):
        same = next((where for where, other in (joined[-1:] if apart else joined) if other == action), None)
        if same is None:
            joined.append(([place], action))
        else:
            same.append(place)
    return [(", ".join(where), action) for where, action in joined]


def _is_strum(event: Event) -> bool:
    return bool(event.stroke) or (len(event.struck) > 2 and not any(note.pick for note in event.struck))


def _pluck(struck: Sequence[Note], shape: Shape | None) -> str:
    plain = len(struck) > 1 and all(
        _is_in(note, shape) and not (note.join or note.harmonic) for note in struck
    )
    notes = _strings(struck) if plain else listed(_say_plucked(note, shape) for note in struck)
    if all(note.pick for note in struck):
        hands = list(dict.fromkeys(PICK_NAMES[note.pick] for note in struck))
        text = f"{listed(hands)} pluck{'s' * (len(hands) == 1)} {notes}"
    else:
        text = f"play {notes}"
    return f"{text} together" if len(struck) > 1 else text


def _strings(struck: Sequence[Note]) -> str:
    """The strings alone, for what the held shape stops."""
    numbers = [note.string for note in struck]
    if len(numbers) > 2 and numbers == list(range(numbers[0], numbers[-1] - 1, -1)):
        return f"strings {numbers[0]} to {numbers[-1]}"
    return f"strings {listed(numbers)}"


def _say_plucked(note: Note, shape: Shape | None) -> str:
    """A note with its finger, unless the held shape has told the finger."""
    return say_note(replace(note, finger=None) if _is_in(note, shape) else note)


def _strum(event: Event, shape: Shape | None, tuning: Tuning | None) -> str:
    struck = event.struck
    way = f" {event.stroke}" if event.stroke else ""
    strings = [note.string for note in struck if note.string is not None]
    if len(strings) < len(struck):
        return f"strum{way}"
    first, last = (min(strings), max(strings)) if event.stroke == "up" else (max(strings), min(strings))
    every = tuning is not None and len(strings) == len(tuning.open_pitches) > 1
    where = "all strings" if every else f"string {first}" if first == last else f"strings {first} to {last}"
    if all(note.muted for note in struck):
        return f"strum{way} {where} muted"
    apart = [note for note in struck if not _is_in(note, shape)]
    if not apart:
        return f"strum{way} {where}"
    return f"strum{way} {where}, {'with ' if shape else ''}{listed(say_note(note) for note in apart)}"


def _is_in(note: Note, shape: Shape | None) -> bool:
    """Whether ``shape`` already says how this string is stopped."""
    if not shape or note.string is None or note.muted or not 1 <= note.string <= len(shape.frets):
        return False
    same_finger = not note.finger or not shape.fingers or note.finger == shape.fingers[-note.string]
    return shape.frets[-note.string] == note.fret and same_finger

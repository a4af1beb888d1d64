"""What the bar editor shows, and what it is answered when an edit was kept."""

from collections.abc import Iterable

from pieces.editing import bars_data
from pieces.engraving.options import DESK
from pieces.engraving.strip import strips
from pieces.models import Arrangement
from pieces.music.bar_words import speak_bar
from pieces.music.counting import MOST_PARTS, SPOKEN, Syllables
from pieces.music.score import Bar
from pieces.music.tab.cells import MOST_FRETS
from pieces.music.tuning import Tuning
from pieces.studio_count import count_of

STRIP = DESK.but(width=352, per_system=1, fingers=True)

# What a key does in the grid, under the words of its on-screen key.
KEYS = (
    ("+", "higher", "A fret higher"),
    ("-", "lower", "Lower"),
    ("R", "rest", "Rest"),
    ("H", "hold", "Hold"),
    ("X", "delete", "Delete"),
    ("M", "mute", "Mute"),
    ("D", "divide", "Divide in 2"),
    ("T", "thirds", "In 3"),
    ("J", "join", "Join again"),
    ("Z", "undo", "Undo"),
    ("Y", "redo", "Redo"),
    ("C", "copy", "Copy to bars"),
    ("P", "play", "Play"),
    ("S", "sound", "Sound"),
    ("B", "before", "Bar before"),
    ("N", "next", "Next bar"),
)


def editor_page(arrangement: Arrangement, number: int) -> dict:
    """Everything the editor needs to go on without a connection. Raises KeyError without that bar."""
    score, syllables = arrangement.to_score(), _syllables(arrangement)
    bar = score.bar(number)
    bars = bars_data(arrangement, score.bars, syllables)
    return {
        "arrangement": arrangement,
        "bar": bar,
        "keys": KEYS,
        "digits": range(10),
        "strip": _drawn(bar, score.tuning, syllables),
        "words": speak_bar(bar, score.tuning, syllables),
        "editor": {
            "number": number,
            "bars": bars,
            "beats": {bar.number: str(bar.meter.beat) for bar in score.bars},
            "strings": _strings(score.tuning),
            "frets": MOST_FRETS,
            "tempo": arrangement.goal_tempo,
            "revision": arrangement.current.number,
            "words": {parts: syllables.divide(parts) for parts in range(2, MOST_PARTS + 1)},
            "spoken": dict(SPOKEN),
        },
    }


def kept_answer(arrangement: Arrangement, numbers: Iterable[int], shown: int | None) -> dict:
    """After an edit: what its bars are now, and the bar on the page engraved and in words."""
    score, syllables, wanted = arrangement.to_score(), _syllables(arrangement), set(numbers)
    bars = [bar for bar in score.bars if bar.number in wanted]
    answer = {"revision": arrangement.current.number, "bars": bars_data(arrangement, bars, syllables)}
    bar = next((bar for bar in score.bars if bar.number == shown), None)
    if bar:
        answer["strip"] = _drawn(bar, score.tuning, syllables)
        answer["words"] = speak_bar(bar, score.tuning, syllables)
    return answer


def _drawn(bar: Bar, tuning: Tuning, syllables: Syllables) -> str:
    return "".join(strips([bar], tuning, STRIP.but(syllables=syllables)))


def _strings(tuning: Tuning) -> list[dict]:
    """Strings as tab lists them from the top: string 1 first."""
    return [
        {"number": number, "name": tuning.string_name(number), "pitch": tuning.open_pitch(number)}
        for number in reversed(tuning.strings)
    ]


def _syllables(arrangement: Arrangement) -> Syllables:
    return count_of(arrangement.studio)

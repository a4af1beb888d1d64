"""Generated scores with every feature of counted tab, for the property tests."""

from fractions import Fraction

from hypothesis import strategies as st

from pieces.music.score import Bar, ChordMark, Event, Meter, Note, Score
from pieces.music.tab.cells import harmonic_pitch
from pieces.music.tuning import TUNINGS, Tuning

METERS = [
    Meter(*m) for m in ((4, 4), (3, 4), (2, 4), (6, 8), (9, 8), (12, 8), (3, 8), (2, 2), (5, 4), (7, 8))
]
# From the plain to what no syllable reaches.
PLAIN = "1/4 1/8 1/2 3/8 1/16 3/16 3/4 1 1/12 1/6"
FINE = "1/24 1/20 1/28 1/32 7/8 5/8 1/3 5/24 1/480 3/7"
DURATIONS = [Fraction(text) for text in f"{PLAIN} {FINE}".split()]
WORDS = st.text(
    st.characters(codec="utf-8", categories=("L", "N", "P", "S"), exclude_characters="‿"),
    min_size=1,
    max_size=8,
)
LINES = st.lists(WORDS, max_size=4).map(" ".join)
SYMBOLS = st.sampled_from(
    ["C", "Am", "F#m7b5", "Bbmaj7", "G7/B", "D6/9", "C°", "E7#9", "N.C.", "H", "C-7", "3/4", "tacet", "-"]
)
LETTERS = st.sampled_from(["A", "A'", "B", "Verse 1", "Intro", "1."])
KEYS = st.sampled_from(["", "C", "F#m", "Bb", "D dorian"])


@st.composite
def tunings(draw):
    usual = draw(st.sampled_from(list(TUNINGS.values())))
    if draw(st.booleans()):
        pitches = draw(st.lists(st.integers(24, 76), min_size=1, max_size=8).map(tuple))
        usual = Tuning(draw(LINES), pitches)
    return usual.with_capo(draw(st.sampled_from((0, 0, 0, 2, 7))))


@st.composite
def notes(draw, tuning, string, *, grace=False):
    fret = draw(st.integers(0, 24))
    join = draw(st.sampled_from(("", "", "", "hammer", "pull", "slide")))
    more = {
        "finger": draw(st.sampled_from((None, None, 1, 2, 3, 4))),
        "pick": draw(st.sampled_from(("", "", "p", "i", "m", "a"))),
        "tied": draw(st.sampled_from((False, False, False, True))),
        "join": join,
        "length": draw(st.sampled_from((None, None, None, Fraction(1, 2), Fraction(3, 8), Fraction(1, 480)))),
    }
    kind = draw(st.sampled_from(("plain", "plain", "plain", "muted", "muted at", "harmonic", "touched")))
    if kind.startswith("muted"):
        return Note(None, string, fret if kind == "muted at" else None, muted=True, **more)
    if kind == "harmonic":
        return Note(harmonic_pitch(tuning, string, fret), string, fret, harmonic=True, **more)
    if kind == "touched":
        return Note(draw(st.integers(0, 127)), string, fret, harmonic=True, **more)
    return Note.at(tuning, string, fret, **more)


@st.composite
def events(draw, tuning, onset, duration):
    strings = draw(st.lists(st.sampled_from(list(tuning.strings)), unique=True, max_size=len(tuning.strings)))
    played = tuple(draw(notes(tuning, string)) for string in sorted(strings, reverse=True))
    graced = draw(st.sampled_from((0, 0, 0, 1, 2)))
    grace = tuple(draw(notes(tuning, draw(st.sampled_from(list(tuning.strings))))) for _ in range(graced))
    odd = {3: (3, 2), 5: (5, 4), 7: (7, 4)}
    usual = next((ratio for n, ratio in odd.items() if duration.denominator % n == 0), None)
    return Event(
        onset,
        duration,
        played,
        draw(st.sampled_from(("", "", "down", "up"))),
        draw(st.sampled_from((False, False, True))),
        grace,
        draw(st.sampled_from((usual, usual, usual, None, (6, 4)))),
        draw(st.sampled_from(("", "", "la")) | st.lists(WORDS, max_size=2).map(" ".join)),
    )


@st.composite
def rhythms(draw, meter):
    """Durations that fill a bar, or now and then do not."""
    durations, left = [], meter.length
    for _ in range(draw(st.integers(0, 9))):
        duration = draw(st.sampled_from(DURATIONS))
        if duration >= left:
            break
        durations.append(duration)
        left -= duration
    if draw(st.integers(0, 5)):
        durations.append(left)
    elif draw(st.booleans()):
        durations.append(left + draw(st.sampled_from(DURATIONS)))
    return durations


@st.composite
def bars(draw, tuning, number, meter):
    onset, played = Fraction(0), []
    for duration in draw(rhythms(meter)):
        played.append(draw(events(tuning, onset, duration)))
        onset += duration
    moments = (
        {Fraction(0)} | {e.onset for e in played} | {n * Fraction(1, 16) for n in range(int(onset * 16))}
    )
    chosen = sorted(draw(st.lists(st.sampled_from(sorted(moments)), max_size=3)))
    return Bar(
        number,
        meter,
        tuple(played),
        tuple(ChordMark(moment, draw(SYMBOLS)) for moment in chosen),
        draw(st.just("") | LETTERS),
        draw(st.booleans()),
        draw(st.sampled_from((0, 0, 0, 2, 2, 3, 1))),
        draw(st.sampled_from(((), (), (1,), (2,), (1, 2)))),
        draw(st.sampled_from((False, False, True))),
        draw(st.just("") | LINES),
        draw(KEYS),
    )


@st.composite
def scores(draw):
    tuning = draw(tunings())
    meter = draw(st.sampled_from(METERS))
    first, written = draw(st.sampled_from((1, 1, 0, 5))), []
    now = meter
    for index in range(draw(st.integers(0, 5))):
        now = draw(st.sampled_from((now, now, now, *METERS)))
        written.append(draw(bars(tuning, first + index, now)))
    return Score(
        draw(LINES),
        tuning,
        meter,
        tuple(written),
        draw(KEYS),
        draw(st.none() | st.integers(1, 300)),
        draw(LINES),
        tuple(draw(st.lists(LINES, max_size=2))),
    )

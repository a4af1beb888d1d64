"""ABC into a score, by the ABC notation standard 2.1 (December 2011).

Our own reader and not music21's, which takes ``Z2`` for a note, loses ``[K:]`` and
``[M:]`` inside a line, ties between chords, endings longer than a bar and the words,
and cuts a bar that is too long in two without a word. Accidentals carry to the
barline at every octave (section 11.3, the default).
"""

import re
from collections import Counter
from dataclasses import replace

from pieces.music.score import Bar, Meter, Problem, Score
from pieces.reading.abc_line import Voice, finish, obey, read_line, voice_id
from pieces.reading.abc_tunes import (
    Key,
    Tune,
    default_unit,
    names_key,
    read_key,
    read_meter,
    read_tempo,
    read_unit,
    tunes_of,
)
from pieces.reading.abc_words import sing
from pieces.reading.barring import numbered, sum_problems
from pieces.reading.refusals import refused


def parts_of_abc(text: str) -> list[tuple[Tune, str | None, str]]:
    """Everything in the file that can be taken: (tune, voice or None, what to call it)."""
    found = []
    for tune in tunes_of(text):
        voices = _voice_names(tune)
        title = tune.title or "Tune"
        if len(voices) < 2:
            found.append((tune, None, title))
        else:
            found += [(tune, voice, f"{title}: {name}") for voice, name in voices.items()]
    return found


def read_tune(tune: Tune, chosen: str | None = None) -> tuple[Score, list[Problem]]:
    """The score of one tune (of one of its voices), and what is doubtful in it.

    >>> score, _ = read_tune(tunes_of("X:1\\nT:Scale\\nM:4/4\\nL:1/4\\nK:G\\nE F ^c c|")[0])
    >>> [note.pitch for event in score.bars[0].events for note in event.notes]
    [64, 66, 73, 73]

    Raises ``UnreadableScore`` where there are no notes.
    """
    meter, problems = _meter_of(tune)
    unit = read_unit(tune.last("L") or "") or default_unit(meter)
    key = read_key(tune.last("K") or "")
    problems += _key_problems(tune)
    voices: dict[str, Voice] = {}
    current = chosen if chosen is not None else ""
    shifts = _voice_shifts(tune)

    def voice_named(name: str) -> Voice:
        if name not in voices:
            own = replace(key, shift=key.shift + shifts.get(name, 0))
            voices[name] = Voice(own, meter or Meter(4, 4), unit)
        return voices[name]

    for _, line in tune.lines:
        letter = line[0] if re.match(r"[A-Za-z]:", line) and not line.startswith(("|", "::")) else ""
        if letter == "V":
            current = voice_id(line[2:])
        elif letter == "w":
            voice = voice_named(current)
            if voice.line_starts:
                voice.words.append((len(voice.line_starts) - 1, line[2:]))
        elif letter:
            obey(voice_named(current), letter, line[2:])
        else:
            current = read_line(line, current, voice_named)
    asked = voices.values() if chosen is None else [voices[chosen]] if chosen in voices else []
    voice = next((voice for voice in asked if finish(voice)), None)
    if voice is None:
        raise refused("No notes stand in this ABC text.", "A tune has a K: line and notes after it.")
    bars = sing(numbered(voice.bars), voice.line_starts, voice.words)
    if meter is None:
        bars, told = _free_meter(bars)
        problems.append(told)
    score = Score(
        title=tune.title,
        meter=bars[0].meter,
        bars=bars,
        key=key.name,
        tempo=next((t for t in (_tempo(f, bars[0].meter) for f in tune.header) if t), None),
        credit=tune.last("C") or "",
    )
    return score, problems + _unknown_problems(voice) + sum_problems(bars)


def _tempo(header: tuple[str, str], meter: Meter) -> int | None:
    return read_tempo(header[1], meter) if header[0] == "Q" else None


def _meter_of(tune: Tune) -> tuple[Meter | None, list[Problem]]:
    written = tune.last("M")
    try:
        return (read_meter(written) if written else None), []
    except ValueError:
        message = f"M:{written} is no meter."
        return None, [Problem(message, "Write it as M:4/4, M:3/4 or M:6/8.", fatal=False)]


def _key_problems(tune: Tune) -> list[Problem]:
    written = tune.last("K")
    if written is None or names_key(written):
        return []
    message = f"K:{written[:20]} names no key, so no sharps or flats are taken."
    return [Problem(message, "Write it as K:G, K:Am or K:Ddor.", fatal=False)]


def _voice_names(tune: Tune) -> dict[str, str]:
    """Each voice of the tune in order, with the name the file gives it."""
    names: dict[str, str] = {}
    said = [text for letter, text in tune.header if letter == "V"]
    for _, line in tune.lines:
        said += [line[2:]] if line.startswith("V:") else re.findall(r"\[V:([^\]]*)\]", line)
    for text in said:
        match = re.search(r'(?:\bname|\bnm)="?([^"]*)"?', text)
        name = names.setdefault(voice_id(text), f"voice {voice_id(text)}")
        if match and name.startswith("voice "):
            names[voice_id(text)] = match[1].strip() or name
    return names


def _voice_shifts(tune: Tune) -> dict[str, int]:
    return {
        voice_id(text): read_key(text.split(" ", 1)[-1], Key()).shift
        for name, text in tune.header
        if name == "V"
    }


def _free_meter(bars: tuple[Bar, ...]) -> tuple[tuple[Bar, ...], Problem]:
    """A file without meter takes the one its bars have most often."""
    lengths = Counter(bar.length for bar in bars)
    common = lengths.most_common(1)[0][0]
    unit = max(4, common.denominator)
    fits = common.numerator * unit // common.denominator <= 32 and unit <= 32
    meter = Meter(int(common * unit), unit) if fits and common * unit >= 1 else Meter(4, 4)
    told = Problem(
        f"The file gives no meter. Most of its bars last {meter}, so that is taken.",
        "Add a line such as M:3/4 if that is wrong.",
        fatal=False,
    )
    return numbered(tuple(replace(bar, meter=meter) for bar in bars)), told


def _unknown_problems(voice: Voice) -> list[Problem]:
    if not voice.unknown:
        return []
    marks = " ".join(mark for mark, _ in voice.unknown.most_common(8))
    return [
        Problem(f"Passed over, as it is no ABC: {marks}", "Compare the notes with the paper.", fatal=False)
    ]

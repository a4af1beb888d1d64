"""A small ABC reader, independent of the one it checks.

Written from the ABC notation standard 2.1 (December 2011) alone, for single tunes
of one voice: sections 3.1.14 (key signatures), 4.2 and 11.3 (accidentals, to the
barline at every octave), 4.3 (lengths), 4.4 (broken rhythm), 4.11 (ties), 4.13
(tuplets), 4.17 (chords). It walks the text a character at a time and shares no code
or table with the house.
"""

from fractions import Fraction

CIRCLE = ["Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#"]
# Where the tonic of each mode sits above the tonic of the major key with the same signature.
MODE_STEPS = {
    "": 0,
    "maj": 0,
    "ion": 0,
    "dor": 2,
    "phr": 4,
    "lyd": -1,
    "mix": 1,
    "aeo": 3,
    "min": 3,
    "m": 3,
    "loc": 5,
}
WHITE = dict(zip("CDEFGABcdefgab", [60, 62, 64, 65, 67, 69, 71, 72, 74, 76, 77, 79, 81, 83], strict=True))
SIGNS = {"^": 1, "^^": 2, "_": -1, "__": -2, "=": 0}
INSTEAD_OF = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}


def signature(text):
    """Letter to alteration of a K: field."""
    words = text.split()
    if not words or words[0].lower() == "none":
        return {}
    if words[0] in ("HP", "Hp"):
        return {"F": 1, "C": 1}
    tonic = words[0][0]
    rest = words[0][1:]
    if rest[:1] in ("#", "b"):
        tonic, rest = tonic + rest[0], rest[1:]
    if not rest and len(words) > 1 and words[1].lower()[:3] in MODE_STEPS:
        rest = words[1]
    mode = rest.lower() if rest.lower() in ("", "m") else rest.lower()[:3]
    major = CIRCLE.index(tonic) - MODE_STEPS.get(mode, 0)
    count = major - CIRCLE.index("C")
    altered = dict.fromkeys("FCGDAEB"[: max(0, count)], 1)
    altered.update(dict.fromkeys("BEADGCF"[: max(0, -count)], -1))
    for word in words[1:]:
        if word[0] in "^_=" and word[-1].upper() in "ABCDEFG":
            altered[word[-1].upper()] = SIGNS[word[:-1]]
    return altered


class Walk:
    """The tune as it is walked: ``bars`` holds lists of [duration, pitches, held pitches]."""

    def __init__(self, unit, compound, key):
        self.unit, self.compound, self.key = unit, compound, key
        self.bars, self.bar = [], []
        self.signs = {}
        self.next_scale = Fraction(1)
        self.tuplet_left, self.tuplet_scale = 0, Fraction(1)
        self.tied = {}

    def close(self):
        if self.bar:
            self.bars.append(self.bar)
        self.bar, self.signs = [], {}

    def add(self, pitches, duration):
        if self.tuplet_left:
            duration *= self.tuplet_scale
            self.tuplet_left -= 1
        self.bar.append([duration * self.next_scale * self.unit, sorted(pitches)])
        self.next_scale = Fraction(1)


def take_length(text, i):
    """A length at ``i`` and the place after it."""
    start = i
    while i < len(text) and text[i].isdigit():
        i += 1
    length = Fraction(int(text[start:i] or 1))
    while i < len(text) and text[i] == "/":
        i += 1
        start = i
        while i < len(text) and text[i].isdigit():
            i += 1
        length /= int(text[start:i] or 2)
    return length, i


def take_pitch(text, i, walk):
    sign = ""
    while text[i] in "^_=":
        sign += text[i]
        i += 1
    letter = text[i]
    i += 1
    height = WHITE[letter]
    while i < len(text) and text[i] in ",'":
        height += 12 if text[i] == "'" else -12
        i += 1
    name = letter.upper()
    if sign:
        walk.signs[name] = SIGNS[sign]
    elif height in walk.tied:
        return walk.tied[height], i
    return height + walk.signs.get(name, walk.key.get(name, 0)), i


def octaves_after(text, i):
    """Octave marks of the note at ``i``: up counts one, down minus one."""
    rest = text[i:].lstrip("^_=")[1:]
    marks = rest[: len(rest) - len(rest.lstrip(",'"))]
    return marks.count("'") - marks.count(",")


def take_chord(text, i, walk):
    pitches, first = [], None
    i += 1
    while text[i] != "]":
        if text[i] in "^_=ABCDEFGabcdefg":
            pitch, i = take_pitch(text, i, walk)
            length, i = take_length(text, i)
            first = first or length
            pitches.append(pitch)
        else:
            i += 1
    return pitches, first, i + 1


def walk_line(text, walk):
    i = 0
    while i < len(text):
        c = text[i]
        if c == '"':
            i = text.index('"', i + 1) + 1
        elif c in "!+" and c in text[i + 1 :] and " " not in text[i : text.index(c, i + 1)]:
            i = text.index(c, i + 1) + 1
        elif c == "{":
            end = text.index("}", i)
            j = i + 1
            while j < end:
                if text[j] in "^_=ABCDEFGabcdefg":
                    _, j = take_pitch(text, j, walk)
                else:
                    j += 1
            i = end + 1
        elif c == "[" and text[i + 1 : i + 2].isalpha() and text[i + 2 : i + 3] == ":":
            end = text.index("]", i)
            obey(text[i + 1], text[i + 3 : end], walk)
            i = end + 1
        elif c == "[" and (text[i + 1].isdigit()):
            i += 1
            while i < len(text) and (text[i].isdigit() or text[i] in ",-"):
                i += 1
            walk.close()
        elif c == "[" and text[i + 1] in "^_=ABCDEFGabcdefg":
            pitches, inner, i = take_chord(text, i, walk)
            outer, i = take_length(text, i)
            walk.add(pitches, inner * outer)
            walk.tied = {}
        elif c in "|:" or text[i : i + 2] in ("[|", "|]"):
            start = i
            while i < len(text) and (text[i] in "|:]" or text[i : i + 2] == "[|"):
                i += 1
            walk.close()
            if i > start and i < len(text) and text[i].isdigit():
                while i < len(text) and (text[i].isdigit() or text[i] in ",-"):
                    i += 1
        elif c == "(" and text[i + 1 : i + 2].isdigit():
            i = begin_tuplet(text, i, walk)
        elif c in "^_=ABCDEFGabcdefg":
            white = WHITE[text[i:].lstrip("^_=")[0]] + 12 * octaves_after(text, i)
            pitch, i = take_pitch(text, i, walk)
            length, i = take_length(text, i)
            walk.add([pitch], length)
            walk.tied = {white: pitch} if text[i : i + 1] == "-" else {}
        elif c in "zx":
            length, i = take_length(text, i + 1)
            walk.add([], length)
            walk.tied = {}
        elif c in "<>":
            start = i
            while i < len(text) and text[i] == c:
                i += 1
            short = Fraction(1, 2 ** (i - start))
            before, after = (2 - short, short) if c == ">" else (short, 2 - short)
            walk.bar[-1][0] *= before
            walk.next_scale = after
        else:
            i += 1


def begin_tuplet(text, i, walk):
    numbers, i = [""], i + 1
    while i < len(text) and (text[i].isdigit() or text[i] == ":"):
        if text[i] == ":":
            numbers.append("")
        else:
            numbers[-1] += text[i]
        i += 1
    notes = int(numbers[0])
    usual = INSTEAD_OF.get(notes, 3 if walk.compound else 2)
    time = int(numbers[1]) if len(numbers) > 1 and numbers[1] else usual
    walk.tuplet_left = int(numbers[2]) if len(numbers) > 2 and numbers[2] else notes
    walk.tuplet_scale = Fraction(time, notes)
    return i


def obey(letter, text, walk):
    if letter == "K" and text.strip():
        walk.key = signature(text.strip())
    elif letter == "L":
        walk.unit = Fraction(text.strip())
    elif letter == "M":
        walk.compound = is_compound(text.strip())


def is_compound(meter):
    return meter in ("6/8", "9/8", "12/8")


def read(text):
    """Bars of the first tune in ``text``: lists of [duration, sorted pitches]; rests have none."""
    fields, body, in_body = {}, [], False
    for line in text.splitlines():
        if line.startswith("%"):
            continue
        line = line.split("%")[0].rstrip()
        is_field = len(line) > 1 and line[1] == ":" and line[0].isalpha()
        if in_body and not line:
            break
        if in_body:
            body.append((is_field, line))
        elif is_field:
            fields[line[0]] = line[2:].strip()
            in_body = line[0] == "K"
    meter = fields.get("M", "none")
    ratio = {"C": Fraction(1), "C|": Fraction(1)}.get(meter)
    if ratio is None and "/" in meter:
        ratio = Fraction(meter.split()[0])
    unit = Fraction(1, 16) if ratio is not None and ratio < Fraction(3, 4) else Fraction(1, 8)
    if "L" in fields:
        unit = Fraction(fields["L"])
    walk = Walk(unit, is_compound(meter), signature(fields["K"]))
    for is_field, line in body:
        if is_field:
            obey(line[0], line[2:], walk)
        else:
            walk_line(line.rstrip("\\"), walk)
    walk.close()
    return walk.bars

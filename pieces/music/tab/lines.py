"""What was typed, line by line, and which lines belong together.

A system is a run of string lines with the rows above it (chord names, section
letters, endings) and below it (strums, picking letters, the count, words).
Lines such as ``title: ...`` may stand anywhere outside a system.
"""

import re
from dataclasses import dataclass, field
from typing import NamedTuple

DASHES = str.maketrans(dict.fromkeys("‐‑‒–—―−─━﹣－", "-") | {"‖": "|", "│": "|", "┃": "|", "¦": "|"})
TAB_WIDTH = 8

ROW_LABELS = ("chords", "accent", "tuplet", "strum", "pick", "left", "count", "words")
_ROW = re.compile(rf"\s*({'|'.join(ROW_LABELS)})\s*:", re.IGNORECASE)
_HEADER = re.compile(r"\s*([A-Za-z][A-Za-z ]{0,20}?(?: [0-9]{1,4})?)\s*:(?![|:-])(.*)$")
_STRING = re.compile(r"\s*+(?P<label>[A-Ga-g][#b♯♭]?|[1-9][0-9]?)?\s*+(?P<body>[|:\[-].*)$")
_GOES_ON = re.compile(r"\s*(\.\.\.|…)\s*$")
_BELOW_SIGNS = {
    "strum": re.compile(r"[DUdu↓↑\s|]+$"),
    "pick": re.compile(r"[pima.\s|]+$"),
    "accent": re.compile(r"[>\s|]+$"),
}
# Possessive (++), so that a hostile line costs no more than its length.
_COUNT_SIGNS = re.compile(r"(?>[0-9()&+/.|\s\[\]]|and|trip|tri|let|la|li|ta|ka|di|mi|ti|ee|ah|[ean])++$")
# Of these alone no count is made: they are endings and meters over the next system.
_ONLY_ABOVE = re.compile(r"(?>\s*+(?:(?:[0-9]{1,2}\.)++|[0-9]{1,2}/[0-9]{1,2}))++$")


class Line(NamedTuple):
    """One typed line, its tabs expanded; ``number`` counts from 1."""

    number: int
    text: str
    origin: tuple[int, ...] = ()

    def column(self, index: int) -> int:
        """The column, from 1, at which the character of that index was typed."""
        if self.origin:
            return self.origin[min(index, len(self.origin) - 1)] + 1
        return index + 1


class StringLine(NamedTuple):
    """A line of dashes: its label ("" where it has none) and where its body begins."""

    line: Line
    label: str
    start: int

    @property
    def text(self) -> str:
        return self.line.text.translate(DASHES)


class Header(NamedTuple):
    """A line such as ``title: Two Lanterns``. ``before`` counts the systems that stand above it."""

    line: Line
    name: str
    value: str
    before: int


class Row(NamedTuple):
    """A line above or below the strings. ``kind`` is "" where no label or sign says it."""

    kind: str
    line: Line
    labelled: bool = False

    @property
    def text(self) -> str:
        """The row with its label and its barlines blanked, so that columns stay true."""
        text = self.line.text
        if self.labelled:
            end = _ROW.match(text).end()
            text = " " * end + text[end:]
        return text if self.kind in ("words", "chords") else text.replace("|", " ")


@dataclass
class System:
    """The lines of one system. ``goes_on``: the next system was typed as the same line."""

    strings: list[StringLine]
    above: list[Row] = field(default_factory=list)
    below: list[Row] = field(default_factory=list)
    goes_on: bool = False

    def row(self, kind: str) -> list[Row]:
        return [row for row in self.above + self.below if row.kind == kind]


@dataclass
class Page:
    """A whole typed piece, sorted into its kinds of line."""

    headers: list[Header] = field(default_factory=list)
    systems: list[System] = field(default_factory=list)
    prose: list[tuple[Line, bool]] = field(default_factory=list)


def typed_lines(text: str) -> list[Line]:
    r"""The lines of ``text`` with any line ends, tabs expanded and odd spaces made plain.

    >>> [line.text for line in typed_lines("a\r\n\tb")]
    ['a', '        b']
    """
    return [_line(number, raw) for number, raw in enumerate(re.split(r"\r\n|\r|\n", text), 1)]


def _plain(text: str) -> str:
    """``text`` with a space for every odd space and every character that cannot be seen."""
    return "".join(c if c == "\t" or (c.isprintable() and not c.isspace()) else " " for c in text)


def _line(number: int, raw: str) -> Line:
    plain = _plain(raw.replace("\ufeff", ""))
    if "\t" not in plain:
        return Line(number, plain.rstrip())
    text, origin = "", []
    for index, character in enumerate(plain):
        width = TAB_WIDTH - len(text) % TAB_WIDTH if character == "\t" else 1
        text += " " * width if character == "\t" else character
        origin += [index] * width
    return Line(number, text.rstrip(), tuple(origin))


def string_line(line: Line) -> StringLine | None:
    """``line`` as a string of the instrument, or None if it is something else.

    >>> string_line(Line(1, "A|-3---2--|")).label
    'A'
    >>> string_line(Line(1, "A gentle start")) is None
    True
    """
    match = _STRING.match(line.text.translate(DASHES))
    if not match:
        return None
    label, body = match["label"] or "", match["body"]
    if label.isdigit() and body[0] == "-":
        return None
    drawn = "--" in body or ("-" in body and "|" in body) or (label and body.startswith("|"))
    if not drawn or (body.startswith("[") and not body.startswith("[|")):
        return None
    return StringLine(line, label, match.start("body"))


def sort_lines(lines: list[Line], strings: int | None) -> Page:
    """Sort typed lines into systems, headers and prose.

    ``strings`` is the number of strings if it is known; a run of twice as many
    lines is then two systems.
    """
    page, waiting, index = Page(), [], 0
    while index < len(lines):
        run = _run_at(lines, index)
        if run:
            index = _add_systems(page, lines, index, run, waiting, strings)
            waiting = []
            continue
        line = lines[index]
        header = _HEADER.match(line.text)
        if _GOES_ON.match(line.text) and page.systems:
            page.systems[-1].goes_on = True
        elif _ROW.match(line.text):
            waiting.append(line)
        elif header:
            name = " ".join(header[1].lower().split())
            page.headers.append(Header(line, name, " ".join(header[2].split()), len(page.systems)))
        elif line.text.strip():
            waiting.append(line)
        index += 1
    page.prose += [(line, bool(page.systems)) for line in waiting]
    return page


def _run_at(lines: list[Line], index: int) -> list[StringLine]:
    """The string lines that follow one another from ``index``, none if there are none."""
    run = []
    for line in lines[index:]:
        string = string_line(line)
        if string is None or (run and bool(string.label) != bool(run[0].label)):
            break
        run.append(string)
    if len(run) == 1 and not run[0].label and not re.search(r"[|0-9]", run[0].text):
        return []
    return run


def _add_systems(page, lines, index, run, waiting, strings) -> int:
    """Add the run's systems to ``page``; return the index of the next line to sort."""
    size = strings if strings and len(run) % strings == 0 else len(run)
    systems = [System(run[i : i + size]) for i in range(0, len(run), size)]
    for line in waiting:
        row = above_row(line)
        if row:
            systems[0].above.append(row)
        else:
            page.prose.append((line, bool(page.systems)))
    index, rows = _rows_below(lines, index + len(run))
    systems[-1].below += rows
    page.systems += systems
    return index


def _rows_below(lines: list[Line], index: int) -> tuple[int, list[Row]]:
    rows, seen = [], index
    while seen < len(lines):
        line = lines[seen]
        if line.text.strip():
            row = below_row(line)
            counted = any(found.kind == "count" for found in rows)
            if row is None or (counted and row.kind != "words" and not row.labelled):
                break
            apart = seen > index and not (row.labelled or row.kind == "count")
            if row.kind == "chords" or apart:
                break
            rows.append(row)
            index = seen + 1
        elif any(found.kind == "count" for found in rows):
            break
        seen += 1
    return index, rows


def below_row(line: Line) -> Row | None:
    """``line`` as a row under the strings, or None.

    >>> below_row(Line(1, "   1 2 & 3 (4)")).kind, below_row(Line(1, "  p i m")).kind
    ('count', 'pick')
    """
    label = _ROW.match(line.text)
    if label:
        return Row(label[1].lower(), line, labelled=True)
    text = line.text.strip()
    for kind, signs in _BELOW_SIGNS.items():
        if signs.match(text):
            return Row(kind, line)
    if _HEADER.match(line.text) or string_line(line) or _ONLY_ABOVE.match(line.text):
        return None
    if _COUNT_SIGNS.match(text) or _mostly_counts(text):
        return Row("count", line)
    return None


def _mostly_counts(text: str) -> bool:
    """Whether a line with some wrong signs in it is still plainly meant as a count."""
    if text.startswith("[") or re.search(r"[0-9]\.", text):
        return False
    tokens = text.split()
    good = [token for token in tokens if _COUNT_SIGNS.match(token)]
    return any(token[0] in "123" for token in good) and len(good) * 2 > len(tokens)


ABOVE_TOKEN = re.compile(r"\[[^\]]{0,60}\]|\(key [^)]{0,30}\)|\S+", re.IGNORECASE)
_CHORD = re.compile(
    r"[A-G](?>#|b|♯|♭|maj|Maj|min|m|M|dim|aug|sus|add|alt|no|omit|°|o|ø|Δ|△|\+|-(?!-)|\(|\)|,|[0-9]|/[A-G]|/9)*+$"
)
_MARKS = {
    "letter": re.compile(r"\[\s*([^\]]*?)\s*\]$"),
    "key": re.compile(r"\(key\s+([^)]*?)\s*\)$", re.IGNORECASE),
    "meter": re.compile(r"([0-9]{1,2}/[0-9]{1,2})$"),
    "endings": re.compile(r"\|?((?:[0-9]{1,2}\.,?)+)[-_‐‑‒–—―−─]*\|?$"),
    "times": re.compile(r"(?:[x×]([0-9]{1,3})|([0-9]{1,3})[x×])$"),
    "accent": re.compile(r"(>)$"),
}


def above_mark(token: str) -> tuple[str, str] | None:
    """What a sign above the strings is, and what it says; None if it is none of ours.

    >>> above_mark("[A']"), above_mark("1.2."), above_mark("3x"), above_mark("Am7")
    (('letter', "A'"), ('endings', '1.2.'), ('times', '3'), ('chord', 'Am7'))
    """
    for kind, pattern in _MARKS.items():
        match = pattern.match(token)
        if match:
            return kind, next(group for group in match.groups() if group is not None)
    if _CHORD.match(token) or token.upper().rstrip(".") in ("N.C", "NC"):
        return "chord", token
    return None


def is_drawn_line(token: str) -> bool:
    """Whether ``token`` is only part of a drawn line, such as the bracket of an ending."""
    return not token.translate(DASHES).strip("-_|")


def above_row(line: Line) -> Row | None:
    """``line`` as a row over the strings, or None if it reads as prose."""
    label = _ROW.match(line.text)
    if label:
        return Row(label[1].lower(), line, labelled=True)
    tokens = ABOVE_TOKEN.findall(line.text)
    known = [token for token in tokens if above_mark(token) or is_drawn_line(token)]
    return Row("", line) if len(known) * 2 >= len(tokens) else None


def plain_text(text: str) -> str:
    r"""``text`` on one line with single spaces, as a line of a typed piece gives it back.

    >>> plain_text(" Two\n Lanterns ")
    'Two Lanterns'
    """
    return " ".join(_plain(text).split())

"""One pass of expat over a MusicXML file, before any library sees it.

It refuses definitions of entities, depth, length and numbers that no score has, and
says the line and the bar. The standard document type of MusicXML is allowed; it is
never fetched.
"""

import re
from xml.parsers import expat

from pieces.reading.refusals import MOST_BARS, MOST_NOTES, refused

MOST_DEPTH = 40
MOST_ATTRIBUTE = 2_000
MOST_TEXT = 20_000
MOST_PARTS = 64
CHUNK = 64 * 1024
# Lowest and highest number that each element may hold (MusicXML 4.0's own ranges, or wider than
# any instrument where it sets none).
RANGES = {
    "divisions": (1, 100_000),
    "duration": (0, 10_000_000),
    "octave": (0, 9),
    "alter": (-4, 4),
    "string": (1, 24),
    "fret": (0, 40),
    "fifths": (-7, 7),
    "beat-type": (1, 64),
    "staves": (1, 8),
    "staff": (1, 8),
    "actual-notes": (1, 64),
    "normal-notes": (1, 64),
    "capo": (0, 24),
    "staff-lines": (0, 24),
    "tuning-octave": (0, 9),
    "tuning-alter": (-4, 4),
    "root-alter": (-4, 4),
    "bass-alter": (-4, 4),
    "degree-value": (0, 15),
    "chromatic": (-60, 60),
    "octave-change": (-5, 5),
    "frame-strings": (1, 24),
    "frame-frets": (1, 24),
    "first-fret": (0, 40),
    "offset": (-10_000_000, 10_000_000),
    "measure-repeat": (1, 16),
    "multiple-rest": (1, 500),
}
_ATTRIBUTE_RANGES = {("repeat", "times"): (0, 32), ("sound", "tempo"): (0, 2_000)}
_NUMBER = re.compile(r"[+-]?\d{1,9}(\.\d{0,12})?\Z")
_ENCODING = re.compile(rb"""\A\s*<\?xml[^>]{0,200}?encoding\s*=\s*["']([A-Za-z0-9._-]{1,40})["']""")
_ENCODINGS = {"utf-8", "utf8", "us-ascii", "ascii", "iso-8859-1", "latin-1", "latin1", "windows-1252"}
_ROOTS = {"score-partwise"}


def is_well_named(filename: str) -> bool:
    """Whether an entry of a compressed file is called as a score is."""
    return filename.lower().endswith((".xml", ".musicxml"))


def check_xml(data: bytes, root: str = "") -> None:
    """Raise ``UnreadableScore`` unless ``data`` is well formed, modest XML of a score.

    ``root`` names another root element to ask for.
    """
    _Watch({root} if root else _ROOTS).run(data)


def decoded_xml(data: bytes) -> str:
    """The text of checked XML, without byte order mark or declaration of an encoding."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = data.decode("utf-16", "replace")
    else:
        named = _ENCODING.match(data.removeprefix(b"\xef\xbb\xbf"))
        encoding = named[1].decode().lower() if named else "utf-8"
        if encoding not in _ENCODINGS:
            raise refused(f"This file is written in {encoding}.", "Save it again as UTF-8.")
        text = data.decode("utf-8-sig" if encoding.startswith("utf") else encoding, "replace")
    return re.sub(r"\A\s*<\?xml[^>]*\?>", "", text).lstrip()


class _Watch:
    """What one pass has seen so far."""

    def __init__(self, roots: set[str]):
        self.roots = roots
        self.path: list[str] = []
        self.text: list[str] = []
        self.text_length = 0
        self.counts = {"note": 0, "measure": 0, "part": 0}
        self.parser = expat.ParserCreate()
        self.parser.buffer_text = True
        self.parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        self.parser.StartDoctypeDeclHandler = self.doctype
        self.parser.EntityDeclHandler = self.entity
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.characters

    def run(self, data: bytes) -> None:
        try:
            for at in range(0, len(data), CHUNK):
                self.parser.Parse(data[at : at + CHUNK], at + CHUNK >= len(data))
        except expat.ExpatError as error:
            raise refused(
                f"This is no well-formed XML ({expat.errors.messages.get(error.code, 'damaged')}).",
                "Save the piece again as MusicXML from the program it came from.",
                line=error.lineno,
                column=error.offset + 1,
            ) from error
        except (LookupError, ValueError) as error:
            if hasattr(error, "problems"):
                raise
            raise refused("This file's letters cannot be read.", "Save it again as UTF-8.") from error

    def refuse(self, message: str, remedy: str = "Save the piece again from the program it came from."):
        bar = self.counts["measure"] if "measure" in self.path else None
        return refused(message, remedy, line=self.parser.CurrentLineNumber, bar=bar)

    def doctype(self, name, system_id, public_id, has_internal_subset):
        if has_internal_subset:
            raise self.refuse("This file brings definitions of its own, which a score does not need.")

    def entity(self, *_):
        raise self.refuse("This file brings definitions of its own, which a score does not need.")

    def start(self, name, attributes):
        if not self.path and name not in self.roots:
            raise self.wrong_root(name)
        self.path.append(name)
        self.text, self.text_length = [], 0
        if len(self.path) > MOST_DEPTH:
            raise self.refuse("This file is nested deeper than any score.")
        if name in self.counts:
            self.count(name)
        for key, value in attributes.items():
            if len(value) > MOST_ATTRIBUTE:
                raise self.refuse(f"The {key} of a {name} is far too long.")
            if (name, key) in _ATTRIBUTE_RANGES:
                self.check_number(f"{key} of a {name}", value, _ATTRIBUTE_RANGES[name, key])

    def count(self, name):
        self.counts[name] += 1
        if name == "part":
            self.counts["measure"] = 0
        if self.counts["note"] > MOST_NOTES:
            raise self.refuse(f"This piece has more than {MOST_NOTES:,} notes.", "Bring it in parts.")
        if self.counts["measure"] > MOST_BARS:
            raise self.refuse(f"This piece has more than {MOST_BARS:,} bars.", "Bring it in parts.")
        if self.counts["part"] > MOST_PARTS:
            raise self.refuse(
                f"This piece has more than {MOST_PARTS} parts.", "Bring only the parts you need."
            )

    def end(self, name):
        self.path.pop()
        if name in RANGES:
            self.check_number(name, "".join(self.text).strip(), RANGES[name])
        self.text, self.text_length = [], 0

    def characters(self, text):
        self.text_length += len(text)
        if self.text_length > MOST_TEXT:
            raise self.refuse("A text in this file is longer than any score's.")
        self.text.append(text)

    def check_number(self, what: str, text: str, limits: tuple[int, int]):
        low, high = limits
        if text and not (_NUMBER.match(text) and low <= float(text) <= high):
            raise self.refuse(f"The {what} is written as {text[:30]!r}; it lies from {low} to {high:,}.")

    def wrong_root(self, name: str):
        if name == "score-timewise":
            return self.refuse("This MusicXML is written bar by bar (timewise).", "Save it as partwise.")
        return self.refuse("This XML is not a MusicXML score.", "Save the piece as MusicXML.")

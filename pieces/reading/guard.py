"""What a brought file must pass before anything reads it.

Nothing here trusts a name, a length or a number that the file states of itself.
What passes is text or bytes in memory; nothing is ever opened by a path.
"""

import io
import re
import zipfile
from typing import Literal, NamedTuple

from pieces.reading.refusals import refused
from pieces.reading.xml_guard import check_xml, decoded_xml, is_well_named

KILO, MEGA = 1024, 1024 * 1024
CAPS = {"MusicXML": 4 * MEGA, "compressed MusicXML": 2 * MEGA, "ABC or tab": 64 * KILO, "MIDI": 256 * KILO}
MOST_ENTRIES = 20
MOST_UNPACKED = 8 * MEGA
MOST_RATIO = 200
MOST_TRACKS = 64

_ABC_LINE = re.compile(r"^\s*(X:|K:)", re.MULTILINE)
# A string's line: a letter, a bar line, and dashes, frets or bar lines.
_TAB_LINE = re.compile(r"^\s*[A-Ga-g]?[#b]?\s*\|[^\n]*[-–—_][^\n]*$", re.MULTILINE)

Kind = Literal["musicxml", "abc", "midi", "tab"]


class Upload(NamedTuple):
    """A file that has passed: what it is, and its content in memory."""

    kind: Kind
    content: str | bytes


def admit(name: str, data: bytes) -> Upload:
    """The content of a brought file, if it is safe to read. Raises ``UnreadableScore``.

    What a file is, is judged by how it begins; ``name`` only words the refusal.

    >>> admit("tune.abc", b"X:1\\nK:C\\nCDEF|").kind
    'abc'
    """
    if not data.strip():
        raise refused("This file is empty.", "Choose another file.")
    if data.startswith(b"PK\x03\x04"):
        _cap("compressed MusicXML", data)
        return _admit_xml(_unpacked(data))
    if data.startswith(b"MThd"):
        _cap("MIDI", data)
        return Upload("midi", _checked_midi(data))
    if _looks_like_xml(data):
        _cap("MusicXML", data)
        return _admit_xml(data)
    return _admit_text(name, data)


def _cap(kind: str, data: bytes) -> None:
    cap = CAPS[kind]
    if len(data) > cap:
        size = f"{cap // MEGA} MB" if cap >= MEGA else f"{cap // KILO} KB"
        raise refused(f"This file is too large: {kind} may have {size}.", "Bring one piece at a time.")


def _looks_like_xml(data: bytes) -> bool:
    head = data[:64].lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n").replace(b"\x00", b"")
    return head.startswith(b"<")


def _admit_xml(data: bytes) -> Upload:
    check_xml(data)
    return Upload("musicxml", decoded_xml(data))


def _checked_midi(data: bytes) -> bytes:
    """MIDI whose chunks add up to the file (Standard MIDI Files 1.0, chunks)."""
    if len(data) < 14 or int.from_bytes(data[4:8], "big") != 6:
        raise refused(
            "This MIDI file is damaged at its start.", "Save it again from the program it came from."
        )
    tracks, division = int.from_bytes(data[10:12], "big"), int.from_bytes(data[12:14], "big")
    if not 1 <= tracks <= MOST_TRACKS:
        raise refused(
            f"This MIDI file names {tracks} tracks; up to {MOST_TRACKS} are read.", "Save fewer tracks."
        )
    if division & 0x8000 or division == 0:
        raise refused("This MIDI file counts film frames, not beats.", "Save it with ticks per quarter note.")
    at, found = 14, 0
    while at + 8 <= len(data) and found < tracks:
        length = int.from_bytes(data[at + 4 : at + 8], "big")
        if at + 8 + length > len(data):
            raise refused("This MIDI file breaks off in the middle.", "Copy or download it again.")
        found += data[at : at + 4] == b"MTrk"
        at += 8 + length
    if found < tracks:
        raise refused("This MIDI file breaks off in the middle.", "Copy or download it again.")
    return data


def _admit_text(name: str, data: bytes) -> Upload:
    if b"\x00" in data[:1024]:
        raise refused(
            f"{_shown(name)} is not a kind of file that can be read here.",
            "Bring MusicXML (.musicxml, .xml, .mxl), ABC (.abc), MIDI (.mid) or counted tab (.txt).",
        )
    _cap("ABC or tab", data)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    if _ABC_LINE.search(text):
        return Upload("abc", text)
    if _TAB_LINE.search(text):
        return Upload("tab", text)
    raise refused(
        f"{_shown(name)} holds no music that can be read here.",
        "ABC has lines that begin with X: and K:, counted tab has lines of dashes for the strings.",
    )


def _shown(name: str) -> str:
    """A file's name as it may be shown: its last part, without control characters."""
    last = re.split(r"[/\\]", name)[-1]
    return "".join(c for c in last if c.isprintable())[:80] or "This file"


def _unpacked(data: bytes) -> bytes:
    """The score inside a compressed MusicXML file (MusicXML 4.0, compressed files)."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            entries = packed.infolist()
            _check_entries(entries)
            container = next((e for e in entries if e.filename == "META-INF/container.xml"), None)
            named = _named_root(_read(packed, container)) if container else None
            return _read(packed, _root(entries, named))
    except (
        zipfile.BadZipFile,
        zipfile.LargeZipFile,
        EOFError,
        OSError,
        ValueError,
        NotImplementedError,
    ) as error:
        if hasattr(error, "problems"):
            raise
        raise refused("This compressed file is damaged.", "Copy or download it again.") from error
    except (RuntimeError, zipfile.zlib.error) as error:
        raise refused(
            "This compressed file is locked or damaged.", "Save it again without a password."
        ) from error


def _check_entries(entries: list[zipfile.ZipInfo]) -> None:
    if len(entries) > MOST_ENTRIES:
        raise refused(
            f"This compressed file holds {len(entries)} files; a score has a few.", "Bring the score alone."
        )
    unpacked = sum(entry.file_size for entry in entries)
    swollen = any(e.file_size > MOST_RATIO * max(1, e.compress_size) for e in entries)
    if unpacked > MOST_UNPACKED or swollen:
        raise refused(
            "This compressed file unpacks to far more than a score.", "Save it again from its program."
        )
    if any(e.flag_bits & 1 for e in entries):
        raise refused("This compressed file has a password.", "Save it again without one.")
    if any(e.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED) for e in entries):
        raise refused("This file is packed in an unusual way.", "Save it again as .mxl or .musicxml.")


def _named_root(container: bytes) -> str | None:
    """The score that the container names. The name is only compared, never opened as a path."""
    if len(container) > 64 * KILO:
        raise refused(
            "This compressed file's list of contents is far too long.", "Save it again from its program."
        )
    check_xml(container, root="container")
    match = re.search(rb"""<rootfile\b[^>]*\bfull-path\s*=\s*["']([^"']{1,300})["']""", container)
    return match[1].decode("utf-8", "replace") if match else None


def _root(entries: list[zipfile.ZipInfo], named: str | None) -> zipfile.ZipInfo:
    scores = [e for e in entries if is_well_named(e.filename) and not e.filename.startswith("META-INF/")]
    root = next((e for e in entries if e.filename == named), None) or next(iter(scores), None)
    if root is None:
        raise refused("There is no score in this compressed file.", "Save it again as .mxl or .musicxml.")
    if root.file_size > CAPS["MusicXML"]:
        raise refused("The score in this compressed file is too large.", "Bring one piece at a time.")
    return root


def _read(packed: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    """At most what a score may have, whatever the entry says of its size."""
    with packed.open(entry) as stream:
        content = stream.read(CAPS["MusicXML"] + 1)
    if len(content) > CAPS["MusicXML"]:
        raise refused("The score in this compressed file is too large.", "Bring one piece at a time.")
    return content

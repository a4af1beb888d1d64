"""Small files for the reading tests, good and hostile, all made here."""

import io
import zipfile

HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<!DOCTYPE score-partwise PUBLIC '
    '"-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">\n'
)
CONTAINER = (
    '<?xml version="1.0"?><container><rootfiles><rootfile full-path="{}" '
    'media-type="application/vnd.recordare.musicxml+xml"/></rootfiles></container>'
)
ABC = "%abc-2.1\nX:1\nT:Two Lanterns\nM:4/4\nL:1/4\nK:G\nD|GABc|d2 B2|G4|]\n"


def musicxml(*measures: str, parts: tuple[str, ...] = ()) -> bytes:
    """A partwise score of one part, or of several named parts with the same bars."""
    names = parts or ("Tune",)
    listed = "".join(
        f'<score-part id="P{i}"><part-name>{name}</part-name></score-part>' for i, name in enumerate(names, 1)
    )
    bars = "".join(f'<measure number="{i}">{bar}</measure>' for i, bar in enumerate(measures, 1))
    bodies = "".join(f'<part id="P{i}">{bars}</part>' for i, _ in enumerate(names, 1))
    return (
        f'{HEAD}<score-partwise version="4.0"><part-list>{listed}</part-list>{bodies}</score-partwise>'
    ).encode()


def attributes(divisions: int = 4, fifths: int = 0, beats: int = 4, more: str = "") -> str:
    return (
        f"<attributes><divisions>{divisions}</divisions><key><fifths>{fifths}</fifths></key>"
        f"<time><beats>{beats}</beats><beat-type>4</beat-type></time>{more}</attributes>"
    )


def note(
    step: str, octave: int, duration: int, *, alter: int = 0, inside: str = "", chord: bool = False
) -> str:
    """A note; ``inside`` is what follows the duration."""
    changed = f"<alter>{alter}</alter>" if alter else ""
    return (
        f"<note>{'<chord/>' if chord else ''}<pitch><step>{step}</step>{changed}<octave>{octave}</octave></pitch>"
        f"<duration>{duration}</duration>{inside}</note>"
    )


def rest(duration: int) -> str:
    return f"<note><rest/><duration>{duration}</duration></note>"


def technical(**marks) -> str:
    inside = "".join(
        f"<{name.replace('_', '-')}>{text}</{name.replace('_', '-')}>" for name, text in marks.items()
    )
    return f"<notations><technical>{inside}</technical></notations>"


def mxl(
    score: bytes, name: str = "score.xml", more: dict[str, bytes] | None = None, container: bool = True
) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        if container:
            archive.writestr("META-INF/container.xml", CONTAINER.format(name))
        archive.writestr(name, score)
        for other, content in (more or {}).items():
            archive.writestr(other, content)
    return packed.getvalue()


def variable(number: int) -> bytes:
    groups = [number & 0x7F]
    while number := number >> 7:
        groups.append(number & 0x7F | 0x80)
    return bytes(reversed(groups))


def midi(*tracks: list[tuple[int, bytes]], quarter: int = 480, kind: int = 1) -> bytes:
    """A MIDI file of tracks of (delta ticks, message)."""
    data = b"MThd" + (6).to_bytes(4, "big") + kind.to_bytes(2, "big")
    data += len(tracks).to_bytes(2, "big") + quarter.to_bytes(2, "big")
    for track in tracks:
        body = b"".join(variable(delta) + message for delta, message in track) + b"\x00\xff\x2f\x00"
        data += b"MTrk" + len(body).to_bytes(4, "big") + body
    return data


def struck(pitch: int, ticks: int, channel: int = 0, wait: int = 0) -> list[tuple[int, bytes]]:
    """A note on after ``wait`` ticks and its note off ``ticks`` later."""
    return [(wait, bytes((0x90 | channel, pitch, 80))), (ticks, bytes((0x80 | channel, pitch, 0)))]

"""A score as a Standard MIDI File 1.0: a track of tempo, meters and chord names, a track of notes."""

from collections.abc import Iterable
from fractions import Fraction

from pieces.music.keys import fifths
from pieces.music.score import Bar, Meter, Score
from pieces.music.sounding import sounds

QUARTER = 960  # ticks; whole numbers for twos, threes and fives
_VELOCITY = 80
_PLUCKED = 24  # General MIDI: acoustic guitar (nylon)

Message = tuple[int, int, bytes]  # tick, rank among those of one tick, what is sent


def write_midi(score: Score, order: Iterable[int] | None = None) -> bytes:
    """``score`` as MIDI. ``order`` lists bar numbers as played; None plays each bar once.

    Ties are one note; muted strokes and grace notes, which have no pitch or no time
    of their own, are left out.
    """
    order = [bar.number for bar in score.bars] if order is None else list(order)
    bars = [score.bar(number) for number in order]
    end = _ticks(sum((bar.length for bar in bars), Fraction(0)))
    tracks = [_track(_conductor(score, bars), end), _track(_notes(score, order), end)]
    head = (
        b"MThd" + (6).to_bytes(4, "big") + b"".join(n.to_bytes(2, "big") for n in (1, len(tracks), QUARTER))
    )
    return head + b"".join(tracks)


def _ticks(time: Fraction) -> int:
    return round(time * 4 * QUARTER)


def _conductor(score: Score, bars: list[Bar]) -> list[Message]:
    """Title, tempo, meters, keys and chord names."""
    messages: list[Message] = []
    if score.title:
        messages.append((0, 0, _meta(0x03, score.title.encode())))
    quarters = (score.tempo or 100) * score.meter.beat * 4
    messages.append((0, 1, _meta(0x51, round(60_000_000 / quarters).to_bytes(3, "big"))))
    at, meter, key = Fraction(0), None, ""
    for i, bar in enumerate(bars):
        now = _pickup_meter(bar) if i == 0 else bar.meter
        if now != meter:
            messages.append(
                (_ticks(at), 2, _meta(0x58, bytes((now.beats, now.unit.bit_length() - 1, 24, 8))))
            )
        meter = now
        said = score.key if i == 0 else bar.key
        if said and said != key:
            sign = fifths(said) % 256
            messages.append((_ticks(at), 3, _meta(0x59, bytes((sign, said.endswith("m"))))))
            key = said
        for mark in bar.chords:
            messages.append((_ticks(at + mark.onset), 4, _meta(0x06, mark.symbol.encode())))
        for event in bar.events:
            if event.lyric:
                messages.append((_ticks(at + event.onset), 5, _meta(0x05, event.lyric.encode())))
        at += bar.length
    return messages


def _pickup_meter(bar: Bar) -> Meter:
    """A pickup stands in a short bar of its own, as notation programs write it."""
    if not bar.is_pickup or not bar.length:
        return bar.meter
    unit = max(bar.meter.unit, bar.length.denominator)
    beats = bar.length * unit
    return Meter(int(beats), unit) if beats.denominator == 1 and beats <= 32 and unit <= 32 else bar.meter


def _notes(score: Score, order: list[int]) -> list[Message]:
    messages: list[Message] = [
        (0, 0, _meta(0x03, score.tuning.name.encode())),
        (0, 1, bytes((0xC0, _PLUCKED))),
    ]
    for sound in sounds(score, order):
        if sound.pitch is None or not 0 <= sound.pitch <= 127:
            continue
        channel = _channel(sound.string)
        start, end = _ticks(sound.start), _ticks(sound.start + sound.duration)
        messages.append((start, 3, bytes((0x90 | channel, sound.pitch, _VELOCITY))))
        messages.append((max(end, start + 1), 2, bytes((0x80 | channel, sound.pitch, 0))))
    return messages


def _channel(string: int | None) -> int:
    """A channel a string, so that two strings can sound one pitch; never the tenth, which is drums."""
    return (string - 1) % 9 if string else 0


def _meta(kind: int, data: bytes) -> bytes:
    return bytes((0xFF, kind)) + _variable(len(data)) + data


def _track(messages: list[Message], end: int) -> bytes:
    body, at = bytearray(), 0
    for tick, _, message in sorted(messages, key=lambda m: m[:2]):
        body += _variable(tick - at) + message
        at = tick
    body += _variable(max(0, end - at)) + _meta(0x2F, b"")
    return b"MTrk" + len(body).to_bytes(4, "big") + bytes(body)


def _variable(number: int) -> bytes:
    """A number in groups of seven bits, the highest first (SMF 1.0, variable-length quantity)."""
    groups = [number & 0x7F]
    while number := number >> 7:
        groups.append(number & 0x7F | 0x80)
    return bytes(reversed(groups))

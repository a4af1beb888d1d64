"""Read every tune of music21's corpus folders through the guarded door, and report what it costs.

    python -m tests.benchmarks.reading [FOLDER ...] [--limit N]

By folder: tunes, share read, tunes with a doubtful bar, time a tune in the warm
child, and music21 10.5.1 alone on the same texts in the same run (``--alone N`` of
them, spread evenly; 0 for none). At the end: what the guard adds to a MusicXML file,
and memory.
"""

import argparse
import os
import re
import resource
import statistics
import time
from collections import Counter
from pathlib import Path

import music21

from pieces.music.score import UnreadableScore
from pieces.reading import helper, read_upload
from pieces.reading.guard import admit

CORPUS = Path(music21.__file__).parent / "corpus"
FOLDERS = ("ryansMammoth", "oneills1850", "airdsAirs", "essenFolksong", "leadSheet")


def pieces_of(folder: str) -> list[tuple[str, bytes]]:
    """Every piece of a folder: each tune of an ABC book on its own."""
    found = []
    for path in sorted((CORPUS / folder).iterdir()):
        if path.suffix in (".mxl", ".xml", ".musicxml"):
            found.append((path.name, path.read_bytes()))
        elif path.suffix == ".abc":
            tunes = re.split(rb"(?m)^(?=X:)", path.read_bytes())
            found += [(path.name, tune) for tune in tunes if tune.startswith(b"X:")]
    return found


def report(folder: str, pieces: list[tuple[str, bytes]], alone: int) -> None:
    times, doubtful, refused = [], 0, Counter()
    for name, data in pieces:
        started = time.perf_counter()
        try:
            doubtful += bool(read_upload(name, data).problems)
        except UnreadableScore as error:
            refused[f"{name}: {error}"] += 1
        times.append(time.perf_counter() - started)
    read = len(pieces) - sum(refused.values())
    print(
        f"{folder:14} {len(pieces):5} pieces, read {read / len(pieces):.2%}, doubtful bars in {doubtful}, "
        f"{1000 * statistics.mean(times):.1f} ms each (median {1000 * statistics.median(times):.1f}, "
        f"longest {1000 * max(times):.0f}), {sum(times):.1f} s in all"
    )
    for reason, count in refused.most_common(5):
        print(f"    refused {count}: {reason}")
    if alone:
        report_alone(pieces[:: max(1, len(pieces) // alone)])


def report_alone(pieces: list[tuple[str, bytes]]) -> None:
    """music21 by itself on the same pieces, against the guarded door, one after the other."""
    theirs, ours, failed = [], [], 0
    for name, data in pieces:
        seconds = alone(name, data)
        failed += seconds is None
        if seconds is not None:
            theirs.append(seconds)
            started = time.perf_counter()
            read_upload(name, data)
            ours.append(time.perf_counter() - started)
    print(
        f"    {len(pieces)} of them: music21 alone {1000 * statistics.mean(theirs):.1f} ms each and {failed} not read; "
        f"through the door {1000 * statistics.mean(ours):.1f} ms each; "
        f"the door adds {1000 * statistics.median(o - t for o, t in zip(ours, theirs, strict=True)):+.1f} ms (median)"
    )


def alone(name: str, data: bytes) -> float | None:
    upload = admit(name, data)
    content = upload.content
    if upload.kind == "abc" and not content.startswith("%abc"):
        content = f"%abc-2.1\n{content}"
    started = time.perf_counter()
    try:
        music21.converter.parseData(content, format=upload.kind)
    except Exception:
        return None
    return time.perf_counter() - started


def report_guard(pieces: list[tuple[str, bytes]]) -> None:
    """What the guard and the child themselves cost: the same reader here, and through the door."""
    from pieces.reading import jobs

    jobs.warm()
    here, door = [], []
    for name, data in pieces:
        upload = admit(name, data)
        content = upload.content.encode() if isinstance(upload.content, str) else upload.content
        started = time.perf_counter()
        jobs.run({"kind": upload.kind}, content)
        here.append(time.perf_counter() - started)
        started = time.perf_counter()
        read_upload(name, data)
        door.append(time.perf_counter() - started)
    added = [d - h for d, h in zip(door, here, strict=True)]
    print(
        f"guard and child add {1000 * statistics.median(added):+.1f} ms to our own reader (median of {len(pieces)})"
    )


def report_memory() -> None:
    """What the helper holds, and the most that reading one of the largest files took."""
    status = Path(f"/proc/{helper._helper.process.pid}/status")
    if status.exists():
        held = re.search(r"VmRSS:\s+(\d+)", status.read_text())
        print(f"helper process holds {int(held[1]) / 1024:.0f} MB")
    largest = [max(pieces_of(folder), key=lambda piece: len(piece[1])) for folder in FOLDERS]
    child = os.fork()
    if child == 0:
        from pieces.reading import jobs

        for name, data in largest:
            upload = admit(name, data)
            content = upload.content.encode() if isinstance(upload.content, str) else upload.content
            jobs.run({"kind": upload.kind}, content)
        os._exit(0)
    usage = os.wait4(child, 0)[2]
    unit = 1024 if os.uname().sysname == "Linux" else 1024 * 1024
    print(f"a process that read the largest piece of every folder reached {usage.ru_maxrss / unit:.0f} MB")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="*", default=FOLDERS)
    parser.add_argument("--limit", type=int, default=0, help="read only so many pieces of each folder")
    parser.add_argument("--alone", type=int, default=40, help="how many to give to music21 alone as well")
    options = parser.parse_args()
    helper.warm()
    started = time.perf_counter()
    for folder in options.folders:
        pieces = pieces_of(folder)
        step = max(1, len(pieces) // options.limit) if options.limit else 1
        report(folder, pieces[::step], options.alone)
    report_guard([piece for folder in options.folders for piece in pieces_of(folder)[:30]])
    report_memory()
    print(
        f"{time.perf_counter() - started:.0f} s, {resource.getrusage(resource.RUSAGE_SELF).ru_utime:.0f} s of them here"
    )


if __name__ == "__main__":
    main()

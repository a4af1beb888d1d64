"""The helper process: it has music21 at hand, and forks a short-lived child for each file.

Only the child ever touches what was brought. It runs under limits of memory, of
processor and of wall time, may write no file, and knows nothing of the studio's
settings; it answers in JSON, never in pickles. Run as ``python -m
pieces.reading.worker FD`` by ``pieces.reading.helper`` alone.
"""

import contextlib
import gc
import json
import os
import resource
import signal
import socket
import sys

from pieces.reading.refusals import refused

MEMORY = 1024 * 1024 * 1024
PROCESSOR_SECONDS = 8
WALL_SECONDS = 10
MOST_ANSWER = 32 * 1024 * 1024
READY = b"r"
JOB = b"j"


def serve(control: socket.socket) -> None:
    """Take jobs until the other end closes; each job is a socket of its own."""
    from pieces.reading import jobs

    jobs.warm()
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.collect()
    gc.freeze()
    control.sendall(READY)
    while True:
        message, descriptors, _, _ = socket.recv_fds(control, 1, 1)
        if not message:
            return
        for descriptor in descriptors:
            if os.fork() == 0:
                control.close()
                _work(descriptor)
                os._exit(0)
            os.close(descriptor)


def _work(descriptor: int) -> None:
    """One job in its own process: limits first, then read, answer, end."""
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    _limit()
    gc.set_threshold(200_000, 50, 50)
    with socket.socket(fileno=descriptor) as link:
        head, content = receive(link)
        send(link, _answer(head, content))


def _answer(head: dict, content: bytes) -> bytes:
    from pieces.reading import jobs

    try:
        answer = jobs.run(head, content)
    except MemoryError:
        answer = jobs.refusal(refused("This file needs more memory than a score may.", "Bring it in parts."))
    except Exception as error:
        answer = jobs.refusal(error)
    data = json.dumps(answer).encode()
    if len(data) > MOST_ANSWER:
        data = json.dumps(jobs.refusal(refused("This piece is too long.", "Bring it in parts."))).encode()
    return data


def _limit() -> None:
    """Every limit that this system has; the wall clock is one that all of them have."""
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.setitimer(signal.ITIMER_REAL, WALL_SECONDS)
    for name, most in (
        ("RLIMIT_CPU", PROCESSOR_SECONDS),
        ("RLIMIT_AS", MEMORY),
        ("RLIMIT_FSIZE", 0),
        ("RLIMIT_CORE", 0),
    ):
        kind = getattr(resource, name, None)
        if kind is not None:
            # macOS knows some of these by name and refuses to set them.
            with contextlib.suppress(ValueError, OSError):
                resource.setrlimit(kind, (most, most))


def send(link: socket.socket, content: bytes, head: dict | None = None) -> None:
    """A message: the lengths of its two halves, a JSON head, the content."""
    top = json.dumps(head or {}).encode()
    link.sendall(len(top).to_bytes(4, "big") + len(content).to_bytes(4, "big") + top + content)


def receive(link: socket.socket) -> tuple[dict, bytes]:
    """The message that ``send`` wrote. Raises EOFError where the other end closed early."""
    lengths = _exactly(link, 8)
    top, content = int.from_bytes(lengths[:4], "big"), int.from_bytes(lengths[4:], "big")
    if top > MOST_ANSWER or content > MOST_ANSWER:
        raise EOFError
    return json.loads(_exactly(link, top)), _exactly(link, content)


def _exactly(link: socket.socket, count: int) -> bytes:
    parts, left = [], count
    while left:
        part = link.recv(min(left, 1 << 20))
        if not part:
            raise EOFError
        parts.append(part)
        left -= len(part)
    return b"".join(parts)


if __name__ == "__main__":
    serve(socket.socket(fileno=int(sys.argv[1])))

"""A real gunicorn, forked from the drill so that a start is quick, and killed like a pulled plug.

Whatever the drill patched before ``start`` is patched in the server too; that is how
a guard is broken for one server and nowhere else.
"""

import os
import signal
from pathlib import Path

from django.db import connections

from studio.management.serving import Server, free_port

FIRST_PORT = 18500


class DrillServer:
    """gunicorn on 127.0.0.1 in a process group of its own; what it says goes to ``log``."""

    def __init__(self, log: Path):
        self.port = free_port(FIRST_PORT)
        self.log = log
        self._group = None

    def start(self) -> None:
        """Fork, serve, and return once the port is open."""
        connections.close_all()  # no process may inherit a connection
        opened, ready = os.pipe()
        self._group = os.fork()
        if self._group == 0:
            self._serve(opened, ready)
        os.close(ready)
        try:
            if not os.read(opened, 1):
                raise RuntimeError(f"The server did not start: {self.log.read_text()[-2000:]}")
        finally:
            os.close(opened)

    def kill(self) -> None:
        """kill -9 to master and workers at once."""
        os.killpg(self._group, signal.SIGKILL)
        os.waitpid(self._group, 0)
        self._group = None

    def __enter__(self):
        self.start()
        return self

    def __exit__(self, *_error):
        if self._group:
            self.kill()

    def _serve(self, opened: int, ready: int) -> None:
        """In the child, never to return."""
        os.setsid()
        os.close(opened)
        with self.log.open("a") as log:
            os.dup2(log.fileno(), 1)
            os.dup2(log.fileno(), 2)

        def say_ready():
            os.write(ready, b".")
            os.close(ready)  # or a killed worker would hold it open

        try:
            Server(self.port, say_ready).run()
        finally:
            os._exit(1)

"""Serving on this machine the way a studio would: gunicorn, several workers, no debug mode."""

import socket
from collections.abc import Callable

from django.core.wsgi import get_wsgi_application
from django.db import connections
from gunicorn.app.base import BaseApplication

HOST = "127.0.0.1"
WORKERS, THREADS = 2, 4
TRIED = 20  # ports looked at after the one asked for


def free_port(asked: int) -> int:
    """``asked`` where nobody listens there, else the next port that is free, else any."""
    for port in (*range(asked, min(asked + TRIED, 65535)), 0):
        with socket.socket() as trial:
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                trial.bind((HOST, port))
            except OSError:
                continue
            return trial.getsockname()[1]
    raise OSError("No port is free on this machine.")


class Server(BaseApplication):
    """gunicorn around Django as it is loaded in this very process, so that a start is quick."""

    def __init__(self, port: int, ready: Callable[[], None]):
        self.port, self.ready = port, ready
        super().__init__()

    def load_config(self):
        self.cfg.set("bind", f"{HOST}:{self.port}")
        self.cfg.set("workers", WORKERS)
        self.cfg.set("threads", THREADS)
        self.cfg.set("preload_app", True)
        self.cfg.set("loglevel", "warning")
        self.cfg.set("when_ready", lambda _arbiter: self.ready())

    def load(self):
        return get_wsgi_application()


def serve(port: int, ready: Callable[[], None]) -> None:
    """Serve until Ctrl-C; ``ready`` is called once the port is open."""
    connections.close_all()  # a worker must not inherit this process's connection
    Server(port, ready).run()

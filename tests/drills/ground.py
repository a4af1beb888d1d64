"""A studio's folder and database for the drills alone, thrown away afterwards."""

import os
import secrets
import tempfile
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit


@contextmanager
def own_ground():
    """Set Django up on an empty folder, and on PostgreSQL, where DATABASE_URL names one, on a database of its own."""
    with tempfile.TemporaryDirectory(prefix="fourbar-drills-") as folder:
        url = os.environ.get("DATABASE_URL")
        name = f"fourbar_drills_{secrets.token_hex(4)}"
        if url:
            _on_server(url, f"CREATE DATABASE {name}")
            os.environ["DATABASE_URL"] = urlunsplit(urlsplit(url)._replace(path=f"/{name}"))
        try:
            set_up(Path(folder))
            from django.core.management import call_command
            from django.db import connections

            call_command("migrate", verbosity=0)
            yield Path(folder)
            connections.close_all()
        finally:
            if url:
                _on_server(url, f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")


def set_up(folder: Path) -> None:
    """Django on ``folder``, with passwords that cost nothing and files served as they lie."""
    os.environ["FOURBAR_DATA"] = str(folder)
    (folder / "static").mkdir(exist_ok=True)
    os.environ["FOURBAR_HOSTS"] = "127.0.0.1,testserver"
    os.environ["DJANGO_SETTINGS_MODULE"] = "studio.settings"
    os.environ.pop("FOURBAR_HTTPS", None)
    os.environ.pop("FOURBAR_DEBUG", None)
    import django
    from django.conf import settings

    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    settings.STORAGES = {**settings.STORAGES, "staticfiles": plain}
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    django.setup()


def _on_server(url: str, statement: str) -> None:
    import psycopg

    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(statement)

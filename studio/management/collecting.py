"""Static files where the server finds them, collected again only when one of them changed."""

import hashlib
import sys
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command


def collect_static() -> bool:
    """Collect static files unless nothing changed since; return whether it was done."""
    stamp = Path(settings.STATIC_ROOT).with_name("static-fingerprint")
    now = fingerprint()
    if stamp.exists() and stamp.read_text() == now:
        return False
    call_command("collectstatic", interactive=False, clear=True, verbosity=0)
    stamp.write_text(now)
    return True


def fingerprint() -> str:
    """Changes whenever a static file, the way they are stored, or Python changes."""
    how = settings.STORAGES["staticfiles"]["BACKEND"]
    digest = hashlib.sha256(f"{how} {sys.version}".encode())
    for finder in get_finders():
        for path, storage in finder.list([]):
            found = Path(storage.path(path)).stat()
            digest.update(f"{path} {found.st_size} {found.st_mtime_ns}\n".encode())
    return digest.hexdigest()

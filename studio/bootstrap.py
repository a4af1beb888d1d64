"""From a machine with nothing but Python to one that can run Fourbar. Standard library only.

``ensure`` makes ``.venv`` and fills it from requirements.txt when either is new, and
sees that WeasyPrint's system libraries are there. ``hand_over`` goes on in that
``.venv``. Nothing is done again while nothing changed.
"""

import ctypes
import ctypes.util
import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = Path(os.environ.get("FOURBAR_VENV", ROOT / ".venv"))
PYTHON = VENV / "bin" / "python"
STAMP = VENV / "fourbar-requirements"
OLDEST = (3, 11)
DEMO_FOLDER = "demo"  # under the folder of a real studio's data

# What WeasyPrint opens at run time, with the package that brings it (WeasyPrint's own
# installation notes). Pango brings GLib and fontconfig along.
LIBRARIES = {
    "pango-1.0": ("libpango-1.0-0", "pango"),
    "pangoft2-1.0": ("libpangoft2-1.0-0", "pango"),
    "harfbuzz-subset": ("libharfbuzz-subset0", "harfbuzz"),
    "fontconfig": ("libfontconfig1", "fontconfig"),
}
# Where Homebrew keeps libraries, on the two kinds of Mac; the loader does not look there by itself.
BREW_FOLDERS = [Path("/opt/homebrew/lib"), Path("/usr/local/lib")]
ASK = "Please give this once, then the same command again:\n\n  {}\n"


class CannotSetUp(SystemExit):
    """Setting up needs a hand; the message says which command to give."""


def ensure(arguments):
    """Set up whatever ``arguments`` (a command line without the program) will need."""
    if sys.version_info < OLDEST:
        raise CannotSetUp(f"Fourbar needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    if not (STAMP.exists() and STAMP.read_text() == fingerprint()):
        make_venv()
        install_requirements()
        STAMP.write_text(fingerprint())
    if arguments[:1] in (["demo"], ["test"], ["handout"]):
        ensure_libraries()


def fingerprint() -> str:
    """Changes whenever what must be installed changes: the requirements, or this Python."""
    wanted = (ROOT / "requirements.txt").read_bytes() + sys.version.encode()
    return hashlib.sha256(wanted).hexdigest()


def hand_over():
    """Go on with the same command line inside ``.venv``, in this very process."""
    if Path(sys.prefix).resolve() == VENV.resolve():
        return
    environment = dict(os.environ)
    if sys.platform == "darwin":
        folders = [str(folder) for folder in BREW_FOLDERS if folder.exists()]
        environment.setdefault("DYLD_FALLBACK_LIBRARY_PATH", ":".join(folders))
    os.execve(PYTHON, [str(PYTHON), *sys.argv], environment)


def keep_demo_apart(environment):
    """Point ``environment`` at a folder of the demo's own, away from any real studio's data.

    >>> environment = {"FOURBAR_DATA": "/srv/fourbar", "DATABASE_URL": "postgres://studio"}
    >>> keep_demo_apart(environment)
    >>> environment
    {'FOURBAR_DATA': '/srv/fourbar/demo'}
    """
    real = Path(environment.get("FOURBAR_DATA") or ROOT / ".state")
    environment["FOURBAR_DATA"] = str(real / DEMO_FOLDER)
    # Where a real studio is served, and how, is nothing to the demo on this machine.
    for name in ("DATABASE_URL", "FOURBAR_HOSTS", "FOURBAR_HTTPS", "FOURBAR_DEBUG", "FOURBAR_SECRET_KEY"):
        environment.pop(name, None)


def make_venv():
    """Make ``.venv``, with the system's package for it where Debian left that out."""
    if PYTHON.exists() and _runs(PYTHON, "-m", "pip", "--version"):
        return
    say("Making .venv")
    shutil.rmtree(VENV, ignore_errors=True)
    if not _runs(sys.executable, "-m", "ensurepip", "--version"):
        package = f"python{sys.version_info.major}.{sys.version_info.minor}-venv"
        install_packages(apt=[package], brew=["python"], reason="Python's venv module is not complete here")
    subprocess.run([sys.executable, "-m", "venv", str(VENV)], check=True)


def install_requirements():
    """Install requirements.txt into ``.venv``."""
    say("Installing what Fourbar stands on (a few minutes, once)")
    result = subprocess.run(
        [str(PYTHON), "-m", "pip", "install", "-q", "--disable-pip-version-check", "-r", "requirements.txt"],
        cwd=ROOT,
    )
    if result.returncode:
        raise CannotSetUp(
            "Installing failed; the lines above say why. Once it is mended, give the command again."
        )


def ensure_libraries():
    """See that the libraries which set PDFs are on this machine, or install or name them."""
    missing = missing_libraries()
    if not missing:
        return
    apt, brew = (list(dict.fromkeys(names)) for names in zip(*(LIBRARIES[m] for m in missing), strict=True))
    install_packages(apt=apt, brew=brew, reason=f"PDF handouts need {', '.join(missing)}")
    if still := missing_libraries():
        raise CannotSetUp(f"These libraries are still missing: {', '.join(still)}.")


def missing_libraries() -> list[str]:
    """Names out of ``LIBRARIES`` that the loader cannot open."""
    return [name for name in LIBRARIES if not _opens(name)]


def install_packages(*, apt, brew, reason):
    """Install system packages where this user may, or stop and say the exact command."""
    say(reason)
    if shutil.which("apt-get"):
        command = ["apt-get", "install", "-y", "--no-install-recommends", *apt]
        if os.geteuid() == 0:
            subprocess.run(["apt-get", "update", "-qq"], check=False)
            if subprocess.run(command, stdout=subprocess.DEVNULL).returncode == 0:
                return
        elif _runs("sudo", "-n", "true"):
            subprocess.run(["sudo", "-n", "apt-get", "update", "-qq"], check=False)
            if subprocess.run(["sudo", "-n", *command], stdout=subprocess.DEVNULL).returncode == 0:
                return
        raise CannotSetUp(
            f"Please give this once, then the same command again:\n\n  sudo {' '.join(command)}\n"
        )
    if shutil.which("brew"):
        command = ["brew", "install", *brew]
        if subprocess.run(command).returncode == 0:
            return
        raise CannotSetUp(ASK.format(" ".join(command)))
    raise CannotSetUp(f"Please install these with this system's own packages: {', '.join(apt)}.")


def say(text):
    print(f"fourbar: {text}", file=sys.stderr, flush=True)


def _opens(name: str) -> bool:
    suffix = "dylib" if sys.platform == "darwin" else "so.0"
    candidates = [ctypes.util.find_library(name), f"lib{name}.{suffix}", f"lib{name}.so.1"]
    candidates += [str(folder / f"lib{name}.dylib") for folder in BREW_FOLDERS]
    for candidate in filter(None, candidates):
        try:
            ctypes.CDLL(candidate)
            return True
        except OSError:
            continue
    return False


def _runs(*command) -> bool:
    try:
        return subprocess.run([str(part) for part in command], capture_output=True).returncode == 0
    except FileNotFoundError:
        return False

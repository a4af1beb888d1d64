"""A PDF read back: its text and what it says of itself, by poppler's own tools."""

import re
import shutil
import subprocess
import zlib

import pytest

needs_poppler = pytest.mark.skipif(not shutil.which("pdftotext"), reason="poppler is not here")


def text_of(pdf: bytes) -> str:
    """The words of a PDF on single spaces."""
    said = subprocess.run(["pdftotext", "-layout", "-", "-"], input=pdf, capture_output=True, check=True)
    return " ".join(said.stdout.decode().split())


def facts_of(pdf: bytes, tmp_path) -> dict[str, str]:
    """What pdfinfo says: title, pages, page size, whether it is tagged."""
    path = tmp_path / "handout.pdf"
    path.write_bytes(pdf)
    said = subprocess.run(["pdfinfo", path], capture_output=True, check=True).stdout.decode()
    return {
        key.strip(): value.strip() for key, _, value in (line.partition(":") for line in said.splitlines())
    }


def structure_of(pdf: bytes, tmp_path) -> tuple[str, str]:
    """The structure tree with its texts, and whatever poppler complains of."""
    path = tmp_path / "handout.pdf"
    path.write_bytes(pdf)
    said = subprocess.run(["pdfinfo", "-struct-text", path], capture_output=True, check=True)
    return said.stdout.decode(), said.stderr.decode()


def objects_of(pdf: bytes) -> bytes:
    """Everything in the file that is packed, unpacked: dictionaries with /Lang and /Alt stand there."""
    packed = re.findall(rb"stream\n(.*?)\nendstream", pdf, re.DOTALL)
    return b"\n".join(_unpacked(stream) for stream in packed)


def _unpacked(stream: bytes) -> bytes:
    try:
        return zlib.decompress(stream)
    except zlib.error:
        return b""

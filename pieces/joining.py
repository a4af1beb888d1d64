"""Joining two PDFs that WeasyPrint painted, tags and bookmarks included.

The objects of the later one get new numbers after those of the first; its pages, its
structure and its bookmarks are hung onto the first one's trees. Only what WeasyPrint
writes is understood here: references stand alone as ``b"12 0 R"``.

Source: ISO 32000-1, 7.7.3 (page tree), 14.7 (structure tree), 12.3.3 (outline), from memory.
"""

import re
from collections.abc import Iterator, Sequence
from io import BytesIO

import pydyf

# Each part counts the parents of its pages from a number of its own on (14.7.4.4).
PARENTS_A_PART = 100_000
REFERENCE = re.compile(rb"(\d+) 0 R")


def packed(pdf: pydyf.PDF) -> pydyf.PDF:
    """A painted PDF with each stream compressed and cut loose from what painted it.

    It can then be sent from one process to another.
    """
    for number, found in enumerate(pdf.objects):
        if isinstance(found, pydyf.Stream):
            pdf.objects[number] = _packed_stream(found)
    return pdf


def join(parts: Sequence[pydyf.PDF]) -> bytes:
    """The parts one after the other as one file, under the first one's title."""
    whole, *later = parts
    for place, part in enumerate(later, start=1):
        _number_parents(part, place * PARENTS_A_PART)
        _renumber(part, len(whole.objects) - 1)
        whole.objects += part.objects[1:]
        _join_pages(whole, part)
        _join_structure(whole, part)
        _join_bookmarks(whole, part)
    file = BytesIO()
    whole.write(file, version=b"1.7", compress=True)
    return file.getvalue()


def _packed_stream(stream: pydyf.Stream) -> pydyf.Stream:
    *_head, content = stream.data.split(b"\nstream\n", 1)
    extra = dict(stream.extra)
    if stream.compress:
        extra["Filter"] = "/FlateDecode"
    plain = pydyf.Stream([content.removesuffix(b"\nendstream")], extra)
    plain.number, plain.generation, plain.free = stream.number, stream.generation, stream.free
    return plain


def _number_parents(part: pydyf.PDF, first: int) -> None:
    """Count the parents of this part's pages from ``first`` on."""
    for found in _dictionaries(part):
        for key in ("StructParents", "StructParent"):
            if key in found:
                found[key] += first
    numbers = _parent_tree(part)["Nums"]
    numbers[::2] = [number + first for number in numbers[::2]]


def _renumber(part: pydyf.PDF, shift: int) -> None:
    """Move every object and every reference by ``shift``."""
    kids = part.pages["Kids"]
    kids[:] = [f"{number} 0 R".encode() for number in kids[::3]]
    for found in part.objects[1:]:
        found.number += shift
        if isinstance(found, pydyf.Stream):
            found.extra = _moved(found.extra, shift)
        elif isinstance(found, dict):
            found.update(_moved(found, shift))
        elif isinstance(found, list):
            found[:] = _moved(found, shift)


def _moved(value, shift: int):
    """A copy of a value with its references moved, of the same kind."""
    if isinstance(value, dict):
        return pydyf.Dictionary({key: _moved(inner, shift) for key, inner in value.items()})
    if isinstance(value, list):
        return pydyf.Array([_moved(inner, shift) for inner in value])
    if isinstance(value, bytes) and (found := REFERENCE.fullmatch(value)):
        return f"{int(found[1]) + shift} 0 R".encode()
    return value


def _join_pages(whole: pydyf.PDF, part: pydyf.PDF) -> None:
    """The later pages become one branch of the page tree."""
    part.pages["Parent"] = whole.pages.reference
    whole.pages["Kids"].extend([part.pages.number, 0, "R"])
    whole.pages["Count"] += part.pages["Count"]


def _join_structure(whole: pydyf.PDF, part: pydyf.PDF) -> None:
    root, later = _at(whole, whole.catalog["StructTreeRoot"]), _at(whole, part.catalog["StructTreeRoot"])
    document = _at(whole, root["K"][0])  # a tagged PDF has one root element, so the later one goes into it
    for reference in later["K"]:
        _at(whole, reference)["P"] = document.reference
        document["K"].append(reference)
    _parent_tree(whole)["Nums"].extend(_at(whole, later["ParentTree"])["Nums"])


def _join_bookmarks(whole: pydyf.PDF, part: pydyf.PDF) -> None:
    """Hang the later bookmarks behind the first one's."""
    if "Outlines" not in part.catalog:
        return
    if "Outlines" not in whole.catalog:
        whole.catalog["Outlines"] = part.catalog["Outlines"]
        return
    first, later = _at(whole, whole.catalog["Outlines"]), _at(whole, part.catalog["Outlines"])
    last, following = _at(whole, first["Last"]), _at(whole, later["First"])
    last["Next"], following["Prev"] = following.reference, last.reference
    while following is not None:
        following["Parent"] = first.reference
        following = _at(whole, following["Next"]) if "Next" in following else None
    first["Last"] = later["Last"]
    first["Count"] = first.get("Count", 0) + later.get("Count", 0)


def _parent_tree(pdf: pydyf.PDF):
    return _at(pdf, _at(pdf, pdf.catalog["StructTreeRoot"])["ParentTree"])


def _at(pdf: pydyf.PDF, reference: bytes):
    return pdf.objects[int(REFERENCE.fullmatch(reference)[1])]


def _dictionaries(pdf: pydyf.PDF) -> Iterator[dict]:
    return (found for found in pdf.objects if isinstance(found, dict))

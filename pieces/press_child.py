"""The process that sets pages: handouts in, a dot for each that is set, a painted PDF out.

Run by ``pieces.press``, never imported there. It knows no database, and gets only pages
that we wrote.
"""

import gc
import pickle
import sys
from contextlib import suppress

import pydyf

from pieces.joining import packed
from pieces.paper import VARIANT, set_page


def main() -> None:
    gc.disable()  # it ends soon, and looking for garbage among its boxes takes a fifth of its time
    title, handouts = pickle.load(sys.stdin.buffer)
    out = sys.stdout.buffer
    documents = []
    for pages in handouts:
        documents.append(set_page(pages))
        out.write(b".")
        out.flush()
    pages = [page for document in documents for page in document.pages]
    whole = documents[0].copy(pages)
    whole.metadata.title = title
    out.write(pickle.dumps(packed(painted(whole))))


def painted(document) -> pydyf.PDF:
    """The document as the objects of a PDF, before they are written."""
    kept: list[pydyf.PDF] = []

    class Caught(Exception):
        pass

    def catch(_document, pdf):
        kept.append(pdf)
        raise Caught

    with suppress(Caught):
        document.write_pdf(finisher=catch, **VARIANT)
    return kept[0]


if __name__ == "__main__":
    main()

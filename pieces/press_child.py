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

AT_ONCE = 8  # handouts painted together share their fonts; more of them take more memory


def main() -> None:
    gc.disable()  # looking for garbage among living boxes takes a fifth of the time; see below
    title, handouts = pickle.load(sys.stdin.buffer)
    out = sys.stdout.buffer
    parts = []
    for at in range(0, len(handouts), AT_ONCE):
        documents = []
        for pages in handouts[at : at + AT_ONCE]:
            documents.append(set_page(pages))
            out.write(b".")
            out.flush()
        whole = documents[0].copy([page for document in documents for page in document.pages])
        whole.metadata.title = title
        parts.append(packed(painted(whole)))
        del whole, documents
        gc.collect()
    out.write(pickle.dumps(parts))


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

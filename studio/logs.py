"""What is logged of an error: where it happened and its kind, never its words.

The words of an error often repeat what somebody typed: a value that was no number, a
row that a database refused with the names in it. Those belong to nobody's log.
"""

import logging
from traceback import format_tb


class WithoutWords(logging.Formatter):
    """Formats an exception as its traceback and the kind of each error in the chain."""

    def format(self, record: logging.LogRecord) -> str:
        record.exc_text = None  # another formatter may have left the words there
        return super().format(record)

    def formatException(self, exc_info) -> str:
        return "".join(_lines(exc_info[1])).rstrip()


def _lines(error: BaseException):
    earlier = error.__cause__ or (None if error.__suppress_context__ else error.__context__)
    if earlier is not None:
        yield from _lines(earlier)
        yield "which led to\n"
    yield from format_tb(error.__traceback__)
    yield f"{type(error).__module__}.{type(error).__qualname__}\n"

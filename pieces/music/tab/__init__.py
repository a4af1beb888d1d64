"""Counted tab: a line of dashes for each string, and under it the count that gives the rhythm.

``read_tab`` and ``write_tab`` are inverse; ``check_tab`` says everything that is
wrong or doubtful in a text. ``guide`` explains the format to its writers.
"""

from pieces.music.tab.reading import check_tab, read_tab
from pieces.music.tab.writing import write_tab

__all__ = ["check_tab", "read_tab", "write_tab"]

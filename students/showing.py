"""Plans and ticks as the pages draw them: days as tab, a loop a line, a day a bar."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from students.models import PlannedTask, Tick


@dataclass(frozen=True)
class Cell:
    """A number on a loop's line. ``kind``: new, planned, clean, slips, broke or missed."""

    text: str
    kind: str
    said: str


@dataclass(frozen=True)
class Column:
    """A day; ``foot`` stands under it."""

    day: date
    foot: str = ""

    @property
    def name(self) -> str:
        return f"{self.day:%a}"


@dataclass(frozen=True)
class Grid:
    """Rows of (label, cells), one cell or None for each column."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, tuple[Cell | None, ...]], ...]
    corner: str
    foot: str


FELT_WORDS = {"clean": "clean", "slips": "some slips", "broke": "broke down"}


def days_between(first: date, end: date) -> list[date]:
    """Every day from ``first`` up to, and without, ``end``."""
    return [first + timedelta(days=n) for n in range((end - first).days)]


@dataclass(frozen=True)
class PlannedLine:
    """A planned loop with its day, as ``plan_grid`` reads it."""

    day: date
    label: str
    minutes: int
    new: bool


def stored_lines(tasks: Iterable[PlannedTask]) -> list[PlannedLine]:
    """Stored tasks as lines of a grid."""
    tasks = list(tasks)
    name = named(tasks)
    return [PlannedLine(task.day, name(task), task.minutes, task.new) for task in tasks]


def plan_grid(tasks: Iterable, first: date, end: date, *, foot="Minutes") -> Grid:
    """Planned minutes. ``tasks`` have day, label, minutes and new."""
    days = days_between(first, end)
    lines: dict[str, dict[date, Cell]] = defaultdict(dict)
    total: dict[date, int] = defaultdict(int)
    for task in tasks:
        if first <= task.day < end:
            kind = "new" if task.new else "planned"
            said = f"{task.minutes} minutes{', first day' if task.new else ''}"
            lines[task.label][task.day] = Cell(str(task.minutes), kind, said)
            total[task.day] += task.minutes
    columns = tuple(Column(day, str(total[day]) if total[day] else "") for day in days)
    rows = tuple((label, tuple(cells.get(day) for day in days)) for label, cells in lines.items())
    return Grid(columns, rows, "Loop", foot)


def named(tasks: Iterable[PlannedTask]) -> Callable[[PlannedTask], str]:
    """What to call each task's loop: its label, with the piece where there are several."""
    several = len({task.chunk.assignment_id for task in tasks}) > 1

    def name(task: PlannedTask) -> str:
        chunk = task.chunk
        return f"{chunk.label}, {chunk.assignment.arrangement.piece.title}" if several else chunk.label

    return name


def done_grid(ticks: Iterable[Tick], tasks: Iterable[PlannedTask], first: date, end: date) -> Grid:
    """Tempos reached since the last lesson; a planned loop without a tick is a dash."""
    days = days_between(first, end)
    lines: dict[str, dict[date, Cell]] = defaultdict(dict)
    minutes: dict[date, int] = defaultdict(int)
    labels: dict[tuple[int, str], str] = {}
    asked: dict[tuple[int, str, date], int] = {}
    tasks = list(tasks)
    name = named(tasks)
    titles = {t.chunk.assignment_id: t.chunk.assignment.arrangement.piece.title for t in tasks}
    for task in tasks:
        if first <= task.day < end:
            labels[task.chunk.assignment_id, task.chunk.key] = name(task)
            asked[task.chunk.assignment_id, task.chunk.key, task.day] = task.minutes
            lines[name(task)][task.day] = Cell("–", "missed", "not played")
    for tick in ticks:
        if first <= tick.day < end:
            label = labels.get((tick.assignment_id, tick.key)) or _unplanned(tick, titles)
            text = f"({tick.tempo})" if tick.felt == "broke" else str(tick.tempo)
            lines[label][tick.day] = Cell(text, tick.felt, f"{tick.tempo}, {FELT_WORDS[tick.felt]}")
            minutes[tick.day] += tick.minutes or asked.get((tick.assignment_id, tick.key, tick.day), 0)
    columns = tuple(Column(day, str(minutes[day])) for day in days)
    rows = tuple((label, tuple(cells.get(day) for day in days)) for label, cells in lines.items())
    return Grid(columns, rows, "Loop", "Minutes")


def _unplanned(tick: Tick, titles: dict[int, str]) -> str:
    """What to call a loop that was ticked and is in no plan any more."""
    title = titles.get(tick.assignment_id) if len(titles) > 1 else None
    return f"{loop_in_words(tick)}, {title}" if title else loop_in_words(tick)


def loop_in_words(loop) -> str:
    """A loop by its bars, where its label is not at hand."""
    if loop.kind == "section":
        return f"Section {loop.section}"
    if loop.kind == "run":
        return "The run"
    if loop.first == loop.last:
        return f"Bar {loop.first}"
    if loop.kind == "join":
        return f"Bar {loop.first} into bar {loop.last}"
    return f"Bars {loop.first} {'and' if loop.last == loop.first + 1 else 'to'} {loop.last}"

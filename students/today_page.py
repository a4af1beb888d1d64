"""The learner's page of one day: a few loops, one of them now."""

from collections import defaultdict
from datetime import date, timedelta
from uuid import uuid4

from pieces.engraving.diagram import diagram
from pieces.engraving.options import PHONE
from pieces.engraving.strip import strips
from pieces.music.findings import Workup
from pieces.music.playing import playing
from pieces.showing import bars_of
from pieces.workup import workup_of
from students.models import PlannedTask, Student, Tick
from students.planning.cautions import BREAK, HALF_HOUR, cautions
from students.planning.plan import Calendar
from students.planning.tempo import ladder, step_down
from students.planning.visits import clean_in_a_row

FEWEST_TEMPOS = 4
WEEK = timedelta(days=7)
IN_A_ROW = {1: "One clean", 2: "Two clean in a row", 3: "Three clean in a row"}


def today_page(student: Student, day: date, asked: str, *, form=None) -> dict:
    """Everything the page shows. ``asked`` is the number of the loop asked for, "" for the next."""
    loops = loops_of(student, day)
    now = _now(loops, asked)
    page = {
        "student": student,
        "day": day,
        "loops": loops,
        "now": now,
        "minutes_left": sum(loop["task"].minutes for loop in loops if loop["tick"] is None),
        "form": form,
        "next_day": next_day(student, day),
    }
    if not now:
        return page
    said = cautions_at(student, day, loops, now["number"]) if now["tick"] is None else []
    return {**page, **bars_page(student, now["task"]), **loop_page(now["task"]), "cautions": said}


def loops_of(student: Student, day: date) -> list[dict]:
    """The loops of a day in order, each with its number and the tick it has, if any."""
    tasks = student.tasks.filter(day=day).select_related(
        "chunk__assignment__arrangement__piece",
        "chunk__assignment__arrangement__studio",
        "chunk__assignment__revision",
    )
    ticks = {
        (tick.assignment_id, tick.key): tick
        for tick in Tick.objects.standing().filter(student=student, day=day)
    }
    return [
        {"number": number, "task": task, "tick": ticks.get((task.chunk.assignment_id, task.chunk.key))}
        for number, task in enumerate(tasks, start=1)
    ]


def next_day(student: Student, day: date) -> date | None:
    """The next day on which something is planned."""
    return student.tasks.filter(day__gt=day).values_list("day", flat=True).first()


def cautions_at(student: Student, day: date, loops: list[dict], number: int) -> list[str]:
    """What to say before loop ``number``: of the whole day before its first, a break where one is due."""
    if number == 1:
        by_day: dict[date, int] = defaultdict(int)
        planned = student.tasks.filter(day__gt=day - WEEK, day__lte=day)
        for planned_day, minutes in planned.values_list("day", "minutes"):
            by_day[planned_day] += minutes
        return list(cautions(Calendar(by_day, day + timedelta(days=1)), day))
    before = [loop["task"].minutes for loop in loops[: number - 1]]
    if break_is_due(before):
        return [f"Half an hour is played. Take a break of {BREAK} minutes first."]
    return []


def break_is_due(minutes: list[int]) -> bool:
    """Whether the last of these loops, by their minutes, went past a half hour.

    >>> break_is_due([12, 12]), break_is_due([12, 12, 9]), break_is_due([12, 12, 9, 5])
    (False, True, False)
    """
    return sum(minutes) // HALF_HOUR > sum(minutes[:-1]) // HALF_HOUR


def _now(loops, asked: str):
    if asked.isdecimal() and 1 <= int(asked) <= len(loops):
        return loops[int(asked) - 1]
    return next((loop for loop in loops if loop["tick"] is None), None)


def bars_page(student: Student, task: PlannedTask) -> dict:
    """The bars of a loop: drawn, with their shapes, and as they sound. The same whatever the day."""
    assignment = task.chunk.assignment
    workup = workup_of(assignment.arrangement, assignment.revision)
    syllables = workup.syllables
    numbers = task.chunk.data["bars"]
    options = PHONE.but(loop=True, chords=False, syllables=syllables, left_handed=student.left_handed)
    bars = bars_of(workup, dict.fromkeys(numbers))
    drawn = strips(bars, workup.score.tuning, options)
    heads = bar_heads(workup, numbers, student.left_handed)
    return {
        "bars": [
            {"number": bar.number, "strip": svg, "heads": heads.get(bar.number, ())}
            for bar, svg in zip(bars, drawn, strict=True)
        ],
        "sound": _sound(workup, numbers, syllables),
    }


def loop_page(task: PlannedTask) -> dict:
    """What a loop asks for on its day: tempos, how many times clean, the teacher's note."""
    assignment = task.chunk.assignment
    tempos = list(ladder(task.from_tempo, task.to_tempo))
    while len(tempos) < FEWEST_TEMPOS and tempos[0] > 40:
        tempos.insert(0, step_down(tempos[0]))
    in_a_row = clean_in_a_row(task.chunk)
    return {
        "task": task,
        "piece": assignment.arrangement.piece,
        "revision": assignment.revision_id,
        "tempos": tempos,
        "in_a_row": in_a_row,
        "in_a_row_words": IN_A_ROW[in_a_row],
        "uuid": uuid4(),
        "note": assignment.note,
    }


def _sound(workup: Workup, numbers, syllables) -> dict | None:
    by_number = {bar.number: bar for bar in workup.score.bars}
    bars = [by_number[number] for number in numbers if number in by_number]
    if not bars:
        return None
    loop = playing(bars, workup.score.tuning, beat=workup.score.meter.beat, syllables=syllables)
    return loop.to_data()


def bar_heads(workup: Workup, numbers, left_handed: bool) -> dict[int, list[dict]]:
    """By bar, the shapes that begin there, each with what the hand does."""
    heads: dict[int, list[dict]] = {}
    wanted = set(numbers)
    changes = {(at.bar, at.onset): at.change for at in workup.changes}
    for hold in workup.holds:
        if hold.bar in wanted and hold.shape:
            change = changes.get((hold.bar, hold.onset))
            heads.setdefault(hold.bar, []).append(
                {
                    "symbol": hold.symbol,
                    "drawing": diagram(
                        hold.shape,
                        needed=hold.needed,
                        stays=change.kept if change else (),
                        left_handed=left_handed,
                        width="3.625rem",
                    ),
                    "text": change.text if change else "",
                }
            )
    return heads

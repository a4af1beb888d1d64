"""The learner's page of one day: a few loops, one of them now."""

from datetime import date
from uuid import uuid4

from pieces.engraving.diagram import diagram
from pieces.engraving.options import PHONE
from pieces.engraving.strip import strips
from pieces.music.counting import BEATS_AND, SYLLABLES
from pieces.music.findings import Workup
from pieces.showing import bars_of
from pieces.workup import workup_of
from students.models import PlannedTask, Student, Tick
from students.planning.cautions import break_caution
from students.planning.tempo import ladder, step_down

FEWEST_TEMPOS = 4


def today_page(student: Student, day: date, asked: str, *, form=None) -> dict:
    """Everything the page shows. ``asked`` is the number of the loop asked for, "" for the next."""
    tasks = list(
        student.tasks.filter(day=day).select_related(
            "chunk__assignment__arrangement__piece",
            "chunk__assignment__arrangement__studio",
            "chunk__assignment__revision",
        )
    )
    ticks = {
        (tick.assignment_id, tick.key): tick
        for tick in Tick.objects.standing().filter(student=student, day=day)
    }
    loops = [
        {
            "number": number,
            "task": task,
            "tick": ticks.get((task.chunk.assignment_id, task.chunk.key)),
        }
        for number, task in enumerate(tasks, start=1)
    ]
    now = _now(loops, asked)
    left = sum(loop["task"].minutes for loop in loops if loop["tick"] is None)
    page = {
        "student": student,
        "day": day,
        "loops": loops,
        "now": now,
        "minutes_left": left,
        "form": form,
        "next_day": _next_day(student, day),
        "break_caution": break_caution(sum(task.minutes for task in tasks)),
    }
    return {**page, **_loop_page(student, now["task"])} if now else page


def _now(loops, asked: str):
    if asked.isdecimal() and 1 <= int(asked) <= len(loops):
        return loops[int(asked) - 1]
    return next((loop for loop in loops if loop["tick"] is None), None)


def _next_day(student: Student, day: date):
    return student.tasks.filter(day__gt=day).values_list("day", flat=True).first()


def _loop_page(student: Student, task: PlannedTask) -> dict:
    assignment = task.chunk.assignment
    workup = workup_of(assignment.arrangement, assignment.revision)
    syllables = SYLLABLES.get(assignment.arrangement.studio.syllables, BEATS_AND)
    tempos = list(ladder(task.from_tempo, task.to_tempo))
    while len(tempos) < FEWEST_TEMPOS and tempos[0] > 40:
        tempos.insert(0, step_down(tempos[0]))
    numbers = task.chunk.data["bars"]
    options = PHONE.but(loop=True, chords=False, syllables=syllables, left_handed=student.left_handed)
    bars = bars_of(workup, dict.fromkeys(numbers))
    drawn = strips(bars, workup.score.tuning, options)
    heads = bar_heads(workup, numbers, student.left_handed)
    return {
        "task": task,
        "piece": assignment.arrangement.piece,
        "bars": [
            {"number": bar.number, "strip": svg, "heads": heads.get(bar.number, ())}
            for bar, svg in zip(bars, drawn, strict=True)
        ],
        "tempos": tempos,
        "uuid": uuid4(),
        "note": assignment.note,
        "beats_in_bar": _clicks(workup),
    }


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


def _clicks(workup: Workup) -> int:
    meter = workup.score.meter
    return int(meter.length / meter.beat)

"""The learner's next seven days as a device keeps them, to be played without a network.

The parts are those of the Today page, drawn by the same templates. A loop's bars are
sent once, however often it comes back within the week.
"""

from datetime import date, timedelta

from django.template.loader import render_to_string

from students.models import Student
from students.today_page import bars_page, cautions_at, loop_page, loops_of, next_day
from studio.templatetags.fourbar import day_in_full

DAYS = 7


def kept_week(student: Student, today: date) -> dict:
    """Seven days from ``today``: ``{"zone", "bars": {name: html}, "days": [...]}``."""
    bars: dict[str, str] = {}
    days = []
    for day in (today + timedelta(days=n) for n in range(DAYS)):
        loops = loops_of(student, day)
        following = next_day(student, day)
        days.append(
            {
                "day": day.isoformat(),
                "name": f"{day:%A}",
                "next": day_in_full(following),
                "loops": [_kept_loop(student, day, loops, loop, bars) for loop in loops],
            }
        )
    return {"zone": student.studio.time_zone, "bars": bars, "days": days}


def _kept_loop(student: Student, day: date, loops: list, loop: dict, bars: dict[str, str]) -> dict:
    task, tick = loop["task"], loop["tick"]
    chunk = task.chunk
    name = f"{chunk.assignment_id}/{chunk.assignment.revision_id}/{chunk.key}"
    if name not in bars:
        bars[name] = _squeezed(render_to_string("students/_bars.html", bars_page(student, task)))
    page = {
        **loop_page(task),
        "now": {"number": loop["number"], "tick": None},
        "kept": True,
        "cautions": cautions_at(student, day, loops, loop["number"]),
    }
    return {
        "bars": name,
        "assignment": chunk.assignment_id,
        "key": chunk.key,
        "label": chunk.label,
        "minutes": task.minutes,
        "html": _squeezed(render_to_string("students/_loop.html", page)),
        "tick": tick and {"uuid": str(tick.uuid), "tempo": tick.tempo, "felt": tick.felt},
    }


def _squeezed(html: str) -> str:
    """Without the line breaks that only templates need."""
    return " ".join(html.split())

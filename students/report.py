"""How practice is going, on one page in plain words, for the guardian to keep."""

from datetime import date, timedelta

from pieces.paper import html_of, pdf_of
from pieces.print_options import PrintOptions
from students.lesson_days import next_lesson
from students.models import Student
from students.progress_page import progress_page

WEEKS = 6
WEEKDAYS = 7

# What each standing means to somebody who does not play.
MEANS = {
    "new": "not begun yet",
    "learning": "being put together, slowly",
    "at tempo": "played as fast as it should go; now it has to last",
    "secure": "played well on several days; it needs only a visit now and then",
    "due again": "known, and ready for a visit before it fades",
}


def report_handout(student: Student, today: date, options: PrintOptions) -> bytes:
    """The progress report as a PDF."""
    return pdf_of(report_pages(student, today, options))


def report_pages(student: Student, today: date, options: PrintOptions) -> list[str]:
    """The ways to set the report (see ``pieces.paper.set_page``)."""
    context = report_page(student, today)
    return [html_of("print/report.html", context, options, tight=tight) for tight in options.sizes()]


def report_page(student: Student, today: date) -> dict:
    """Everything the report says."""
    page = progress_page(student, today)
    weeks = page["weeks"][-WEEKS:]
    played = set(student.ticks.standing().since(weeks[0]["week"]).values_list("day", flat=True))
    weeks = [{**row, "dots": _dots(row["week"], played)} for row in weeks]
    held = student.lessons.filter(day__lte=today).exclude(note="").first()
    return {
        "student": student,
        "studio": student.studio,
        "teacher": student.teacher.name if student.teacher else "",
        "today": today,
        "lesson": next_lesson(student, today) if student.slots.exists() else None,
        "summary": summary_of(student.name, weeks),
        "weeks": weeks,
        "pieces": [_piece(line) for line in page["learning"]],
        "repertoire": sorted({line["piece"].title for line in page["kept"]}),
        "note": held.note if held else "",
        "help": help_for(weeks),
    }


def summary_of(name: str, weeks: list[dict]) -> str:
    """The last full week against those before it, in two sentences.

    >>> lines = [{"days": 3, "minutes": 20}, {"days": 5, "minutes": 45}, {"days": 1, "minutes": 10}]
    >>> summary_of("Juno", lines)
    'Last week Juno practised on 5 days, 45 minutes in all. That is more days than in the weeks before.'
    """
    *earlier, last, _running = [{"days": 0, "minutes": 0}, *weeks]
    if not any(row["days"] for row in (*earlier, last)):
        return f"Nothing was noted in the last weeks. {name} may have practised all the same: only ticks are counted."
    minutes = f", {last['minutes']} minutes in all" if last["minutes"] else ""
    days = f"on {last['days']} day{'s' * (last['days'] != 1)}" if last["days"] else "on no day that was noted"
    said = f"Last week {name} practised {days}{minutes}."
    played = [row["days"] for row in earlier if row["days"]]
    if not played:
        return said
    usual = sum(played) / len(played)
    if abs(last["days"] - usual) < 1:
        return f"{said} That is about as often as in the weeks before."
    return f"{said} That is {'more' if last['days'] > usual else 'fewer'} days than in the weeks before."


def help_for(weeks: list[dict]) -> str:
    """One thing to do at home, by how often there was practice of late."""
    days = [row["days"] for row in weeks[-3:-1]]
    if days and max(days) <= 2:
        return (
            "Five minutes on four days do more than half an hour on one. "
            "A fixed place in the day helps: the instrument within reach, after breakfast or before supper."
        )
    return "Ask to hear one loop, at whatever tempo it goes today, and count along aloud."


def _piece(line: dict) -> dict:
    return {
        "title": line["piece"].title,
        "until": f"to be at {line['goal']} beats a minute",
        "lines": [
            {"section": s.section, "standing": s.standing, "means": MEANS.get(s.standing, "")}
            for s in line["standings"]
        ],
    }


def _dots(monday: date, played: set[date]) -> list[bool]:
    """For each day of a week, whether something was ticked."""
    return [monday + timedelta(days=n) in played for n in range(WEEKDAYS)]

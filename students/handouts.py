"""A learner's week and sign-in card on paper."""

from datetime import date, timedelta
from io import BytesIO

import segno
from django.urls import reverse

from pieces.engraving.strip import strips
from pieces.handouts import rights_line, shapes_part
from pieces.models import Arrangement
from pieces.outlining import outline_some
from pieces.paper import as_image, html_of, pdf_of
from pieces.print_options import PrintOptions
from pieces.showing import bars_of
from pieces.workup import workup_of
from students.lesson_days import next_lesson
from students.models import Student
from students.planning.tempo import ladder
from students.showing import days_between

MOST_BARS = 12  # on paper; more would push the days off the first page
MOST_DAYS = 7
MOST_MARKS = 12


def week_handout(student: Student, first: date, options: PrintOptions) -> bytes:
    """The days from ``first`` to the next lesson: bars, shapes, boxes to tick, tempo ladder."""
    return pdf_of(week_pages(student, first, options))


def week_pages(student: Student, first: date, options: PrintOptions) -> list[str]:
    """The ways to set the week's handout (see ``pieces.paper.set_page``)."""
    context = week_page(student, first)
    given = context.pop("given")
    return [
        html_of(
            "print/week.html",
            {**context, "pieces": [_piece_part(a, tasks, options, tight) for a, tasks in given]},
            options,
            tight=tight,
        )
        for tight in options.sizes()
    ]


def week_page(student: Student, first: date) -> dict:
    """Everything the week's handout shows but its bars, which depend on how it is set.

    ``given`` are the assignments, each with its tasks; a learned piece that comes back
    once through is a row of its own and shows no bars.
    """
    until = end_of_week(student, first)
    tasks = tasks_between(student, first, until)
    days = days_between(first, until)
    assignments = {task.chunk.assignment_id: task.chunk.assignment for task in tasks}
    slot = student.slots.filter(weekday=until.weekday()).first()
    running = {pk: assignment for pk, assignment in assignments.items() if assignment.ended_on is None}
    given = running or assignments
    learned = assignments.keys() - given.keys()
    notes = [assignment.note for assignment in assignments.values() if assignment.note]
    titles = [assignment.arrangement.piece.title for assignment in given.values()]
    return {
        "student": student,
        "studio": student.studio,
        "title": titles[0] if titles else "This week",
        "given": [(a, [t for t in tasks if t.chunk.assignment_id == pk]) for pk, a in given.items()],
        "days": [{"day": day, "minutes": sum(t.minutes for t in tasks if t.day == day)} for day in days],
        "rows": _rows(tasks, days, learned, several=len(given) > 1),
        "ladder": _ladder([task for task in tasks if task.chunk.assignment_id in given]),
        "first": first,
        "last": until - timedelta(days=1),
        "until": until,
        "slot": slot,
        "note": notes[0] if notes else "",
        "teacher": student.teacher.name if student.teacher else "",
    }


def end_of_week(student: Student, first: date) -> date:
    """The day of the next lesson, or a week on where that is further away."""
    return min(next_lesson(student, first), first + timedelta(days=MOST_DAYS))


def tasks_between(student: Student, first: date, until: date) -> list:
    """What is planned, with its music: one query."""
    return list(
        student.tasks.filter(day__gte=first, day__lt=until).select_related(
            "chunk__assignment__arrangement__piece",
            "chunk__assignment__arrangement__studio",
            "chunk__assignment__revision",
            "chunk__assignment__student",
        )
    )


def card_handout(student: Student, holder: str, token: str, absolute, options: PrintOptions) -> bytes:
    """The sign-in card: a square to point a camera at, and how to get in without one."""
    address = absolute(reverse("card_sign_in"))
    square = BytesIO()
    segno.make(f"{address}#{token}", error="m").save(square, kind="svg", scale=4, border=4, xmldecl=False)
    svg = square.getvalue().decode().replace("><path", "><title>The sign-in square</title><path", 1)
    context = {
        "student": student,
        "studio": student.studio,
        "guardian": holder == "guardian",
        "square": as_image(svg, css_class="square"),
        "address": address,
    }
    return pdf_of([html_of("print/card.html", context, options)])


def _piece_part(assignment, tasks, options: PrintOptions, tight: bool) -> dict:
    arrangement: Arrangement = assignment.arrangement
    workup = workup_of(arrangement, assignment.revision)
    parts = [task for task in tasks if task.chunk.kind not in ("section", "run")]
    numbers = sorted({number for task in (parts or tasks) for number in task.chunk.data["bars"]})[:MOST_BARS]
    strip = options.strip(tight=tight, syllables=workup.syllables)
    return {
        "piece": arrangement.piece,
        "arrangement": arrangement,
        "letters": assignment.letters,
        "strips": [as_image(svg) for svg in strips(bars_of(workup, numbers), workup.score.tuning, strip)],
        **shapes_part(workup, numbers, options),
        "outline": outline_some(workup, numbers, left_handed=options.left_handed) if options.words else (),
        "rights": rights_line(arrangement.piece),
    }


def _rows(tasks, days, learned, *, several: bool) -> list[dict]:
    lines: dict[tuple, list] = {}
    for task in tasks:
        lines.setdefault((task.chunk_id,), []).append(task)
    rows = []
    for group in lines.values():
        chunk = group[0].chunk
        by_day = {task.day: task for task in group}
        title = chunk.assignment.arrangement.piece.title
        if chunk.assignment_id in learned:
            label, tempo = ", ".join(filter(None, (title, chunk.data["section"]))), "once through"
        else:
            label, tempo = f"{chunk.label}, {title}" if several else chunk.label, tempo_in_words(group)
        rows.append({"label": label, "tempo": tempo, "cells": [by_day.get(day) for day in days]})
    return rows


def tempo_in_words(tasks) -> str:
    """ "from 54 to 66", "at 60"."""
    low, high = min(t.from_tempo for t in tasks), max(t.to_tempo for t in tasks)
    return f"from {low} to {high}" if low != high else f"at {high}"


def _ladder(tasks) -> list[int]:
    if not tasks:
        return []
    low, high = min(t.from_tempo for t in tasks), max(t.to_tempo for t in tasks)
    marks = list(ladder(low, high))
    return marks[-MOST_MARKS:]

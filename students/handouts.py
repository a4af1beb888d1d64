"""A learner's week and sign-in card on paper."""

import re
from datetime import date, timedelta
from io import BytesIO

import segno
from django.urls import reverse

from pieces.engraving.options import DESK, PAPER
from pieces.engraving.strip import strips
from pieces.handouts import rights_line
from pieces.models import Arrangement
from pieces.paper import as_image, pdf_of
from pieces.showing import bars_of, shape_drawings
from pieces.workup import workup_of
from students.assign_page import next_lesson
from students.models import Student
from students.planning.tempo import ladder
from students.showing import days_between

MOST_BARS = 12  # on paper; more would push the days off the first page
MOST_DAYS = 7
MOST_MARKS = 12
SIZES = (PAPER, DESK.but(paper=True))  # the larger first; the smaller where the week then stays on one page
SHAPES_TO_A_LINE, SHAPES_MM = 5, 20
WIDTH_MM = 180
PAGE_MM = {"a4": 297 - 28, "letter": 279 - 28}
HEAD_AND_FOOT_MM = 96  # title, days' heading, ladder, note and lines, as print.css sets them
HEIGHT = re.compile(r'viewBox="0 0 [\d.]+ ([\d.]+)"')


def week_handout(student: Student, first: date, *, paper: str) -> bytes:
    """The days from ``first`` to the next lesson: bars, shapes, boxes to tick, tempo ladder."""
    return pdf_of("print/week.html", week_page(student, first, paper), paper=paper)


def week_page(student: Student, first: date, paper: str) -> dict:
    """Everything the week's handout shows."""
    until = min(next_lesson(student, first), first + timedelta(days=MOST_DAYS))
    tasks = list(
        student.tasks.filter(day__gte=first, day__lt=until).select_related(
            "chunk__assignment__arrangement__piece",
            "chunk__assignment__arrangement__studio",
            "chunk__assignment__revision",
            "chunk__assignment__student",
        )
    )
    days = days_between(first, until)
    assignments = {task.chunk.assignment_id: task.chunk.assignment for task in tasks}
    rows = _rows(tasks, days, several=len(assignments) > 1)
    pieces = _pieces_on_a_page(assignments.values(), tasks, rows, paper)
    slot = student.slots.filter(weekday=until.weekday()).first()
    notes = [assignment.note for assignment in assignments.values() if assignment.note]
    return {
        "student": student,
        "studio": student.studio,
        "title": pieces[0]["piece"].title if pieces else "This week",
        "pieces": pieces,
        "days": [{"day": day, "minutes": sum(t.minutes for t in tasks if t.day == day)} for day in days],
        "rows": rows,
        "ladder": _ladder(tasks),
        "first": first,
        "last": until - timedelta(days=1),
        "until": until,
        "slot": slot,
        "note": notes[0] if notes else "",
        "teacher": student.teacher.name if student.teacher else "",
    }


def card_handout(student: Student, holder: str, token: str, absolute, *, paper: str) -> bytes:
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
    return pdf_of("print/card.html", context, paper=paper)


def _pieces_on_a_page(assignments, tasks, rows, paper) -> list[dict]:
    """The parts of the handout, with as many bars to a line as one page asks for."""
    by_assignment = [(a, [t for t in tasks if t.chunk.assignment_id == a.pk]) for a in assignments]
    for options in SIZES:
        parts = [_piece_part(a, of_it, options) for a, of_it in by_assignment]
        if _millimetres(parts, rows, options) <= PAGE_MM.get(paper, PAGE_MM["a4"]):
            return parts
    return [_piece_part(a, of_it, SIZES[0]) for a, of_it in by_assignment]


def _millimetres(parts, rows, options) -> float:
    """About how tall the page will be, from what the style sheet gives each part."""
    music = sum(height * WIDTH_MM / options.width + 1.5 for part in parts for height in part["heights"])
    shapes = sum(SHAPES_MM * -(-len(part["shapes"]) // SHAPES_TO_A_LINE) for part in parts)
    heads = 8 * len(parts)
    return HEAD_AND_FOOT_MM + heads + music + shapes + 8.2 * len(rows)


def _piece_part(assignment, tasks, options) -> dict:
    arrangement: Arrangement = assignment.arrangement
    workup = workup_of(arrangement, assignment.revision)
    parts = [task for task in tasks if task.chunk.kind not in ("section", "run")]
    numbers = sorted({number for task in (parts or tasks) for number in task.chunk.data["bars"]})[:MOST_BARS]
    left_handed = assignment.student.left_handed
    bars = bars_of(workup, numbers)
    drawn = strips(bars, workup.score.tuning, options.but(left_handed=left_handed))
    return {
        "piece": arrangement.piece,
        "arrangement": arrangement,
        "letters": assignment.letters,
        "strips": [as_image(svg) for svg in drawn],
        "heights": [float(HEIGHT.search(svg).group(1)) for svg in drawn],
        "shapes": [
            {**line, "drawing": as_image(line["drawing"], css_class="shape")}
            for line in shape_drawings(workup, numbers, left_handed=left_handed, width="17mm")
        ],
        "rights": rights_line(arrangement.piece),
    }


def _rows(tasks, days, *, several: bool) -> list[dict]:
    lines: dict[tuple, list] = {}
    for task in tasks:
        lines.setdefault((task.chunk_id,), []).append(task)
    rows = []
    for group in lines.values():
        chunk = group[0].chunk
        by_day = {task.day: task for task in group}
        label = f"{chunk.label}, {chunk.assignment.arrangement.piece.title}" if several else chunk.label
        low, high = min(t.from_tempo for t in group), max(t.to_tempo for t in group)
        tempo = f"from {low} to {high}" if low != high else f"at {high}"
        rows.append({"label": label, "tempo": tempo, "cells": [by_day.get(day) for day in days]})
    return rows


def _ladder(tasks) -> list[int]:
    if not tasks:
        return []
    low, high = min(t.from_tempo for t in tasks), max(t.to_tempo for t in tasks)
    marks = list(ladder(low, high))
    return marks[-MOST_MARKS:]

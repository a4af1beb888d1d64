"""For the lesson: what is new for a learner in words, and the drills on a sheet of their own."""

from datetime import date, timedelta

from pieces.engraving.diagram import diagram
from pieces.engraving.options import NOTE
from pieces.engraving.strip import strips
from pieces.handouts import outline_lines, rights_line
from pieces.music.bar_words import DRILLS, outline_bar
from pieces.music.findings import Workup
from pieces.music.words import sentence
from pieces.outlining import known_of, outline_some
from pieces.paper import as_image, html_of, pdf_of
from pieces.print_options import PrintOptions
from pieces.showing import bars_of, hard_spans
from pieces.workup import workup_of
from students.handouts import end_of_week, tasks_between, tempo_in_words
from students.models import Assignment, Chunk, Student
from students.planning.tempo import ladder

IN_BARS = ("bar", "pair", "half", "join")
HARD_BARS = 2  # of a piece, with their drills
HARD_FROM = 5.0
MARKS = 10
# How the drills of a kind are played, said once at the head of the sheet.
HOW = {
    "change": f"Changes: {DRILLS['change']}.",
    "rhythm": f"Rhythms: {DRILLS['between']}.",
}
ALONE = NOTE.but(width=360, per_system=1, paper=True, closed=False)


def lesson_outline_handout(student: Student, first: date, options: PrintOptions) -> bytes:
    """What is new for the learner until the next lesson, loop by loop, in words."""
    return pdf_of(lesson_outline_pages(student, first, options))


def lesson_outline_pages(student: Student, first: date, options: PrintOptions) -> list[str]:
    """The ways to set the outline of the learner's new loops."""
    until = end_of_week(student, first)
    new: dict[int, list] = {}
    for task in tasks_between(student, first, until):
        new.setdefault(task.chunk_id, []).append(task)
    loops = [_loop(tasks, options) for tasks in new.values() if any(task.new for task in tasks)]
    assignments = {t.chunk.assignment_id: t.chunk.assignment for tasks in new.values() for t in tasks}
    context = {
        **_heading(student, assignments.values()),
        "loops": loops,
        "first": first,
        "last": until - timedelta(days=1),
    }
    return [html_of("print/lesson.html", context, options)]


def drills_handout(student: Student, today: date, options: PrintOptions) -> bytes:
    """Changes, rhythms and hard bars of what is assigned, each with its drill and ladder."""
    return pdf_of(drills_pages(student, today, options))


def drills_pages(student: Student, today: date, options: PrintOptions) -> list[str]:
    """The ways to set the drills sheet."""
    running = list(
        student.assignments.running()
        .with_music()
        .select_related("arrangement__studio")
        .prefetch_related("chunks")
    )
    drills = [drill for assignment in running for drill in _drills(assignment, options)]
    how = [HOW[kind] for kind in HOW if any(drill["kind"] == kind for drill in drills)]
    context = {**_heading(student, running), "drills": drills, "how": how, "today": today}
    return [html_of("print/drills.html", context, options, tight=tight) for tight in options.sizes()]


def _heading(student: Student, assignments) -> dict:
    pieces = {assignment.arrangement.piece for assignment in assignments}
    return {
        "student": student,
        "studio": student.studio,
        "teacher": student.teacher.name if student.teacher else "",
        "pieces": sorted(piece.title for piece in pieces),
        "rights": " ".join(
            f"{piece.title}: {rights_line(piece)}" for piece in sorted(pieces, key=lambda p: p.title)
        ),
    }


def _loop(tasks: list, options: PrintOptions) -> dict:
    chunk: Chunk = tasks[0].chunk
    assignment = chunk.assignment
    workup = workup_of(assignment.arrangement, assignment.revision)
    outlines = []
    if chunk.kind in IN_BARS:
        outlines = outline_some(workup, chunk.data["bars"], left_handed=options.left_handed)
    return {
        "label": chunk.label,
        "piece": assignment.arrangement.piece.title,
        "day": min(task.day for task in tasks if task.new),
        "tempo": tempo_in_words(tasks),
        "why": chunk.data.get("why", ""),
        "words": _drill_words(chunk, workup) if chunk.kind == "drill" else (),
        "bars": outline_lines(workup, outlines, options),
    }


def _drills(assignment: Assignment, options: PrintOptions) -> list[dict]:
    workup = workup_of(assignment.arrangement, assignment.revision)
    chunks = [chunk for chunk in assignment.chunks.all() if chunk.kind == "drill"]
    drills = [_drill(chunk, workup, options) for chunk in chunks]
    return [*drills, *_hard_bars(assignment, workup, options)]


def _drill(chunk: Chunk, workup: Workup, options: PrintOptions) -> dict:
    _drill_word, kind, _rest = chunk.key.split(":", 2)
    images = _change_images(chunk, workup, options) if kind == "change" else _bar_image(chunk.first, workup)
    return {
        "kind": kind,
        "label": chunk.label,
        "where": f"for bar {chunk.first}",
        "images": images,
        "words": _moves(chunk, workup),
        "ladder": _marks(chunk.data["start"], chunk.data["goal"]),
    }


def _drill_words(chunk: Chunk, workup: Workup) -> list[str]:
    """How a drill is played: what the fingers do, and what to do with them."""
    kind = "change" if ":change:" in chunk.key else "between"
    return [*_moves(chunk, workup), sentence(DRILLS[kind])]


def _moves(chunk: Chunk, workup: Workup) -> list[str]:
    """What the fingers do in the change that is drilled."""
    return [at.change.text for at in workup.changes if _is_change(chunk, at)][:1]


def _is_change(chunk: Chunk, at) -> bool:
    return chunk.key == f"drill:change:{at.before}-{at.after}"


def _change_images(chunk: Chunk, workup: Workup, options: PrintOptions) -> list:
    """The two shapes of a change; fingers that stay are ringed in the second."""
    at = next((at for at in workup.changes if _is_change(chunk, at)), None)
    if at is None:
        return []
    place = next(n for n, hold in enumerate(workup.holds) if (hold.bar, hold.onset) == (at.bar, at.onset))
    pair = (workup.holds[place - 1].shape, (), workup.holds[place].shape, at.change.kept)
    drawn = [
        diagram(shape, stays=stays, left_handed=options.left_handed, width="21mm")
        for shape, stays in (pair[:2], pair[2:])
    ]
    return [as_image(svg, css_class="shape") for svg in drawn]


def _hard_bars(assignment: Assignment, workup: Workup, options: PrintOptions) -> list[dict]:
    """The hardest bars of the sections given that no drill of their own stands for."""
    given = {
        number
        for section in workup.sections
        if section.letter in assignment.letters
        for number in range(section.first, section.last + 1)
        if workup.classes.get(number) == number
    }
    hard = [
        n
        for n in given
        if workup.ratings[n].score >= HARD_FROM and workup.ratings[n].kinds[:1] != ("change",)
    ]
    goal = assignment.goal_tempo
    return [
        {
            "kind": "bar",
            "label": f"Bar {number}",
            "where": assignment.arrangement.piece.title,
            "images": _bar_image(number, workup, counts=options.count),
            "words": words,
            "ladder": _marks(goal // 2, goal),
        }
        for number in sorted(hard, key=lambda n: -workup.ratings[n].score)[:HARD_BARS]
        if (words := _trap_words(number, workup))
    ]


def _trap_words(number: int, workup: Workup) -> list[str]:
    known = known_of(workup)
    bar = known.score.bar(number)
    said = outline_bar(
        bar,
        tuning=known.score.tuning,
        shapes=known.shapes_in(bar),
        rating=workup.ratings[number],
        syllables=workup.syllables,
    )
    return [one.text for one in said if one.topic in ("trap", "drill")]


def _bar_image(number: int, workup: Workup, *, counts: bool = True) -> list:
    drawn = strips(
        bars_of(workup, [number]),
        workup.score.tuning,
        ALONE.but(syllables=workup.syllables, counts=counts),
        hard=hard_spans(workup),
    )
    return [as_image(svg) for svg in drawn]


def _marks(start: int, goal: int) -> list[int]:
    """Marks of the ladder, thinned where there are too many for the line; the goal always."""
    marks = list(ladder(start, goal))
    step = -(-len(marks) // MARKS)
    return marks[::-1][::step][::-1]

"""The Assign page: the first proposal, the plan by day, and the ways out."""

from dataclasses import replace
from datetime import timedelta

from pieces.models import Arrangement
from pieces.music.findings import Workup
from students.lesson_days import next_lesson
from students.models import Student
from students.planning.cautions import cautions
from students.planning.chunks import letters_of
from students.planning.plan import WayOut
from students.practice import Proposal
from students.records import Terms
from students.showing import PlannedLine, plan_grid


def first_terms(student: Student, arrangement: Arrangement, workup: Workup, today) -> Terms:
    """What to propose first: the next section, until the next lesson, at the piece's own goal."""
    running = student.assignments.running().filter(arrangement=arrangement).first()
    starts = today + timedelta(days=1) if student.ticks.filter(day=today).exists() else today
    until = next_lesson(student, starts)
    letters = list(dict.fromkeys(section.letter for section in workup.sections))
    if running is None:
        return Terms(tuple(letters[:1]), arrangement.goal_tempo, starts, until, minutes=student.minutes)
    given = [letter for letter in running.letters if letter in letters]
    secure = set(
        running.standings.filter(standing__in=["secure", "due again"]).values_list("section", flat=True)
    )
    following = [letter for letter in letters if letter not in given]
    if given and secure.issuperset(given):
        given += following[:1]
    performance = running.performance and running.until > starts
    return Terms(
        tuple(given or letters[:1]),
        running.goal_tempo,
        starts,
        running.until if performance else until,
        performance,
        running.start_goal,
        student.minutes,
    )


def with_way_out(terms: Terms, proposal: Proposal, way: str) -> Terms:
    """``terms`` changed as the chosen way out says; as they are where none was chosen."""
    ways = proposal.plan.fit.ways_out
    if not way.isdecimal() or int(way) >= len(ways):
        return terms
    apply = ways[int(way)].apply
    if "sections" in apply:
        return replace(terms, letters=tuple(apply["sections"]))
    if "goal" in apply:
        return replace(terms, goal=apply["goal"], start_goal=apply["start_goal"])
    if "more_minutes" in apply:
        minutes = {d: m + apply["more_minutes"] if m else 0 for d, m in (terms.minutes or {}).items()}
        return replace(terms, minutes=minutes)
    return replace(terms, until=apply["lesson"])


def assign_page(student: Student, arrangement: Arrangement, form, proposal: Proposal | None) -> dict:
    """Everything the Assign page shows; without a proposal, only the form with its errors."""
    context = {"student": student, "arrangement": arrangement, "form": form, "minutes": form.minutes_fields()}
    standings = dict(
        student.standings.filter(assignment__arrangement=arrangement, assignment__ended_on=None).values_list(
            "section", "standing"
        )
    )
    chosen = form["letters"].value() or []
    context["sections"] = [
        {"letter": letter, "standing": standings.get(letter, "new"), "chosen": letter in chosen}
        for letter, _label in form.fields["letters"].choices
    ]
    if proposal is None:
        return context
    plan, terms = proposal.plan, proposal.terms
    lines = [
        PlannedLine(day.date, task.label, task.minutes, task.new) for day in plan.days for task in day.tasks
    ]
    missing = {chunk.key: chunk.label for chunk in proposal.chunks if chunk.key in plan.fit.missing}
    planned = {line.label for line in lines}
    return {
        **context,
        "grid": plan_grid(lines, terms.starts, terms.until),
        "fit": plan.fit,
        "unplanned": [label for label in missing.values() if label not in planned],
        "ways": [way_shown(n, way) for n, way in enumerate(plan.fit.ways_out)],
        "cautions": cautions(proposal.calendar, terms.starts),
        "learner": proposal.learner,
        "letters_planned": letters_of(proposal.chunks),
        "pace_text": pace_in_words(student, proposal.learner),
    }


def way_shown(n: int, way: WayOut) -> dict:
    """A way out as the page offers it: what to do, and beneath it what that takes."""
    head, _stop, rest = way.text.partition(". ")
    return {"number": n + 1, "value": n, "way": way, "head": f"{head.removesuffix('.')}.", "rest": rest}


def pace_in_words(student: Student, learner) -> str:
    """How the learner's time compares with the estimate, and the cap on new loops."""
    cap = f"{student.level.capitalize()}: at most {learner.new_loops} new loops a day."
    if abs(learner.pace - 1) < 0.05:
        return cap
    return f"{cap} {student.name} takes {learner.pace:.1f} times the estimate."

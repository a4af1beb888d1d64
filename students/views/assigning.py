"""Giving a piece: the plan by day before it is confirmed."""

from dataclasses import replace
from datetime import date

from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from pieces.models import Arrangement, Piece
from pieces.workup import workup_of
from students import practice
from students.assign_page import assign_page, first_terms, with_way_out
from students.forms import AssignForm
from students.groups import fits
from students.models import Assignment, Group, Student
from students.planning.performing import backward_from
from students.repertoire import keep, let_go
from studio.accounts.access import TEACHERS, allow, theirs_or_404


@allow(TEACHERS)
def assign_to(request, pk):
    """Choose the learner, or the group, for an arrangement."""
    arrangement = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)
    students = Student.objects.of(request.actor.studio).learning().with_current_work()
    groups = Group.objects.of(request.actor.studio)
    page = {"arrangement": arrangement, "students": students, "groups": groups}
    return render(request, "students/assign_to.html", page)


@allow(TEACHERS)
def choose_piece(request, pk):
    """Choose the piece for a learner."""
    student = theirs_or_404(Student.objects, request.actor, pk=pk)
    pieces = (
        Piece.objects.of(request.actor.studio).in_use().prefetch_related("arrangements").order_by("title")
    )
    return render(request, "students/choose_piece.html", {"student": student, "pieces": pieces})


@never_cache
@allow(TEACHERS, "GET", "POST")
def assign(request, pk, arrangement_pk):
    student = theirs_or_404(Student.objects, request.actor, pk=pk)
    arrangement = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=arrangement_pk)
    today = request.actor.studio.today
    workup = workup_of(arrangement)
    letters = list(dict.fromkeys(section.letter for section in workup.sections))
    terms = first_terms(student, arrangement, workup, today)
    if day := performance_day(request):
        terms = replace(terms, letters=tuple(letters), until=day, performance=True)
    form = AssignForm(request.POST or _as_data(terms), letters=letters, student=student, today=today)
    if not form.is_valid():
        return render(request, "students/assign.html", assign_page(student, arrangement, form, None))
    proposal = practice.propose(student, arrangement, form.terms)
    do = request.POST.get("do")
    if request.method == "POST" and do in ("assign", "as-is"):
        terms = form.terms
        if do == "assign":
            terms = with_way_out(terms, proposal, request.POST.get("way", ""))
        practice.assign(student, arrangement, terms, today=today)
        return redirect("student", pk)
    page = assign_page(student, arrangement, form, proposal)
    more = {"toward": toward(form.terms), "fits_instrument": fits(arrangement, student)}
    return render(request, "students/assign.html", {**page, **more})


@allow(TEACHERS, "POST")
def end(request, pk):
    """Put a piece away for a learner; what was learned stays in the repertoire."""
    assignment = theirs_or_404(Assignment.objects, request.actor, pk=pk)
    practice.end_assignment(assignment, request.actor.studio.today)
    return redirect("student", assignment.student_id)


@allow(TEACHERS, "POST")
def repertoire(request, pk):
    """Let a learned piece go, or keep it after all."""
    assignment = theirs_or_404(Assignment.objects.select_related("student"), request.actor, pk=pk)
    if request.POST.get("do") == "let-go":
        let_go(assignment, request.actor.studio.today)
    elif request.POST.get("do") == "keep":
        keep(assignment)
    return redirect("student", assignment.student_id)


def toward(terms) -> str:
    """The dates that lead to a performance, "" where it is for a lesson."""
    return backward_from(terms.until, terms.starts).text if terms.performance else ""


def performance_day(request) -> date | None:
    """The day that a performance's page asked a piece to be given for."""
    try:
        return date.fromisoformat(request.GET.get("perform", ""))
    except ValueError:
        return None


def _as_data(terms) -> dict:
    """The first proposal as form data, so that the plan shows before anything is typed."""
    return {
        "letters": list(terms.letters),
        "goal": terms.goal,
        "starts": terms.starts.isoformat(),
        "until": terms.until.isoformat(),
        "purpose": "performance" if terms.performance else "lesson",
        **{f"minutes_{day}": minutes for day, minutes in terms.minutes.items()},
    }

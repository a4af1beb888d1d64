"""The learner's own pages, and the guardian's."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from students import practice
from students.forms import TickForm
from students.models import PlannedTask, Student, Tick
from students.progress_page import pieces_page, progress_page
from students.today_page import today_page
from students.views.kept import device_of
from studio.accounts.access import FAMILY, LEARNERS, allow, theirs_or_404


@allow(LEARNERS)
def today(request):
    student = _learner(request)
    day = request.actor.studio.today
    practice.keep_planned(student, day)
    page = today_page(student, day, request.GET.get("loop", ""))
    return render(request, "students/today.html", {**page, "device": device_of(request)})


@allow(LEARNERS, "POST")
def tick(request):
    student = _learner(request)
    day = request.actor.studio.today
    form = TickForm(request.POST)
    if not form.is_valid():
        page = today_page(student, day, request.POST.get("loop", ""), form=form)
        return render(request, "students/today.html", {**page, "device": device_of(request)}, status=422)
    task = theirs_or_404(
        PlannedTask.objects.select_related("chunk__assignment"), request.actor, pk=form.cleaned_data["task"]
    )
    practice.record_tick(
        student,
        task,
        uuid=form.cleaned_data["uuid"],
        day=day,
        tempo=form.cleaned_data["tempo"],
        felt=form.cleaned_data["felt"],
        minutes=form.cleaned_data["minutes"] or 0,
        at=timezone.now(),
    )
    return redirect("today")


@allow(LEARNERS, "POST")
def untick(request):
    """Take back a tick of today."""
    student = _learner(request)
    try:
        wanted = UUID(request.POST.get("uuid", ""))
    except ValueError:
        wanted = uuid4()
    tick = get_object_or_404(
        Tick.objects.of(request.actor.studio).belonging_to(student.pk).standing(),
        uuid=wanted,
        day=request.actor.studio.today,
    )
    practice.undo_tick(tick, uuid=uuid4(), at=timezone.now())
    messages.info(request, "Taken back.")
    return redirect("today")


@allow(LEARNERS)
def my_pieces(request):
    return render(
        request, "students/my_pieces.html", pieces_page(_learner(request), request.actor.studio.today)
    )


@allow(FAMILY)
def progress(request):
    return render(
        request, "students/progress.html", progress_page(_learner(request), request.actor.studio.today)
    )


def _learner(request) -> Student:
    return theirs_or_404(Student.objects, request.actor, pk=request.actor.student_id)

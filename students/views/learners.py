"""The studio's learners: the list, one learner, their days and cards."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from pieces.print_options import PrintOptions
from students import cards, practice
from students.forms import AwayForm, StudentForm
from students.handouts import card_handout
from students.learner_page import learner_page
from students.models import Student
from studio.accounts.access import TEACHERS, allow, theirs_or_404


@allow(TEACHERS)
def student_list(request):
    asked = request.GET.get("q", "").strip()
    students = Student.objects.of(request.actor.studio).learning().with_current_work()
    if asked:
        students = students.filter(name__icontains=asked)
    return render(request, "students/student_list.html", {"students": students, "asked": asked})


@allow(TEACHERS, "GET", "POST")
def student_new(request):
    blank = Student(
        studio=request.actor.studio, teacher=request.actor.user, joined_on=request.actor.studio.today
    )
    form = StudentForm(request.POST or None, instance=blank)
    if request.method == "POST" and form.is_valid():
        made = form.save()
        return redirect("student", made.pk)
    return render(request, "students/student_form.html", {"form": form, "student": None})


@allow(TEACHERS)
def student(request, pk):
    found = theirs_or_404(Student.objects, request.actor, pk=pk)
    today = request.actor.studio.today
    practice.keep_planned(found, today)
    return render(request, "students/student.html", learner_page(found, today))


@allow(TEACHERS, "GET", "POST")
def student_about(request, pk):
    found = theirs_or_404(Student.objects, request.actor, pk=pk)
    form = StudentForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        form.save()
        found.assignments.planned().update(stale=True)
        return redirect("student", pk)
    return render(request, "students/student_form.html", {"form": form, "student": found})


@allow(TEACHERS, "GET", "POST")
def student_away(request, pk):
    """Days without practice; the plan goes round them from now on."""
    found = theirs_or_404(Student.objects, request.actor, pk=pk)
    form = AwayForm(request.POST or None)
    if request.method == "POST":
        if request.POST.get("do") == "forget":
            found.away.filter(pk=request.POST.get("away") or 0).delete()
            found.assignments.planned().update(stale=True)
            return redirect("student_away", pk)
        if form.is_valid():
            away = form.save(commit=False)
            away.student, away.studio_id = found, found.studio_id
            away.save()
            found.assignments.planned().update(stale=True)
            return redirect("student", pk)
    return render(
        request, "students/student_away.html", {"form": form, "student": found, "away": found.away.all()}
    )


@allow(TEACHERS, "POST")
def card_new(request, pk):
    """A new card as a PDF; the old one and its sessions end at once."""
    found = theirs_or_404(Student.objects, request.actor, pk=pk)
    holder = "guardian" if request.POST.get("holder") == "guardian" else "learner"
    _card, token = cards.new_card(found, holder, by=request.actor.user)
    pdf = card_handout(
        found, holder, token, request.build_absolute_uri, PrintOptions(request.actor.studio.paper)
    )
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'inline; filename="card-{found.pk}.pdf"',
            "Cache-Control": "no-store",
        },
    )


@allow(TEACHERS, "POST")
def code_new(request, pk):
    """A code to read out to a learner whose device has no camera."""
    found = theirs_or_404(Student.objects, request.actor, pk=pk)
    card = found.cards.in_force().filter(holder="learner").first()
    if card is None:
        card, _token = cards.new_card(found, by=request.actor.user)
    code = cards.new_code(card)
    messages.success(
        request, f"Code for {found.name}: {code[:4]} {code[4:]}. It works once, until this time tomorrow."
    )
    return redirect("student", pk)

"""Performances: the list, one with its programme, and making and ending one."""

from django.contrib import messages
from django.shortcuts import redirect, render

from students import practice
from students.models import Student
from studio.accounts.access import TEACHERS, allow, theirs_or_404
from studio.lessons.models import Performance
from studio.lessons.performing_forms import ItemForm, PerformanceForm
from studio.lessons.programme import add_item, move_item, programme_page

MOVES = {"earlier": -1, "later": 1}


@allow(TEACHERS)
def performance_list(request):
    """Those that come, and those that were."""
    today = request.actor.studio.today
    all_of_them = Performance.objects.of(request.actor.studio)
    page = {
        "coming": all_of_them.coming(today).prefetch_related("programme__arrangement__piece"),
        "over": all_of_them.filter(day__lt=today).order_by("-day"),
    }
    return render(request, "lessons/performance_list.html", page)


@allow(TEACHERS, "GET", "POST")
def performance_new(request):
    return _form(request, Performance(studio=request.actor.studio))


@allow(TEACHERS, "GET", "POST")
def performance_about(request, pk):
    """Title, date and place; or call it off."""
    found = theirs_or_404(Performance.objects, request.actor, pk=pk)
    if request.method == "POST" and request.POST.get("do") == "call-off":
        found.delete()
        messages.success(request, f"{found.title} is called off. What was given for it stays given.")
        return redirect("performance_list")
    return _form(request, found)


@allow(TEACHERS, "GET", "POST")
def performance(request, pk):
    """The programme in order, the time it takes, and how ready each piece is."""
    studio = request.actor.studio
    found = theirs_or_404(Performance.objects, request.actor, pk=pk)
    form = ItemForm(request.POST if request.POST.get("do") == "add" else None, studio=studio)
    if request.method == "POST":
        if form.is_bound and form.is_valid():
            add_item(found, form.cleaned_data["arrangement"], **form.player)
            return redirect("performance", pk)
        if not form.is_bound:
            _change(request, found)
            return redirect("performance", pk)
    players = Student.objects.filter(pk__in=_players(found)).select_related("studio")
    for student in players:
        practice.keep_planned(student, studio.today)
    return render(request, "lessons/performance.html", {**programme_page(found, studio.today), "form": form})


def _change(request, found: Performance) -> None:
    """Move a piece within the programme, or take it out."""
    asked, _, number = request.POST.get("do", "").partition(" ")
    item = theirs_or_404(found.programme, request.actor, pk=number if number.isdecimal() else 0)
    if asked == "out":
        item.delete()
    elif asked in MOVES:
        move_item(found, item, MOVES[asked])


def _players(found: Performance) -> set[int]:
    items = found.programme.select_related("student", "group").prefetch_related("group__members")
    return {student.pk for item in items for student in item.players}


def _form(request, row: Performance):
    form = PerformanceForm(request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid():
        return redirect("performance", form.save().pk)
    page = {"form": form, "performance": row if row.pk else None}
    return render(request, "lessons/performance_form.html", page)

"""Confirming a finding, or deciding otherwise."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render

from pieces.deciding import BarForm
from pieces.models import Arrangement, Override
from pieces.section_form import SectionsForm
from pieces.shape_choices import chord_choices
from pieces.showing import bar_page
from pieces.workup import decide as keep
from pieces.workup import undecide, workup_of
from studio.accounts.access import TEACHERS, allow, theirs_or_404


@allow(TEACHERS, "POST")
def decide(request, pk):
    """One press on a finding: it is right, or one of its choices, or decide it anew."""
    arrangement = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)
    key = request.POST.get("key", "")[:80]
    if request.POST.get("do") == "undo":
        undecide(arrangement, key)
        return redirect("arrangement", pk)
    finding = next((f for f in workup_of(arrangement).findings if f.key == key), None)
    if finding is None:
        messages.info(request, "This finding has changed in the meantime; look at it anew.")
        return redirect("arrangement", pk)
    choice = request.POST.get("choice", "")
    if choice.isdecimal() and int(choice) < len(finding.choices):
        chosen = finding.choices[int(choice)]
        keep(arrangement, chosen.key or key, chosen.value, by=request.actor.user)
    else:
        keep(arrangement, key, None, by=request.actor.user)
    return redirect("arrangement", pk)


@allow(TEACHERS, "GET", "POST")
def bar(request, pk, number):
    """Everything about one bar, each part of which the teacher may decide."""
    arrangement = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)
    found = workup_of(arrangement)
    try:
        shown = found.score.bar(number)
    except KeyError:
        raise Http404 from None
    form = BarForm(request.POST or None, workup=found, bar=shown, overrides=_overrides(arrangement))
    if request.method == "POST" and form.is_valid():
        for key, value in form.decided():
            keep(arrangement, key, value, by=request.actor.user)
        for key in form.undecided():
            undecide(arrangement, key)
        return redirect("arrangement", pk)
    page = bar_page(arrangement, found, shown)
    chords = chord_choices(arrangement, found, number)
    return render(request, "pieces/bar.html", {"form": form, "chords": chords, **page})


@allow(TEACHERS, "GET", "POST")
def sections(request, pk):
    """Where sections begin and what they are called, decided for the whole piece at once."""
    arrangement = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)
    if request.POST.get("do") == "found":
        undecide(arrangement, "sections")
        return redirect("arrangement", pk)
    form = SectionsForm(request.POST or None, workup=workup_of(arrangement))
    if request.method == "POST" and form.is_valid():
        keep(arrangement, "sections", form.cuts, by=request.actor.user)
        return redirect("arrangement", pk)
    page = {"form": form, "arrangement": arrangement, "own": "sections" in _overrides(arrangement)}
    return render(request, "pieces/sections.html", page, status=422 if form.errors else 200)


def _overrides(arrangement) -> dict:
    return dict(Override.objects.filter(arrangement=arrangement).values_list("key", "value"))

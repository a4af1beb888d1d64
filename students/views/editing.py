"""Editing the bars of an arrangement, and taking along those who play it."""

import json

from django.contrib import messages
from django.http import Http404, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from pieces.editing import ChangedMeanwhile, UnusableEdit, finish_sitting, keep_bars, read_edits
from pieces.editor_page import editor_page, kept_answer
from pieces.forms import TypedForm
from pieces.models import Arrangement, Revision
from pieces.music.tab import write_tab
from pieces.views.typing import typed_so_far
from pieces.workup import revise
from students.models import Assignment, Tick
from students.moved_words import moved_in_words
from students.practice import move_to_current
from studio.accounts.access import TEACHERS, allow, theirs_or_404


@allow(TEACHERS, "GET", "POST")
def arrangement_edit(request, pk):
    """All bars as counted tab."""
    found = _arrangement(request, pk)
    typed = found.current.typed or write_tab(found.to_score())
    form = TypedForm(request.POST or None, initial={"text": typed, "rights": found.piece.rights})
    if request.method == "POST" and form.is_valid():
        before = found.current_id
        revise(found, form.score, typed=form.cleaned_data["text"])
        if found.current_id != before:
            _take_along(request, found)
        return redirect("arrangement", found.pk)
    context = {"form": form, "arrangement": found, **typed_so_far(form["text"].value(), found.studio)}
    return render(request, "pieces/arrangement_edit.html", context)


@allow(TEACHERS)
def bar_editor(request, pk, number):
    """One bar as strings by counts."""
    try:
        page = editor_page(_arrangement(request, pk), number)
    except KeyError:
        raise Http404 from None
    return render(request, "pieces/bar_editor.html", page)


@allow(TEACHERS, "POST")
def bars_keep(request, pk):
    """Edited bars as JSON; answered with what they are now. 409: changed by somebody else meanwhile."""
    found = _arrangement(request, pk)
    try:
        bars, shown = _sent(request)
        edits = read_edits(bars, found.current.tuning)
        kept = keep_bars(found, edits, by=request.actor.user, at=timezone.now(), in_use=_in_use)
    except UnusableEdit as unusable:
        return JsonResponse({"text": str(unusable)}, status=422)
    except ChangedMeanwhile as changed:
        return JsonResponse(kept_answer(_arrangement(request, pk), changed.numbers, None), status=409)
    return JsonResponse(kept_answer(kept, edits, shown))


@allow(TEACHERS, "POST")
def bars_done(request, pk):
    """The sitting is over: whoever plays the arrangement follows."""
    found = _arrangement(request, pk)
    if found.current.sitting:
        finish_sitting(found)
        _take_along(request, found)
    return redirect("arrangement", pk)


def _arrangement(request, pk) -> Arrangement:
    return theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)


def _sent(request) -> tuple[dict, int | None]:
    """The bars that were sent, not yet looked into, and the number of the one on the page."""
    try:
        sent = json.loads(request.body)
        return sent["bars"], sent.get("shown")
    except (ValueError, KeyError, TypeError, RecursionError):
        raise UnusableEdit("This is no edit. Load the page again.") from None


def _take_along(request, arrangement: Arrangement) -> None:
    moves = move_to_current(arrangement, request.actor.studio.today)
    for line in (f"Kept as revision {arrangement.current.number}.", *moved_in_words(moves)):
        messages.success(request, line)


def _in_use(revision: Revision) -> bool:
    given = Assignment.objects.filter(revision=revision).exists()
    return given or Tick.objects.filter(revision=revision).exists()

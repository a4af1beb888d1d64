"""Typing a piece as counted tab: checked and engraved while it is typed."""

from django.contrib import messages
from django.shortcuts import redirect, render

from pieces.forms import TypedForm
from pieces.models import Arrangement
from pieces.music.tab import check_tab, write_tab
from pieces.music.tab.guide import GUIDE
from pieces.showing import draft_strips
from pieces.workup import add_piece, revise
from studio.accounts.access import TEACHERS, allow, theirs_or_404

START = """title:
tuning: ukulele high G
meter: 4/4
tempo: 76

   C
A|-3---2---0-----|
E|-0-------------|
C|-0-------------|
G|-0-------------|
   1   2   3   4
"""


@allow(TEACHERS, "GET", "POST")
def piece_new(request):
    form = TypedForm(request.POST or None, initial={"text": START})
    if request.method == "POST" and form.is_valid():
        made = add_piece(
            request.actor.studio,
            form.score,
            by=request.actor.user,
            typed=form.cleaned_data["text"],
            rights=form.cleaned_data["rights"],
        )
        return redirect("arrangement", made.pk)
    return render(request, "pieces/piece_new.html", {"form": form, **_checked(form["text"].value())})


@allow(TEACHERS, "POST")
def piece_check(request):
    """What the text says so far: its problems, and the bars that can be read."""
    return render(request, "pieces/_checked.html", _checked(request.POST.get("text", "")))


@allow(TEACHERS, "GET", "POST")
def arrangement_edit(request, pk):
    found = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)
    typed = found.current.typed or write_tab(found.to_score())
    form = TypedForm(request.POST or None, initial={"text": typed, "rights": found.piece.rights})
    if request.method == "POST" and form.is_valid():
        before = found.current_id
        revise(found, form.score, typed=form.cleaned_data["text"])
        if found.current_id != before:
            messages.success(request, f"Kept as revision {found.current.number}.")
        return redirect("arrangement", found.pk)
    context = {"form": form, "arrangement": found, **_checked(form["text"].value())}
    return render(request, "pieces/arrangement_edit.html", context)


@allow(TEACHERS)
def tab_guide(request):
    return render(request, "pieces/tab_guide.html", {"guide": GUIDE})


def _checked(text: str) -> dict:
    score, problems = check_tab(text or "")
    strips = draft_strips(score) if score and score.bars else []
    return {"problems": problems, "strips": strips, "score": score}

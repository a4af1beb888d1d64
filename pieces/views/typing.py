"""Typing a piece as counted tab: checked and engraved while it is typed."""

from django.shortcuts import redirect, render

from pieces.forms import TypedForm
from pieces.music.tab import check_tab
from pieces.music.tab.guide import GUIDE
from pieces.showing import draft_strips
from pieces.studio_count import count_of
from pieces.workup import add_piece
from studio.accounts.access import TEACHERS, allow
from studio.accounts.models import Studio

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
    shown = typed_so_far(form["text"].value(), request.actor.studio)
    return render(request, "pieces/piece_new.html", {"form": form, **shown})


@allow(TEACHERS, "POST")
def piece_check(request):
    """What the text says so far: its problems, and the bars that can be read."""
    shown = typed_so_far(request.POST.get("text", ""), request.actor.studio)
    return render(request, "pieces/_checked.html", shown)


@allow(TEACHERS)
def tab_guide(request):
    return render(request, "pieces/tab_guide.html", {"guide": GUIDE})


def typed_so_far(text: str, studio: Studio) -> dict:
    """What a typed piece shows beside its text: problems, and the bars that can be read."""
    score, problems = check_tab(text or "")
    strips = draft_strips(score, count_of(studio)) if score and score.bars else []
    return {"problems": problems, "strips": strips, "score": score}

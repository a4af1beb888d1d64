"""Bringing a piece as a file: look, answer what Fourbar asks, then keep it."""

import re

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from pieces.batches import LARGEST, open_batch
from pieces.bringing import Brought, look_at
from pieces.forms import BringForm, BroughtForm
from pieces.models import Batch, BroughtFile
from pieces.music.score import UnreadableScore
from pieces.music.tuning import TUNINGS
from pieces.workup import add_piece
from studio.accounts.access import TEACHERS, allow, theirs_or_404

NUMBER = re.compile(r"-?\d{1,2}")


@allow(TEACHERS, "GET", "POST")
def piece_bring(request):
    form = BringForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        file, *more = form.cleaned_data["file"]
        if more:
            files = form.cleaned_data["file"]
            opened = open_batch(request.actor.studio, files, by=request.actor.user, at=timezone.now())
            return redirect("batch", opened.pk)
        kept = _kept(request, file) if file.size <= LARGEST else None
        if kept is None:
            form.add_error("file", f"{file.name} is larger than any piece of music: {file.size // 1024} KB.")
        else:
            try:
                look_at(kept)
            except UnreadableScore as unreadable:
                kept.delete()
                form.add_error("file", [str(problem) for problem in unreadable.problems])
            else:
                return redirect("piece_brought", kept.pk)
    earlier = Batch.objects.of(request.actor.studio).open()
    return render(request, "pieces/piece_bring.html", {"form": form, "earlier": earlier})


@allow(TEACHERS, "GET", "POST")
def piece_brought(request, pk):
    kept = theirs_or_404(BroughtFile.objects, request.actor, pk=pk)
    try:
        brought = look_at(kept, **_answers(request.POST))
    except UnreadableScore as unreadable:
        messages.error(request, f"{kept.name} cannot be read any more. {unreadable}")
        return redirect("piece_bring")
    form = _asking(brought, request)
    if request.POST.get("do") == "keep" and form.is_valid() and brought.ready:
        made = add_piece(
            request.actor.studio,
            brought.titled(form.cleaned_data["title"]),
            by=request.actor.user,
            arrangement="melody alone" if brought.melody_alone else "as brought",
            rights=form.cleaned_data["rights"],
        )
        kept.delete()
        return redirect("arrangement", made.pk)
    return render(request, "pieces/piece_brought.html", {"form": form, "brought": brought, "kept": kept})


def _kept(request, file) -> BroughtFile:
    return BroughtFile.objects.create(
        studio=request.actor.studio, name=file.name[:160], data=file.read(), by=request.actor.user
    )


def _answers(data) -> dict:
    """The answers given so far. Part and key are numbers, judged once the file has been read with them."""
    numbers = {
        name: int(data[name]) for name in ("part", "semitones") if NUMBER.fullmatch(data.get(name, ""))
    }
    grid = {"grid": data["grid"]} if data.get("grid") in dict(BroughtForm.GRIDS) else {}
    tuning = {"tuning": data["tuning"]} if data.get("tuning") in TUNINGS else {}
    return numbers | grid | tuning


def _asking(brought: Brought, request) -> BroughtForm:
    """The form with only what this file leaves open: its parts, its keys, its grid."""
    initial = {"title": brought.title, "tuning": brought.tuning.name, "semitones": brought.semitones}
    asking = BroughtForm(request.POST or None, initial=initial)
    asking.fields["part"].choices = list(enumerate(brought.parts))
    asking.fields["semitones"].choices = [(0, "as written"), *((k.semitones, k.text) for k in brought.keys)]
    if not brought.parts:
        del asking.fields["part"]
    if not brought.keys:
        del asking.fields["semitones"]
    if not brought.from_midi:
        del asking.fields["grid"]
    return asking

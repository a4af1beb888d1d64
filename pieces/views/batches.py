"""A batch of files: its progress, its report, and what is to become of them."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from pieces import batches
from pieces.batch_page import batch_page
from pieces.batches import Answer
from pieces.models import Batch, Piece
from pieces.music.tuning import TUNINGS
from studio.accounts.access import TEACHERS, allow, theirs_or_404


@allow(TEACHERS, "GET", "POST")
def batch(request, pk):
    found = _batch(request, pk)
    do = request.POST.get("do")
    if do == "set" and request.POST.get("tuning") in ("", *TUNINGS):
        batches.set_on(found, request.POST["tuning"])
    elif do == "answer":
        batches.answer(found, _answers(request.POST, found))
    elif do == "keep":
        rights = request.POST.get("rights", "")
        made = batches.keep_all(
            found, rights=rights if rights in dict(Piece.RIGHTS) else "", by=request.actor.user
        )
        messages.success(request, f"{len(made)} piece{'s' if len(made) != 1 else ''} kept.")
    elif do == "leave":
        batches.leave_rest(found)
        return redirect("piece_list")
    if request.method == "POST":
        return redirect("batch", pk)
    return render(request, "pieces/batch.html", batch_page(found))


@allow(TEACHERS, "POST")
def batch_step(request, pk):
    """Read one file more; asked for again and again by the page while any waits."""
    found = _batch(request, pk)
    read = batches.read_next(found, timezone.now())
    if not request.htmx:
        return redirect("batch", pk)
    return render(request, "pieces/_batch.html", batch_page(found, nothing_read=read is None))


def _batch(request, pk) -> Batch:
    return theirs_or_404(Batch.objects.select_related("studio", "by"), request.actor, pk=pk)


def _answers(data, batch: Batch) -> dict[int, Answer]:
    """The answers that were given, each checked against what its file offers."""
    given = {}
    for file in batch.files.defer("data"):
        part, key = data.get(f"part-{file.pk}", ""), data.get(f"key-{file.pk}", "")
        parts = range(len(file.report.get("parts", ())))
        keys = {str(key["semitones"]) for key in file.report.get("keys", ())}
        if part == "all" and parts:
            given[file.pk] = Answer(every_part=True)
        elif part.isdecimal() and int(part) in parts:
            given[file.pk] = Answer(int(part))
        elif key in keys:
            given[file.pk] = Answer(file.part, int(key))
    return given

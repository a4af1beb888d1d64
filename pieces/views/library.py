"""The studio's pieces."""

from django.db.models import Count
from django.shortcuts import redirect, render

from pieces.forms import AboutForm
from pieces.models import Piece
from studio.accounts.access import TEACHERS, allow, theirs_or_404
from studio.accounts.audit import note


@allow(TEACHERS)
def piece_list(request):
    asked = request.GET.get("q", "").strip()
    pieces = Piece.objects.of(request.actor.studio).in_use().order_by("title")
    if asked:
        pieces = pieces.filter(title__icontains=asked)
    pieces = pieces.prefetch_related("arrangements__current").annotate(
        given=Count("arrangements__assignments", distinct=True)
    )
    return render(request, "pieces/piece_list.html", {"pieces": pieces, "asked": asked})


@allow(TEACHERS)
def piece(request, pk):
    """A piece shows its first arrangement."""
    found = theirs_or_404(Piece.objects, request.actor, pk=pk)
    return redirect("arrangement", found.arrangements.first().pk)


@allow(TEACHERS, "GET", "POST")
def piece_about(request, pk):
    found = theirs_or_404(Piece.objects, request.actor, pk=pk)
    form = AboutForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        form.save()
        if "rights" in form.changed_data:
            said = found.get_rights_display() or "not settled"
            note(found.studio_id, "rights", by=request.actor.user, piece=found.pk, more=said)
        return redirect("piece_list" if found.put_away else "piece", *([] if found.put_away else [found.pk]))
    return render(request, "pieces/piece_about.html", {"form": form, "piece": found})

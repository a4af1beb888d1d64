"""The Piece page: an arrangement engraved, with what was found in it."""

from django.http import HttpResponse
from django.shortcuts import redirect, render

from pieces.forms import SettingsForm
from pieces.handouts import piece_handout
from pieces.models import Arrangement
from pieces.showing import piece_page
from studio.accounts.access import TEACHERS, allow, theirs_or_404


@allow(TEACHERS)
def arrangement(request, pk):
    found = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)
    return render(
        request, "pieces/piece.html", piece_page(found, staff_shown=request.GET.get("staff") == "1")
    )


@allow(TEACHERS, "GET", "POST")
def arrangement_settings(request, pk):
    found = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)
    form = SettingsForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        form.save()
        return redirect("arrangement", found.pk)
    return render(request, "pieces/arrangement_settings.html", {"form": form, "arrangement": found})


@allow(TEACHERS, "GET", "POST")
def piece_pdf(request, pk):
    """The piece on paper; a piece whose rights are not settled is asked about first.

    ``?hand=left`` mirrors the shapes for a left-handed player.
    """
    found = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)
    if not found.piece.free_to_print and request.method != "POST":
        return render(request, "pieces/rights_caution.html", {"arrangement": found})
    left_handed = request.GET.get("hand") == "left"
    pdf = piece_handout(found, paper=request.actor.studio.paper, left_handed=left_handed)
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{found.piece.pk}.pdf"'},
    )

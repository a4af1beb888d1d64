"""The Piece page: an arrangement engraved, with what was found in it."""

from django.shortcuts import redirect, render

from pieces.forms import SettingsForm
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

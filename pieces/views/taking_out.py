"""One place from which a piece leaves the studio, on paper or as a file."""

from django.http import Http404, HttpResponse
from django.shortcuts import render

from pieces.models import Arrangement
from pieces.taking_out import WAYS
from pieces.taking_out import take_out as taken
from studio.accounts.access import TEACHERS, allow, theirs_or_404


@allow(TEACHERS)
def take_out(request, pk):
    return render(
        request, "pieces/take_out.html", {"arrangement": _arrangement(request, pk), "ways": WAYS.values()}
    )


@allow(TEACHERS, "GET", "POST")
def take_out_as(request, pk, ending):
    """The piece as a file; one whose rights are not settled is asked about first."""
    found = _arrangement(request, pk)
    if ending not in WAYS:
        raise Http404
    if not found.piece.free_to_print and request.method != "POST":
        return render(request, "pieces/rights_caution.html", {"arrangement": found, "way": WAYS[ending]})
    file = taken(found, ending)
    return HttpResponse(
        file.content,
        content_type=file.media,
        headers={"Content-Disposition": f'attachment; filename="{file.name}"'},
    )


def _arrangement(request, pk) -> Arrangement:
    return theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)

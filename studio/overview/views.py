"""The teacher's first page."""

from django.shortcuts import render

from studio.accounts.access import TEACHERS, allow
from studio.overview.overview_page import overview_page


@allow(TEACHERS)
def overview(request):
    return render(request, "overview/overview.html", overview_page(request.actor.studio))

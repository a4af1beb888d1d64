"""The teacher's first page, and what the owner decides for the studio."""

from django.contrib import messages
from django.shortcuts import redirect, render

from studio.accounts.access import OWNERS, TEACHERS, allow
from studio.accounts.models import Studio
from studio.overview.audit_page import audit_rows
from studio.overview.backups import last_backup, said_of_backup
from studio.overview.forms import StudioForm
from studio.overview.overview_page import overview_page


@allow(TEACHERS)
def overview(request):
    page = overview_page(request.actor.studio)
    if request.actor.role in OWNERS:
        page["backup"] = said_of_backup(last_backup(), request.actor.studio.now)
    return render(request, "overview/overview.html", page)


@allow(OWNERS)
def audit(request):
    """Who signed in, made a card, erased a learner or decided rights, of late."""
    return render(request, "overview/audit.html", {"rows": audit_rows(request.actor.studio)})


@allow(OWNERS, "GET", "POST")
def studio(request):
    """Name, time zone, paper and way of counting."""
    form = StudioForm(request.POST or None, instance=Studio.objects.get(pk=request.actor.studio.pk))
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Kept. Every bar is counted so from now on.")
        return redirect("studio")
    return render(request, "overview/studio.html", {"form": form}, status=422 if form.errors else 200)

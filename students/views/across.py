"""A piece across its learners."""

from django.shortcuts import render

from pieces.models import Arrangement
from students.across_page import across_page
from studio.accounts.access import TEACHERS, allow, theirs_or_404


@allow(TEACHERS)
def across(request, pk):
    """Which bars hold everyone up, and how many days each learner needed."""
    arrangement = theirs_or_404(Arrangement.objects.with_piece(), request.actor, pk=pk)
    return render(request, "students/across.html", across_page(arrangement))

"""Who teaches here, inviting somebody, and the page on which an invitation is taken."""

from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache

from studio.accounts import sessions
from studio.accounts.access import EVERYBODY, OWNERS, allow
from studio.accounts.forms import InviteForm, JoinForm
from studio.accounts.invitations import AlreadyUsed, account_of, invitation_of, invite, join
from studio.accounts.models import Invitation

WRONG = "This is not the password of your account. Check it; capitals count."


@never_cache
@allow(OWNERS, "GET", "POST")
def teachers(request):
    studio = request.actor.studio
    inviting = request.POST.get("do") == "invite"
    form = InviteForm(request.POST if inviting else None)
    page = {}
    if inviting and form.is_valid():
        data = form.cleaned_data
        made, token = invite(studio, data["email"], data["role"], by=request.actor.user)
        address = request.build_absolute_uri(reverse("invited", args=[token]))
        page, form = {"invited": made, "address": address}, InviteForm()
    elif request.POST.get("do") == "end":
        number = request.POST.get("invitation", "")
        Invitation.objects.of(studio).open().filter(pk=number if number.isdecimal() else 0).delete()
        return redirect("teachers")
    page |= {
        "form": form,
        "members": studio.memberships.select_related("user").order_by("role", "user__name"),
        "invitations": Invitation.objects.of(studio).open(),
    }
    return render(request, "accounts/teachers.html", page, status=422 if form.errors else 200)


@never_cache
@allow(EVERYBODY, "GET", "POST")
def invited(request, token):
    """Choose a name and password, or give the password of the account there is."""
    invitation = invitation_of(token)
    if invitation is None:
        return render(request, "accounts/invited_over.html", status=404)
    known = account_of(invitation) is not None
    form = JoinForm(request.POST or None, email=invitation.email, known=known)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            user = join(invitation, request, name=data.get("name", ""), password=data["password"])
        except AlreadyUsed:
            return render(request, "accounts/invited_over.html", status=404)
        if user:
            sessions.begin(request, user)
            request.session["studio"] = invitation.studio_id
            return redirect("home")
        form.add_error("password", WRONG)
    page = {"form": form, "invitation": invitation, "known": known}
    return render(request, "accounts/invited.html", page, status=422 if form.errors else 200)

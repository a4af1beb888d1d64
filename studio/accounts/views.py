"""Signing in and out, and the door that sends everybody to their own page."""

from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache

from studio.accounts import sessions
from studio.accounts.access import EVERYBODY, TEACHERS, Role, allow, forget_on_device
from studio.accounts.forms import SignInForm

FIRST_PAGES = {
    Role.OWNER: "overview",
    Role.TEACHER: "overview",
    Role.LEARNER: "today",
    Role.GUARDIAN: "progress",
    Role.STRANGER: "no_studio",
    Role.VISITOR: "sign_in",
}


@allow(EVERYBODY)
def home(request):
    return redirect(FIRST_PAGES[request.actor.role])


@allow(EVERYBODY, "GET", "POST")
def sign_in(request):
    form = SignInForm(request, request.POST or None)
    if request.method == "POST" and form.is_valid():
        sessions.begin(request, form.get_user())
        return redirect(_next(request))
    return render(request, "accounts/sign_in.html", {"form": form, "next": request.GET.get("next", "")})


@allow(EVERYBODY, "POST")
def sign_out(request):
    learner = request.actor.role is Role.LEARNER
    logout(request)
    response = redirect("home")
    return forget_on_device(response) if learner else response


@never_cache
@allow(TEACHERS, "GET", "POST")
def my_sessions(request):
    """Where I am signed in, and signing out there."""
    user, here = request.actor.user, request.session.session_key
    if request.method == "POST":
        number = request.POST.get("session", "")
        ended = sessions.end(user, only=int(number)) if number.isdecimal() else sessions.end(user, but=here)
        messages.success(request, f"Signed out in {ended} place{'' if ended == 1 else 's'}.")
        return redirect("my_sessions")
    page = {"sessions": sessions.open_sessions(user), "here": here}
    return render(request, "accounts/sessions.html", page)


@allow({Role.STRANGER})
def no_studio(request):
    return render(request, "accounts/no_studio.html")


@allow(EVERYBODY)
def health(request):
    return HttpResponse("ok", content_type="text/plain")


def _next(request):
    address = request.POST.get("next", "")
    safe = url_has_allowed_host_and_scheme(address, {request.get_host()}, require_https=request.is_secure())
    return address if safe else "home"

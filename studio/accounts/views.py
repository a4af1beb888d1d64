"""Signing in and out, and the door that sends everybody to their own page."""

from django.contrib.auth import login, logout
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme

from studio.accounts.access import EVERYBODY, Role, allow, forget_on_device
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
        request.session.flush()
        login(request, form.get_user())
        return redirect(_next(request))
    return render(request, "accounts/sign_in.html", {"form": form, "next": request.GET.get("next", "")})


@allow(EVERYBODY, "POST")
def sign_out(request):
    learner = request.actor.role is Role.LEARNER
    logout(request)
    response = redirect("home")
    return forget_on_device(response) if learner else response


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

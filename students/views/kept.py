"""What a device needs to play without a network, and how it sends what was ticked then."""

import json
from hashlib import sha256
from pathlib import Path

from django.contrib.staticfiles import finders
from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.gzip import gzip_page

from students import practice
from students.kept_week import kept_week
from students.models import Student
from students.sent import MOST_AT_ONCE, Clock, device_mark, keep_sent
from studio.accounts.access import EVERYBODY, LEARNERS, allow, theirs_or_404

SHEETS = ("tokens", "parts", "pages", "today")
MODULES = (
    "today",
    "kept",
    "loop",
    "player",
    "metronome",
    "strings",
    "highlight",
    "queue",
    "device",
)
FONTS = (
    "besley-latin-500-normal",
    "besley-latin-800-normal",
    "libre-franklin-latin-400-normal",
    "libre-franklin-latin-700-normal",
)
ICONS = ((192, "any"), (512, "any"), (512, "maskable"))


def device_of(request) -> dict:
    """What a page's script needs to keep the week and to send what was ticked."""
    return {
        "learner": device_mark(request.session["card"]),
        "today": reverse("today"),
        "worker": reverse("today_worker"),
        "week": reverse("kept_week"),
        "ticks": reverse("ticks"),
    }


@allow(EVERYBODY)
def worker(request):
    """The service worker, with the names of the files it keeps; served here so that it covers Today."""
    files = kept_files()
    source = Path(finders.find("studio/worker.js")).read_text(encoding="utf-8")
    named = {
        "today": reverse("today"),
        "page": reverse("kept_page"),
        "files": files,
        "version": sha256(json.dumps([files, source]).encode()).hexdigest()[:12],
    }
    response = HttpResponse(f"const NAMED = {json.dumps(named)};\n{source}", content_type="text/javascript")
    response["Cache-Control"] = "no-cache"
    return response


def kept_files() -> list[str]:
    """Addresses of all that the page without a network is made of."""
    names = [f"{name}.css" for name in SHEETS] + [f"{name}.js" for name in MODULES]
    names += [f"fonts/{name}.woff2" for name in FONTS] + ["icon.svg"]
    return [static(f"studio/{name}") for name in names]


@allow(EVERYBODY)
def app_manifest(request):
    """What a phone needs to set Today among its apps."""
    icons = [
        {
            "src": static(f"studio/icon-{size}{'-maskable' if purpose == 'maskable' else ''}.png"),
            "sizes": f"{size}x{size}",
            "type": "image/png",
            "purpose": purpose,
        }
        for size, purpose in ICONS
    ]
    described = {
        "id": reverse("today"),
        "name": "Fourbar",
        "short_name": "Fourbar",
        "start_url": reverse("today"),
        "scope": reverse("home"),
        "display": "standalone",
        "orientation": "any",
        "background_color": "#FAFBF8",
        "theme_color": "#FAFBF8",
        "icons": icons,
    }
    return JsonResponse(described, content_type="application/manifest+json")


@allow(LEARNERS)
def kept_page(request):
    """The page that a device fills from what it keeps. It says nothing of anybody."""
    return render(request, "students/today_kept.html")


@allow(LEARNERS)
@never_cache
@gzip_page
def week(request):
    """The next seven days of the learner who asks."""
    student = theirs_or_404(Student.objects, request.actor, pk=request.actor.student_id)
    today = request.actor.studio.today
    practice.keep_planned(student, today)
    return JsonResponse({**kept_week(student, today), "device": device_of(request)})


@allow(LEARNERS, "POST")
@never_cache
def ticks(request):
    """Keep ticks that a device sends, once each; see ``students.sent``."""
    try:
        sent = json.loads(request.body)["ticks"]
    except (ValueError, KeyError, TypeError):
        sent = None
    if not isinstance(sent, list) or len(sent) > MOST_AT_ONCE:
        return JsonResponse({"fault": f"Send a list of at most {MOST_AT_ONCE} ticks."}, status=422)
    clock = Clock(timezone.now(), request.actor.studio.today)
    return JsonResponse(keep_sent(request.actor.student, device_mark(request.session["card"]), sent, clock))

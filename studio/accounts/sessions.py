"""Where a teacher is signed in, and signing out elsewhere."""

from django.contrib.auth import login
from django.contrib.sessions.models import Session
from django.utils import timezone

from studio.accounts.audit import note
from studio.accounts.models import SignedIn, User

BACKEND = "django.contrib.auth.backends.ModelBackend"
# In this order: Edge and Opera call themselves Chrome as well, and Chrome calls itself Safari.
BROWSERS = (
    ("Edg", "Edge"),
    ("OPR", "Opera"),
    ("Firefox", "Firefox"),
    ("Chrome", "Chrome"),
    ("Safari", "Safari"),
)
SYSTEMS = (
    ("Android", "Android"),
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Windows", "Windows"),
    ("Mac OS", "Mac"),
    ("Linux", "Linux"),
)


def begin(request, user: User) -> None:
    """Sign a teacher in, on a session that is new, and remember where."""
    request.session.flush()
    login(request, user, backend=BACKEND)
    request.session.save()
    SignedIn.objects.create(
        user=user,
        session_key=request.session.session_key,
        browser=browser_of(request.headers.get("User-Agent", "")),
    )
    for studio_id in user.memberships.values_list("studio_id", flat=True):
        note(studio_id, "signed in", by=user)


def open_sessions(user: User) -> list[SignedIn]:
    """Where ``user`` is signed in now, newest first; what ended is forgotten."""
    alive = Session.objects.filter(expire_date__gt=timezone.now()).values("session_key")
    user.signed_in.exclude(session_key__in=alive).delete()
    return list(user.signed_in.all())


def end(user: User, *, only: int | None = None, but: str | None = None) -> int:
    """Sign ``user`` out in the session with number ``only``, or in all but the one with key ``but``."""
    chosen = user.signed_in.exclude(session_key=but) if only is None else user.signed_in.filter(pk=only)
    keys = list(chosen.values_list("session_key", flat=True))
    Session.objects.filter(session_key__in=keys).delete()
    chosen.delete()
    return len(keys)


def browser_of(agent: str) -> str:
    """What a browser calls itself, in a few words.

    >>> browser_of("Mozilla/5.0 (X11; Linux x86_64; rv:130.0) Gecko/20100101 Firefox/130.0")
    'Firefox on Linux'
    >>> browser_of("curl/8")
    'a browser'
    """
    browser = next((name for mark, name in BROWSERS if mark in agent), "a browser")
    system = next((name for mark, name in SYSTEMS if mark in agent), "")
    return f"{browser} on {system}" if system else browser

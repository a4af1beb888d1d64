"""Who may see what: the only judge.

Every view names its roles and methods with ``allow``; a view without it is caught
by the test that walks the URLconf. A role that is not named gets 403, a visitor who
is not signed in is asked to sign in, and what belongs to another studio is not
found (404), because every query starts with ``.of(actor.studio)``.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import wraps

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.db.models import Model
from django.http import HttpResponseNotAllowed
from django.shortcuts import get_object_or_404, redirect

from studio.accounts.models import Studio, User


class Role(StrEnum):
    OWNER = "owner"
    TEACHER = "teacher"
    LEARNER = "learner"
    GUARDIAN = "guardian"
    STRANGER = "stranger"  # signed in, but a member of no studio
    VISITOR = "visitor"  # not signed in


TEACHERS = frozenset({Role.OWNER, Role.TEACHER})
OWNERS = frozenset({Role.OWNER})
LEARNERS = frozenset({Role.LEARNER})
FAMILY = frozenset({Role.LEARNER, Role.GUARDIAN})
EVERYBODY = frozenset(Role)


@dataclass(frozen=True, slots=True)
class Actor:
    """Who is asking. ``student`` is the learner's row for a learner or guardian, ``user`` a teacher's."""

    role: Role
    studio: Studio | None = None
    user: User | None = None
    student: Model | None = None

    @property
    def student_id(self) -> int | None:
        return self.student and self.student.pk


def allow(roles, *methods):
    """Let only ``roles`` use a view, and only by ``methods`` (GET brings HEAD with it)."""
    permitted = frozenset(methods or ("GET",))

    def decorate(view):
        @wraps(view)
        def judged(request, *args, **kwargs):
            verdict = _refusal(request, roles, permitted)
            return verdict or view(request, *args, **kwargs)

        judged.roles, judged.methods = frozenset(roles), permitted
        return judged

    return decorate


def _refusal(request, roles, methods):
    if request.actor.role not in roles:
        if request.actor.role is not Role.VISITOR:
            raise PermissionDenied
        if roles <= FAMILY:
            return redirect("card_sign_in")
        return redirect_to_login(request.get_full_path())
    method = "GET" if request.method == "HEAD" else request.method
    if method not in methods:
        return HttpResponseNotAllowed(sorted(methods))
    return None


def theirs_or_404(queryset, actor: Actor, **lookup):
    """One row of the actor's own studio; for a learner or guardian only the learner's own.

    Raises Http404 for anything else, so that the existence of foreign rows never shows.
    """
    rows = queryset.of(actor.studio)
    if actor.student_id is not None:
        rows = rows.belonging_to(actor.student_id)
    return get_object_or_404(rows, **lookup)


def forget_on_device(response):
    """Have the browser drop what its device kept of a learner: pages, the week, ticks not sent."""
    response["Clear-Site-Data"] = '"cache", "storage"'
    return response


def actor_for_templates(request):
    """Context processor: ``actor`` and ``studio`` in every template."""
    actor = getattr(request, "actor", None)
    return {"actor": actor, "studio": actor and actor.studio}

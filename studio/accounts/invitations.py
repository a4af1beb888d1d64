"""How a teacher joins a studio: by a link that an owner hands over, once, within a week.

The link carries a 128-bit token; only its SHA-256 is kept. Fourbar sends no mail, so
the owner passes the link on as they like.
"""

import hashlib
import secrets
from datetime import timedelta

from django.contrib.auth import authenticate
from django.db import transaction
from django.utils import timezone

from studio.accounts.audit import note
from studio.accounts.models import Invitation, Membership, Studio, User

LIFE = timedelta(days=7)


class AlreadyUsed(ValueError):
    """The invitation was used a moment ago, or is over."""


def invite(studio: Studio, email: str, role: str, *, by: User | None) -> tuple[Invitation, str]:
    """End what invited this address before, and make the next; return it with its token, seen here only."""
    token = secrets.token_urlsafe(16)
    email = User.objects.normalize_email(email.strip()).lower()
    with transaction.atomic():
        Invitation.objects.of(studio).open().filter(email=email).delete()
        made = Invitation.objects.create(
            studio=studio,
            email=email,
            role=role,
            by=by,
            digest=_digest(token),
            expires=timezone.now() + LIFE,
        )
    return made, token


def invitation_of(token: str) -> Invitation | None:
    """The invitation that ``token`` still opens."""
    return Invitation.objects.open().select_related("studio").filter(digest=_digest(token)).first()


def account_of(invitation: Invitation) -> User | None:
    """Whoever has an account by the invited address already."""
    return User.objects.filter(email=invitation.email).first()


def join(invitation: Invitation, request, *, name: str, password: str) -> User | None:
    """Use the invitation: make the account, or take the one there is if ``password`` opens it.

    None where the password is wrong; then the invitation stays open. Raises ``AlreadyUsed``.
    """
    user = account_of(invitation)
    if user and not authenticate(request, username=user.email, password=password):
        return None
    with transaction.atomic():
        if not Invitation.objects.open().filter(pk=invitation.pk).update(used=timezone.now()):
            raise AlreadyUsed
        user = user or User.objects.create_user(invitation.email, password, name=name)
        Membership.objects.get_or_create(
            studio=invitation.studio, user=user, defaults={"role": invitation.role}
        )
        note(invitation.studio_id, "joined", by=user)
    return user


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()

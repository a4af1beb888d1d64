"""Sign-in cards: how a child without e-mail gets in, and how a lost card is ended.

A card's link carries a 128-bit token in its fragment, which browsers do not send;
the page posts it. Only SHA-256 of a token or code is kept. Guessing is slowed by
address; no learner is ever locked out.
"""

import hashlib
import secrets
from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from students.models import FailedSignIn, SignInCard, SignInCode
from studio.accounts.audit import note

CODE_LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"  # none that is read as another
CODE_LENGTH = 8
CODE_LIFE = timedelta(hours=24)
TRIES, WITHIN = 20, timedelta(minutes=10)
SHARED_TABLET_SECONDS = 2 * 60 * 60


def new_card(student, holder="learner", *, by=None) -> tuple[SignInCard, str]:
    """End the learner's cards of this kind and make the next; return it with its token.

    The token is seen here only, so print it now.
    """
    token = secrets.token_urlsafe(16)
    with transaction.atomic():
        end_cards(student, holder)
        card = SignInCard.objects.create(
            studio_id=student.studio_id, student=student, holder=holder, digest=_digest(token)
        )
        note(student.studio_id, "card", by=by, learner=student.pk, more=holder)
    return card, token


def end_cards(student, holder="learner"):
    """End the cards of a learner, and so every session that began with one."""
    cards = SignInCard.objects.in_force().filter(student=student, holder=holder)
    cards.update(ended=timezone.now())


def new_code(card) -> str:
    """A code for one sign-in within a day, for a learner whose device has no camera."""
    code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
    SignInCode.objects.create(
        studio_id=card.studio_id, card=card, digest=_digest(code), expires=timezone.now() + CODE_LIFE
    )
    return code


def card_of_token(token: str) -> SignInCard | None:
    """The card in force that ``token`` belongs to."""
    cards = SignInCard.objects.in_force().select_related("student__studio")
    return cards.filter(digest=_digest(token)).first()


def use_code(code: str) -> SignInCard | None:
    """The card that ``code`` opens; a code opens it once."""
    tidy = "".join(code.upper().split()).replace("-", "")
    now = timezone.now()
    with transaction.atomic():
        fresh = SignInCode.objects.filter(digest=_digest(tidy), used=None, expires__gt=now)
        if not fresh.update(used=now):
            return None
    found = SignInCode.objects.select_related("card__student__studio").get(digest=_digest(tidy))
    return found.card if found.card.ended is None else None


def sign_in(request, card, *, shared_tablet=False):
    """Begin a session that lasts as long as the card does, or two hours on a shared tablet."""
    request.session.flush()
    request.session["card"] = card.pk
    if shared_tablet:
        request.session.set_expiry(SHARED_TABLET_SECONDS)
    SignInCard.objects.filter(pk=card.pk).update(last_used=timezone.now())
    note(card.studio_id, "signed in", learner=card.student_id, more=card.holder)


def too_many_tries(address: str) -> bool:
    """Whether this address has guessed too often of late."""
    since = timezone.now() - WITHIN
    return FailedSignIn.objects.filter(address=address, at__gt=since).count() >= TRIES


def note_failure(address: str):
    """Remember a token or code that was not known, and forget the old ones."""
    FailedSignIn.objects.filter(at__lt=timezone.now() - timedelta(days=1)).delete()
    FailedSignIn.objects.create(address=address)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()

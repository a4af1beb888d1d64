"""What happens to every request: who is asking, and what the browser may load."""

from django.utils.functional import SimpleLazyObject

from students.models import SignInCard
from studio.accounts.access import Actor, Role, forget_on_device
from studio.accounts.models import Membership

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "media-src 'self' blob:",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)


def content_security(get_response):
    """Nothing inline and nothing from elsewhere: the browser refuses it even if we slip."""

    def handle(request):
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        response.headers.setdefault(
            "Permissions-Policy", "camera=(), microphone=(), geolocation=(), payment=(), usb=()"
        )
        return response

    return handle


def who_is_asking(get_response):
    """Set ``request.actor``, read from the database anew at every request.

    A membership or card that ended a moment ago is refused here, without any
    session having to be hunted down. A device whose card ended is told to keep nothing.
    """

    def handle(request):
        request.actor = SimpleLazyObject(lambda: _actor(request))
        response = get_response(request)
        return forget_on_device(response) if getattr(request, "card_ended", False) else response

    return handle


def _actor(request) -> Actor:
    if card_id := request.session.get("card"):
        card = SignInCard.objects.in_force().filter(pk=card_id).select_related("student__studio").first()
        if card:
            return Actor(Role(card.holder), card.student.studio, student=card.student)
        request.session.flush()
        request.card_ended = True
        return Actor(Role.VISITOR)
    if not request.user.is_authenticated:
        return Actor(Role.VISITOR)
    memberships = Membership.objects.filter(user=request.user).select_related("studio").order_by("pk")
    chosen = request.session.get("studio")
    membership = next((m for m in memberships if m.studio_id == chosen), None) or next(
        iter(memberships), None
    )
    if membership is None:
        return Actor(Role.STRANGER, user=request.user)
    return Actor(Role(membership.role), membership.studio, user=request.user)

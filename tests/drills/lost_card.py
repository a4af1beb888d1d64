"""A lost card: once a new one is made, whatever the old one opened is shut."""

from contextlib import contextmanager
from unittest import mock

from django.test import Client
from django.urls import reverse

from students.cards import new_card, new_code
from students.models import SignInCard, Tick
from students.models import SignInCardQuerySet as Cards
from tests.drills.drill import Drill, Outcome, faults
from tests.drills.people import people

PAGES = ("today", "kept_page", "kept_week", "my_pieces", "progress", "report_pdf")


def run(short: bool) -> Outcome:
    made = people("Lost Card Strings", 1)
    student, token = made.learners[0].student, made.learners[0].token
    finder, guardian = _signed_in(token), _signed_in(new_card(student, "guardian")[1])
    open_before = sum(finder.get(reverse(name)).status_code == 200 for name in PAGES[:5])
    code = new_code(SignInCard.objects.in_force().get(student=student, holder="learner"))

    teacher = Client()
    teacher.force_login(made.owner, backend="django.contrib.auth.backends.ModelBackend")
    reissued = teacher.post(reverse("card_new", args=[student.pk])).status_code == 200

    first = finder.get(reverse("today"))
    told_to_forget = '"storage"' in first.headers.get("Clear-Site-Data", "")
    refused = [first, *(_signed_in(token, again=finder).get(reverse(name)) for name in PAGES)]
    refused += [_signed_in(token).get(reverse(name)) for name in PAGES]
    by_code = Client()
    by_code.post(reverse("card_sign_in"), {"code": code})
    refused += [by_code.get(reverse("today"))]
    refused += [finder.post(reverse("ticks"), {"ticks": []}, content_type="application/json")]
    got_in = sum(answer.status_code != 302 for answer in refused)
    figures = (
        f"{open_before} pages open before; after the new card {len(refused)} requests by the old session, "
        f"token and code, {got_in} let in; the device is {'' if told_to_forget else 'not '}told to forget"
    )
    return Outcome(
        figures,
        faults(
            requests_let_in=got_in,
            pages_shut_before=5 - open_before,
            cards_not_reissued=int(not reissued),
            devices_left_with_their_week=int(not told_to_forget),
            guardians_shut_out=int(guardian.get(reverse("progress")).status_code != 200),
            ticks_written=Tick.objects.of(made.studio).count(),
        ),
    )


def _signed_in(token: str, again: Client | None = None) -> Client:
    client = again or Client()
    client.post(reverse("card_sign_in"), {"token": token})
    return client


@contextmanager
def ended_cards_are_in_force():
    with mock.patch.object(Cards, "in_force", lambda rows: rows.all()):
        yield


@contextmanager
def a_new_card_leaves_the_old_one():
    with mock.patch("students.cards.end_cards", lambda student, holder: None):
        yield


DRILL = Drill(
    "card",
    "a lost card opens nothing",
    run,
    {
        "ended cards are in force": ended_cards_are_in_force,
        "a new card leaves the old one": a_new_card_leaves_the_old_one,
    },
)

"""Who gets in, and how a card lets a child in."""

import pytest
from django.urls import reverse

from students import cards
from students.models import SignInCard

pytestmark = pytest.mark.django_db


def test_a_visitor_is_asked_to_sign_in(client):
    assert client.get(reverse("overview")).headers["Location"].startswith(reverse("sign_in"))


def test_a_teacher_signs_in_with_the_right_password(client, cast):
    form = {"username": "ines@lantern.example", "password": "a long enough password"}
    assert client.post(reverse("sign_in"), form).headers["Location"] == reverse("home")
    assert client.get(reverse("overview")).status_code == 200


def test_a_wrong_password_is_said_beside_the_form(client, cast):
    form = {"username": "ines@lantern.example", "password": "not this one at all"}
    page = client.post(reverse("sign_in"), form)
    assert page.status_code == 200
    assert "do not belong together" in page.content.decode()


def test_a_card_signs_its_learner_in(client, cast):
    _card, token = cards.new_card(cast.learner)
    page = client.post(reverse("card_sign_in"), {"token": token})
    assert page.headers["Location"] == reverse("home")
    assert client.get(reverse("today")).status_code == 200


def test_only_a_digest_of_the_token_is_kept(cast):
    card, token = cards.new_card(cast.learner)
    assert token not in "".join(str(value) for value in SignInCard.objects.filter(pk=card.pk).values_list())


def test_a_new_card_ends_the_sessions_of_the_old_one(client, cast):
    _card, token = cards.new_card(cast.learner)
    client.post(reverse("card_sign_in"), {"token": token})
    cards.new_card(cast.learner)
    assert client.get(reverse("today")).headers["Location"] == reverse("card_sign_in")


def test_a_code_works_once(client, cast):
    card, _token = cards.new_card(cast.learner)
    code = cards.new_code(card)
    spoken = f"{code[:4].lower()} {code[4:]}"
    assert client.post(reverse("card_sign_in"), {"code": spoken}).status_code == 302
    client.post(reverse("sign_out"))
    again = client.post(reverse("card_sign_in"), {"code": spoken})
    assert "used already" in again.content.decode()


def test_guessing_is_slowed_by_address_and_no_learner_is_locked_out(client, cast):
    for _ in range(cards.TRIES):
        client.post(reverse("card_sign_in"), {"code": "AAAAAAAA"})
    assert "Wait ten minutes" in client.post(reverse("card_sign_in"), {"code": "AAAAAAAA"}).content.decode()
    _card, token = cards.new_card(cast.learner)
    elsewhere = client.post(reverse("card_sign_in"), {"token": token}, REMOTE_ADDR="192.0.2.7")
    assert elsewhere.headers["Location"] == reverse("home")


def test_the_button_of_a_card_says_whose_it_is(client, cast):
    _card, token = cards.new_card(cast.learner)
    assert client.post(reverse("card_whose"), {"token": token}).json() == {"name": "Juno Pell"}


def test_a_guardian_may_look_and_not_practise(sign_in, cast):
    guardian = sign_in(student=cast.learner, holder="guardian")
    assert guardian.get(reverse("progress")).status_code == 200
    assert guardian.get(reverse("today")).status_code == 403


def test_another_studios_learner_is_not_found(sign_in, cast):
    owner = sign_in(cast.owner)
    assert owner.get(reverse("student", args=[cast.foreign_learner.pk])).status_code == 404


def test_whoever_left_the_studio_is_told_so(sign_in, cast):
    client = sign_in(cast.homeless)
    assert client.get("/", follow=True).status_code == 200
    assert client.get(reverse("overview")).status_code == 403


def test_pages_let_the_browser_load_nothing_from_elsewhere(client):
    policy = client.get(reverse("sign_in")).headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe-inline" not in policy

"""A teacher sees where they are signed in, and signs out there at once."""

import pytest
from django.test import Client
from django.urls import reverse

from studio.accounts.models import SignedIn

pytestmark = pytest.mark.django_db

FIREFOX = "Mozilla/5.0 (Windows NT 10.0; rv:130.0) Gecko/20100101 Firefox/130.0"
PHONE = "Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 Chrome/126.0 Mobile Safari/537.36"


def signed_in(user, agent):
    client = Client(headers={"User-Agent": agent})
    client.post(reverse("sign_in"), {"username": user.email, "password": "a long enough password"})
    assert client.get(reverse("overview")).status_code == 200
    return client


def test_each_browser_is_listed_and_none_of_another_teacher(cast):
    desk = signed_in(cast.owner, FIREFOX)
    signed_in(cast.owner, PHONE)
    signed_in(cast.teacher, PHONE)
    page = desk.get(reverse("my_sessions")).content.decode()
    assert "Firefox on Windows" in page
    assert page.count("Chrome on Android") == 2  # once to read, once for the button's name


def test_signing_out_elsewhere_ends_the_other_session_at_once(cast):
    desk, phone = signed_in(cast.owner, FIREFOX), signed_in(cast.owner, PHONE)
    number = SignedIn.objects.get(browser="Chrome on Android").pk
    desk.post(reverse("my_sessions"), {"session": number})
    assert phone.get(reverse("overview")).status_code == 302
    assert desk.get(reverse("overview")).status_code == 200


def test_all_others_can_be_ended_in_one_go(cast):
    desk = signed_in(cast.owner, FIREFOX)
    others = [signed_in(cast.owner, PHONE) for _ in range(3)]
    page = desk.post(reverse("my_sessions"), {"session": "others"}, follow=True)
    assert "Signed out in 3 places" in page.content.decode()
    assert {other.get(reverse("overview")).status_code for other in others} == {302}
    assert desk.get(reverse("overview")).status_code == 200


def test_nobody_signs_another_teacher_out(cast):
    mine, theirs = signed_in(cast.owner, FIREFOX), signed_in(cast.teacher, PHONE)
    number = SignedIn.objects.get(user=cast.teacher).pk
    mine.post(reverse("my_sessions"), {"session": number})
    assert theirs.get(reverse("overview")).status_code == 200


def test_a_session_that_was_left_is_not_listed_any_more(cast):
    desk, phone = signed_in(cast.owner, FIREFOX), signed_in(cast.owner, PHONE)
    phone.post(reverse("sign_out"))
    assert "Chrome" not in desk.get(reverse("my_sessions")).content.decode()
    assert SignedIn.objects.filter(user=cast.owner).count() == 1

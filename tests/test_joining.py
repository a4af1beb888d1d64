"""A teacher joins by an invitation: once, within a week, with a password that is worth something."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from studio.accounts import invitations
from studio.accounts.invitations import AlreadyUsed, invite
from studio.accounts.models import Invitation, Membership, Studio, User

pytestmark = pytest.mark.django_db

GOOD = {"name": "Mara Finch", "password": "seven slow barre chords"}


@pytest.fixture
def address(cast):
    _made, token = invite(cast.studio, "mara@lantern.example", "teacher", by=cast.owner)
    return reverse("invited", args=[token])


def test_an_owner_makes_an_invitation_and_its_address_is_shown_once(cast, sign_in):
    owner = sign_in(cast.owner)
    form = {"do": "invite", "email": "Mara@Lantern.example", "role": "teacher"}
    page = owner.post(reverse("teachers"), form)
    assert "/invited/" in page.content.decode()
    again = owner.get(reverse("teachers")).content.decode()
    assert "/invited/" not in again
    assert "mara@lantern.example" in again
    assert page.headers["Cache-Control"].startswith("max-age=0")


def test_whoever_takes_it_teaches_at_the_studio(cast, client, address):
    assert client.post(address, GOOD).headers["Location"] == reverse("home")
    assert client.get(reverse("overview")).status_code == 200
    assert client.get(reverse("studio")).status_code == 403
    membership = Membership.objects.get(user__email="mara@lantern.example")
    assert (membership.studio, membership.role) == (cast.studio, "teacher")


def test_it_works_once(client, address):
    client.post(address, GOOD)
    assert Client().get(address).status_code == 404
    assert "is over" in Client().post(address, GOOD).content.decode()
    assert User.objects.filter(email="mara@lantern.example").count() == 1


def test_two_at_the_same_moment_are_one(address, rf):
    token = address.split("/")[2]
    invitation = invitations.invitation_of(token)
    invitations.join(invitation, rf.post(address), **GOOD)
    User.objects.all().delete()
    with pytest.raises(AlreadyUsed):
        invitations.join(invitation, rf.post(address), **GOOD)


def test_it_is_over_after_a_week(client, address):
    Invitation.objects.update(expires=timezone.now() - timedelta(seconds=1))
    assert client.get(address).status_code == 404
    assert timedelta(days=7) == invitations.LIFE


def test_only_a_digest_is_kept(address):
    token = address.split("/")[2]
    assert token not in str(list(Invitation.objects.values_list()))


def test_an_owner_ends_an_invitation_of_the_own_studio_only(cast, sign_in, client, address):
    number = Invitation.objects.get().pk
    sign_in(cast.foreigner).post(reverse("teachers"), {"do": "end", "invitation": number})
    assert client.get(address).status_code == 200
    sign_in(cast.owner).post(reverse("teachers"), {"do": "end", "invitation": number})
    assert client.get(address).status_code == 404


def test_a_second_invitation_ends_the_first(cast, client, address):
    invite(cast.studio, "mara@lantern.example", "owner", by=cast.owner)
    assert client.get(address).status_code == 404


@pytest.mark.parametrize(
    ("password", "said"),
    [
        ("short", "at least 12"),
        ("eleven char", "at least 12"),
        ("1q2w3e4r5t6y", "too common"),
        ("123456789012", "easily guessed"),
        ("password2026!", "easily guessed"),
        ("monkeymonkey", "easily guessed"),
        ("abababababab", "easily guessed"),
        ("mara@lantern.example", "too similar"),
    ],
)
def test_a_weak_password_is_refused_in_words(client, address, password, said):
    page = client.post(address, {**GOOD, "password": password})
    assert page.status_code == 422
    assert said in page.content.decode()
    assert client.get(address).status_code == 200


def test_a_password_is_taken_as_typed_with_no_rule_for_its_letters(client, address):
    """ASVS 5.0 (from memory): 6.2.5 no rules of composition, 6.2.8 unchanged, 6.2.9 at least 64 characters."""
    typed = "  ünter den dächern " + "a" * 60
    client.post(address, {**GOOD, "password": typed})
    assert User.objects.get(email="mara@lantern.example").check_password(typed)


def test_whoever_has_an_account_joins_by_its_password(cast, client):
    _made, token = invite(cast.studio, cast.foreigner.email, "teacher", by=cast.owner)
    address = reverse("invited", args=[token])
    wrong = client.post(address, {"password": "not this one at all"})
    assert "not the password of your account" in wrong.content.decode()
    assert Membership.objects.filter(user=cast.foreigner).count() == 1
    client.post(address, {"password": "a long enough password"})
    assert Membership.objects.filter(user=cast.foreigner).count() == 2
    assert cast.studio.name in client.get(reverse("overview")).content.decode()


def test_a_studio_is_opened_by_a_command_that_invites_its_owner(client):
    said = StringIO()
    call_command("open_studio", "Harbour Strings", "lea@harbour.example", stdout=said)
    address = said.getvalue().strip()
    assert address.startswith("http://")
    client.post(address[address.index("/invited/") :], GOOD)
    assert client.get(reverse("studio")).status_code == 200  # an owner's page
    with pytest.raises(CommandError, match="time zone"):
        call_command("open_studio", "Harbour Strings", "lea@harbour.example", time_zone="Moon/Sea")
    assert Studio.objects.filter(name="Harbour Strings").count() == 1

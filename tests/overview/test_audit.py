"""What happened can be looked up by the owner, in words, and an erased learner's name is gone from it."""

from datetime import UTC, datetime

import pytest
from django.test import Client
from django.urls import reverse

from pieces.music.tab import read_tab
from pieces.workup import add_piece
from students.cards import new_card
from studio.accounts.audit import note
from studio.accounts.models import AuditRow
from studio.overview.audit_page import audit_rows
from studio.overview.rights import erase_student
from tests.tune import TUNE

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def told(studio):
    return [(row["who"], row["what"]) for row in audit_rows(studio)]


def test_a_sign_in_is_noted_with_who_it_was(cast):
    Client().post(reverse("sign_in"), {"username": cast.teacher.email, "password": "a long enough password"})
    assert told(cast.studio) == [("Tam Ruddock", "signed in")]
    assert told(cast.elsewhere) == []


def test_a_wrong_password_is_no_sign_in(cast):
    Client().post(reverse("sign_in"), {"username": cast.teacher.email, "password": "not this one at all"})
    assert told(cast.studio) == []


def test_a_card_is_noted_with_who_made_it_and_its_holder_when_it_is_used(cast, sign_in):
    sign_in(cast.teacher).post(reverse("card_new", args=[cast.learner.pk]), {"holder": "guardian"})
    assert told(cast.studio) == [("Tam Ruddock", "made a card for the family of Juno Pell")]
    _card, token = new_card(cast.learner)
    Client().post(reverse("card_sign_in"), {"token": token})
    assert told(cast.studio)[0] == ("Juno Pell", "signed in")


def test_rights_are_noted_when_they_change_and_not_else(cast, sign_in):
    piece = add_piece(cast.studio, read_tab(TUNE), rights="").piece
    owner, address = sign_in(cast.owner), reverse("piece_about", args=[piece.pk])
    for _ in range(2):
        owner.post(address, {"title": piece.title, "rights": "public"})
    (row,) = told(cast.studio)
    assert row[0] == "Ines Calder"
    assert row[1].startswith(f"decided the rights of {piece.title}: ")


def test_after_an_erasure_a_number_is_left_and_no_name(cast, sign_in):
    new_card(cast.learner, by=cast.owner)
    number = cast.learner.pk
    erase_student(cast.learner)
    assert told(cast.studio) == [
        ("At the studio’s machine", f"erased learner {number}"),
        ("Ines Calder", f"made a card for learner {number}, erased since"),
    ]
    assert "Juno" not in str(list(AuditRow.objects.values_list()))
    page = sign_in(cast.owner).get(reverse("audit")).content.decode()
    assert "Juno" not in page
    assert f"erased learner {number}" in page


def test_the_time_is_that_of_the_studios_own_clock(cast, sign_in):
    cast.studio.time_zone = "Pacific/Auckland"
    cast.studio.save()
    note(cast.studio.pk, "joined", by=cast.teacher)
    AuditRow.objects.update(at=datetime(2026, 3, 5, 1, 30, tzinfo=UTC))
    assert "5 Mar 2026, 14:30" in sign_in(cast.owner).get(reverse("audit")).content.decode()

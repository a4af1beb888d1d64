"""A learner who is left-handed sees and prints every shape mirrored; nobody else does."""

from datetime import timedelta

import pytest
from django.urls import reverse

from pieces import handouts
from pieces.engraving.diagram import diagram
from pieces.music.tab import read_tab
from pieces.paper import as_image
from pieces.print_options import PrintOptions
from pieces.workup import add_piece, workup_of
from students import practice
from students.records import Terms
from studio.handouts.sheets import pages_for
from tests.students.test_practice import TUNE

pytestmark = pytest.mark.django_db

EVERY_DAY = dict.fromkeys(("mon", "tue", "wed", "thu", "fri", "sat", "sun"), 20)
DRAWN_MIRRORED = pytest.mark.parametrize(("hand", "mirrored"), [("left", True), ("right", False)])


@pytest.fixture
def arrangement(cast):
    return add_piece(cast.studio, read_tab(TUNE), rights="own")


@pytest.fixture
def learner(cast, arrangement):
    """Gives the piece to the learner, who plays with the given hand."""

    def of(hand):
        student, today = cast.learner, cast.studio.today
        student.hand, student.minutes = hand, EVERY_DAY
        student.save()
        practice.assign(student, arrangement, Terms(("A",), 72, today, today + timedelta(days=8)))
        return student

    return of


def drawings(arrangement, width, mirrored):
    """The first shape of the piece, and whichever of its drawings a page may have."""
    shape = workup_of(arrangement).holds[0].shape
    return diagram(shape, left_handed=mirrored, width=width)


@DRAWN_MIRRORED
def test_today_draws_shapes_for_the_learners_own_hand(learner, arrangement, sign_in, hand, mirrored):
    page = sign_in(student=learner(hand)).get(reverse("today")).content.decode()
    assert drawings(arrangement, "3.625rem", mirrored) in page
    assert drawings(arrangement, "3.625rem", not mirrored) not in page


@DRAWN_MIRRORED
def test_the_week_on_paper_draws_shapes_for_the_learners_own_hand(cast, learner, arrangement, hand, mirrored):
    page = pages_for("week", learner(hand), cast.studio.today, PrintOptions())[0]
    assert as_image(drawings(arrangement, "17mm", mirrored), css_class="shape") in page
    assert as_image(drawings(arrangement, "17mm", not mirrored), css_class="shape") not in page


@pytest.mark.parametrize(("asked", "mirrored"), [("?left_handed=1", True), ("", False)])
def test_the_piece_is_printed_for_either_hand(cast, arrangement, sign_in, monkeypatch, asked, mirrored):
    printed = []
    monkeypatch.setattr(handouts, "pdf_of", lambda pages: printed.extend(pages) or b"%PDF-")
    sign_in(cast.owner).get(reverse("piece_pdf", args=[arrangement.pk]) + asked)
    assert (as_image(drawings(arrangement, "17mm", True), css_class="shape") in printed[0]) is mirrored

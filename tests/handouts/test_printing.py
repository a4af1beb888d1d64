"""The Handouts page: one sheet opens at once, many become one file in the background."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from pieces.print_options import PrintOptions
from studio.handouts import jobs
from studio.handouts.models import PrintJob
from tests.handouts.reading import facts_of, needs_poppler, structure_of, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def started(monkeypatch):
    """Jobs that would have been started in a thread."""
    found = []
    monkeypatch.setattr(jobs, "start", found.append)
    return found


def ask(desk, **given):
    usual = {"for-sheet": "week", "for-paper": "a4"}
    return desk.post(reverse("print_for"), {**usual, **{f"for-{k}": v for k, v in given.items()}})


def test_the_page_offers_every_sheet_every_learner_and_every_piece(desk, room):
    page = desk.get(reverse("handout_list")).content.decode()
    for words in (
        "The week",
        "Drills",
        "Progress report",
        "Chord sheet",
        "Juno Pell",
        "Eight Stairs",
        "Saturday",
    ):
        assert words in page


def test_one_learners_sheet_opens_with_its_options(desk, room):
    answer = ask(desk, whose=room.learner.pk, sheet="outline", large="on", no_count="on", paper="letter")
    assert answer.url == (
        reverse("student_sheet", args=[room.learner.pk, "outline"]) + "?paper=letter&large=1&count=0"
    )


def test_everybodys_sheets_are_ordered_by_lesson(desk, room, started):
    ask(desk, whose="all")
    (job,) = started
    assert job.students == [room.other_learner.pk, room.learner.pk]


def test_a_groups_sheets_are_ordered_by_name(desk, room, started):
    ask(desk, whose=f"group-{room.group.pk}")
    (job,) = started
    assert job.students == [room.learner.pk, room.other_learner.pk]
    assert "Saturday strings" in job.title


def test_where_nobody_has_a_lesson_it_says_so_and_makes_nothing(desk, room, started):
    room.learner.slots.all().delete()
    room.other_learner.slots.all().delete()
    answer = ask(desk, whose="all")
    assert answer.status_code == 422
    assert "Nobody has a lesson this week." in answer.content.decode()
    assert not started


def test_another_studios_learner_or_group_cannot_be_chosen(desk, room, started, cast):
    assert ask(desk, whose=cast.foreign_learner.pk).status_code == 422
    assert not started


@needs_poppler
def test_the_file_holds_everybodys_sheet_in_order_tagged_as_one_document(room, tmp_path):
    job = jobs.new_job(
        room.studio, room.owner, "week", [room.other_learner, room.learner], PrintOptions(paper="letter")
    )
    jobs.make(job)
    job.refresh_from_db()
    assert (job.state, job.done, job.missed) == ("ready", 2, [])
    pdf = bytes(job.pdf)
    text = text_of(pdf)
    assert text.index("Otto Brand") < text.index("Juno Pell")
    facts = facts_of(pdf, tmp_path)
    assert facts["Tagged"] == "yes" and facts["Title"] == job.title
    structure, complaints = structure_of(pdf, tmp_path)
    assert structure.count("H1") >= 2
    assert not complaints


def test_a_learner_whose_sheet_fails_is_named_and_the_others_are_printed(room, monkeypatch):
    def fails_for_otto(sheet, student, day, options):
        if student == room.other_learner:
            raise RuntimeError("no such shape")
        return ["<!doctype html><html lang='en'><title>Week</title><h1>Week</h1></html>"]

    monkeypatch.setattr(jobs, "pages_for", fails_for_otto)
    job = jobs.new_job(room.studio, room.owner, "week", [room.other_learner, room.learner], PrintOptions())
    jobs.make(job)
    assert job.state == "ready"
    assert job.missed == ["Otto Brand"]


def test_a_press_that_stops_fails_the_job_and_nothing_else(room, monkeypatch):
    def stops(*_args):
        raise jobs.PressStopped

    monkeypatch.setattr(jobs, "print_together", stops)
    job = jobs.new_job(room.studio, room.owner, "week", [room.learner], PrintOptions())
    jobs.make(job)
    assert PrintJob.objects.get(pk=job.pk).state == "failed"


def test_the_page_of_a_file_asks_again_while_it_is_made_and_offers_it_when_it_is_ready(desk, room):
    job = jobs.new_job(room.studio, room.owner, "week", [room.learner], PrintOptions())
    address = reverse("print_job", args=[job.pk])
    page = desk.get(address).content.decode()
    assert "0 of 1 sheets" in page and "every 1s" in page
    assert desk.get(reverse("print_job_pdf", args=[job.pk])).status_code == 404
    PrintJob.objects.filter(pk=job.pk).update(state="ready", done=1, pdf=b"%PDF-1.7")
    part = desk.get(address, HTTP_HX_REQUEST="true").content.decode()
    assert "Open the file" in part and "<html" not in part and "every 1s" not in part
    assert desk.get(reverse("print_job_pdf", args=[job.pk])).content == b"%PDF-1.7"


def test_a_file_whose_server_was_stopped_can_be_made_again(desk, room, started):
    job = jobs.new_job(room.studio, room.owner, "week", [room.learner], PrintOptions(large=True))
    PrintJob.objects.filter(pk=job.pk).update(state="running", moved=timezone.now() - timedelta(minutes=5))
    assert "was stopped" in desk.get(reverse("print_job", args=[job.pk])).content.decode()
    desk.post(reverse("print_job_again", args=[job.pk]))
    (again,) = started
    assert (again.students, again.options) == (job.students, job.options)


def test_files_that_nobody_fetched_are_thrown_away_in_time(room):
    old = jobs.new_job(room.studio, room.owner, "week", [room.learner], PrintOptions())
    PrintJob.objects.filter(pk=old.pk).update(made=timezone.now() - timedelta(days=3))
    jobs.new_job(room.studio, room.owner, "week", [room.learner], PrintOptions())
    assert not PrintJob.objects.filter(pk=old.pk).exists()


def test_unsettled_rights_are_asked_about_for_a_piece_and_only_said_for_a_week(desk, room):
    room.arrangement.piece.rights = "unknown"
    room.arrangement.piece.save()
    for sheet in ("piece", "outline"):
        address = reverse("piece_sheet", args=[room.arrangement.pk, sheet]) + "?large=1"
        assert b"Before you print" in desk.get(address).content
        assert desk.post(address).content.startswith(b"%PDF-")
    chords = desk.get(reverse("piece_sheet", args=[room.arrangement.pk, "chords"]))
    assert chords.content.startswith(b"%PDF-")
    assert desk.get(reverse("week_pdf", args=[room.learner.pk])).content.startswith(b"%PDF-")
    job = jobs.new_job(room.studio, room.owner, "week", [room.learner], PrintOptions())
    assert (
        "Rights are not settled for Eight Stairs"
        in desk.get(reverse("print_job", args=[job.pk])).content.decode()
    )


def test_a_sheet_that_is_not_there_is_not_found(desk, room):
    assert desk.get(reverse("student_sheet", args=[room.learner.pk, "poster"])).status_code == 404
    assert desk.get(reverse("piece_sheet", args=[room.arrangement.pk, "poster"])).status_code == 404


def test_shapes_are_drawn_for_the_learners_own_hand_in_a_file_for_many(room):
    room.learner.hand = "left"
    room.learner.save()
    ways = {
        student.hand: jobs.pages_for("week", student, room.today, PrintOptions())[0]
        for student in (room.learner, room.other_learner)
    }
    drawn = {hand: page[page.index('class="shape"') :][:4000] for hand, page in ways.items()}
    assert drawn["left"] != drawn["right"]

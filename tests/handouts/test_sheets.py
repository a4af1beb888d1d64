"""What stands on each handout, read back from the PDF."""

import pytest
from django.urls import reverse

from pieces.handouts import blank_handout
from pieces.music.tuning import TUNINGS
from pieces.print_options import PrintOptions
from students.models import Mark
from students.report import MEANS, report_page, summary_of
from tests.handouts.reading import facts_of, needs_poppler, objects_of, structure_of, text_of

pytestmark = [pytest.mark.django_db, needs_poppler]


def printed(client, name, *args, **options) -> bytes:
    answer = client.get(reverse(name, args=args), options)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    return answer.content


def test_the_week_shows_bars_days_ladder_and_the_lesson(desk, room):
    text = text_of(printed(desk, "week_pdf", room.learner.pk))
    for words in ("Eight Stairs", "Juno Pell", "Day by day", "Tempo ladder", "For the lesson"):
        assert words in text


def test_a_handout_is_tagged_and_has_a_title_and_words_for_its_drawings(desk, room, tmp_path):
    pdf = printed(desk, "week_pdf", room.learner.pk)
    facts = facts_of(pdf, tmp_path)
    assert facts["Tagged"] == "yes"
    assert facts["Title"].startswith("Juno Pell: the week")
    objects = objects_of(pdf)
    assert b"/Lang (en)" in objects
    assert b"/Alt (Bar 1. " in objects
    assert objects.count(b"/S /Figure") <= objects.count(b"/Alt")
    structure, complaints = structure_of(pdf, tmp_path)
    assert "Figure" in structure and "H1" in structure
    assert not complaints


@pytest.mark.parametrize(
    ("paper", "size"), [("a4", "595.276 x 841.89 pts (A4)"), ("letter", "612 x 792 pts (letter)")]
)
def test_the_paper_is_the_one_that_was_asked_for(desk, room, tmp_path, paper, size):
    assert facts_of(printed(desk, "week_pdf", room.learner.pk, paper=paper), tmp_path)["Page size"] == size


def test_without_the_count_no_count_is_printed(desk, room):
    with_it = text_of(printed(desk, "piece_sheet", room.arrangement.pk, "piece"))
    without = text_of(printed(desk, "piece_sheet", room.arrangement.pk, "piece", count="0"))
    assert "(2)" in with_it and "(2)" not in without
    assert "The count is said aloud" not in without


def test_the_long_form_says_every_bar_in_words(desk, room):
    text = text_of(printed(desk, "piece_sheet", room.arrangement.pk, "piece", words="1"))
    assert "Bar 1." in text and "finger" in text
    assert "Section A" in text


def test_large_text_takes_more_pages(desk, room, tmp_path):
    usual = facts_of(printed(desk, "piece_sheet", room.arrangement.pk, "piece", words="1"), tmp_path)
    large = facts_of(
        printed(desk, "piece_sheet", room.arrangement.pk, "piece", words="1", large="1"), tmp_path
    )
    assert int(large["Pages"]) > int(usual["Pages"])


def test_one_sheet_is_enough_where_a_tighter_setting_makes_it_so(desk, room, tmp_path):
    roomy = printed(desk, "piece_sheet", room.arrangement.pk, "piece", one_page="0", staff="1")
    fitted = printed(desk, "piece_sheet", room.arrangement.pk, "piece", staff="1")
    assert int(facts_of(roomy, tmp_path)["Pages"]) >= int(facts_of(fitted, tmp_path)["Pages"]) == 1


def test_the_lesson_outline_of_a_piece_goes_section_by_section(desk, room):
    text = text_of(printed(desk, "piece_sheet", room.arrangement.pk, "outline"))
    assert "Lesson outline" in text
    assert "every bar is new" in text or "bars are new" in text
    assert "Count 1" in text


def test_a_learners_outline_holds_what_is_new_until_the_lesson(desk, room):
    text = text_of(printed(desk, "student_sheet", room.learner.pk, "outline"))
    assert "what is new" in text
    assert "first on" in text
    new = room.learner.tasks.filter(new=True).order_by("day", "order").first()
    assert new.chunk.label in text


def test_the_chord_sheet_has_each_shape_and_each_change(desk, room):
    text = text_of(printed(desk, "piece_sheet", room.arrangement.pk, "chords"))
    for words in ("0003", "Finger 3 on string 1 fret 3", "Changes", " to "):
        assert words in text


def test_the_drills_sheet_says_how_each_is_played(desk, room):
    text = text_of(printed(desk, "student_sheet", room.learner.pk, "drills"))
    assert "Drills" in text
    assert "Three clean in a row" in text or "Nothing that is assigned needs a drill" in text


def test_the_report_tells_a_guardian_what_a_standing_means(desk, room):
    Mark.objects.create(
        studio=room.studio,
        student=room.learner,
        assignment=room.learner.assignments.first(),
        section="A",
        standing="secure",
        day=room.today,
    )
    room.learner.assignments.update(stale=True)
    text = text_of(printed(desk, "student_sheet", room.learner.pk, "report"))
    assert MEANS["secure"] in text
    assert "How to help" in text


@pytest.mark.parametrize(
    ("days", "said"),
    [
        ([0, 0, 0, 0], "Nothing was noted"),
        ([4, 4, 4, 1], "about as often"),
        ([2, 2, 5, 1], "more days"),
        ([5, 5, 2, 1], "fewer days"),
        ([0, 0, 3, 1], "on 3 days"),
    ],
)
def test_the_report_compares_the_last_full_week_with_those_before(days, said):
    assert said in summary_of("Juno", [{"days": n, "minutes": 10 * n} for n in days])


def test_the_report_draws_the_very_days_that_were_played(room):
    week = report_page(room.learner, room.today)["weeks"][-1]
    assert week["dots"] == [False] * 7


@pytest.mark.parametrize("name", ["ukulele high G", "guitar", "mandolin"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("kind", ["tab", "diagrams"])
def test_paper_to_write_on_is_one_full_sheet(cast, tmp_path, name, paper, kind):
    pdf = blank_handout(TUNINGS[name], kind, cast.studio, PrintOptions(paper=paper))
    facts = facts_of(pdf, tmp_path)
    assert facts["Pages"] == "1"
    assert name in facts["Title"]


def test_paper_of_another_kind_is_refused(cast):
    with pytest.raises(ValueError, match="tab or diagrams"):
        blank_handout(TUNINGS["guitar"], "napkins", cast.studio, PrintOptions())


def test_a_learner_and_a_guardian_get_only_their_own_report(room, sign_in):
    for holder in ("learner", "guardian"):
        text = text_of(printed(sign_in(student=room.other_learner, holder=holder), "report_pdf"))
        assert "Otto Brand" in text and "Juno" not in text

"""Editing bars: what makes a revision, whose work is safe, and who follows."""

import json
from datetime import timedelta
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.contrib.messages import get_messages
from django.urls import reverse
from django.utils import timezone
from hypothesis import given as given_any
from hypothesis import settings
from hypothesis import strategies as st

from pieces.editing import ChangedMeanwhile, UnusableEdit, bar_data, keep_bars, read_edits
from pieces.models import Revision
from pieces.music.counting import BEATS_AND
from pieces.music.grid import bar_of
from pieces.music.tab import read_tab
from pieces.workup import add_piece, decide, workup_of
from students import practice
from students.models import Assignment
from students.records import Terms, history_of, letters_in, records_of
from tests.music.tab_scores import scores
from tests.students.test_practice import TUNE, tick

pytestmark = pytest.mark.django_db


@pytest.fixture
def arrangement(cast):
    return add_piece(cast.studio, read_tab(TUNE), rights="own")


@pytest.fixture
def assignment(cast, arrangement):
    today = cast.studio.today
    return practice.assign(cast.learner, arrangement, Terms(("A",), 72, today, today + timedelta(days=8)))


def bar_as_sent(arrangement, number, *, fret=None):
    """A bar as the editor sends it, its first note at another fret if one is given."""
    data = bar_data(arrangement.to_score().bar(number), BEATS_AND)
    if fret is not None:
        data["columns"][0]["event"]["notes"][-1]["fret"] = fret
    return json.loads(json.dumps(data))


def edit(arrangement, by, number=3, fret=5, *, at=None, in_use=lambda revision: False, **entry):
    sent = {number: {**bar_as_sent(arrangement, number, fret=fret), **entry}}
    edits = read_edits(sent, arrangement.current.tuning)
    return keep_bars(arrangement, edits, by=by, at=at or timezone.now(), in_use=in_use)


def given(revision):
    return Assignment.objects.filter(revision=revision).exists()


def test_the_same_bars_make_no_revision(cast, arrangement):
    edit(arrangement, cast.owner, fret=None)
    assert Revision.objects.get().number == 1


def test_one_sitting_makes_one_revision(cast, arrangement):
    for fret in (5, 6, 7):
        arrangement = edit(arrangement, cast.owner, fret=fret)
    assert [r.number for r in arrangement.revisions.order_by("number")] == [1, 2]
    note = arrangement.to_score().bar(3).events[0].notes[-1]
    assert (note.fret, note.pitch) == (7, 76)  # A string, MIDI 69, and seven semitones


@pytest.mark.parametrize("why", ["later", "another teacher", "in use", "finished"])
def test_a_revision_is_left_alone_once_it_is(cast, arrangement, client, sign_in, why):
    arrangement = edit(arrangement, cast.owner, fret=5)
    now, by, in_use = timezone.now(), cast.owner, lambda revision: False
    if why == "later":
        now += timedelta(minutes=31)
    elif why == "another teacher":
        by = cast.teacher
    elif why == "in use":
        in_use = lambda revision: True  # noqa: E731
    else:
        sign_in(cast.owner).post(reverse("bars_done", args=[arrangement.pk]))
        arrangement.current.refresh_from_db()
    arrangement = edit(arrangement, by, fret=6, at=now, in_use=in_use)
    assert arrangement.current.number == 3


def test_a_bar_that_somebody_else_changed_is_not_overwritten(cast, arrangement):
    stale = bar_as_sent(arrangement, 3, fret=9)
    edit(arrangement, cast.teacher, fret=5)
    with pytest.raises(ChangedMeanwhile) as changed:
        keep_bars(
            arrangement,
            read_edits({3: stale}, arrangement.current.tuning),
            by=cast.owner,
            at=timezone.now(),
            in_use=given,
        )
    assert changed.value.numbers == [3]


def test_an_edit_sent_twice_is_one(cast, arrangement):
    sent = {3: bar_as_sent(arrangement, 3, fret=9)}
    for _again in range(2):
        edits = read_edits(sent, arrangement.current.tuning)
        arrangement = keep_bars(arrangement, edits, by=cast.owner, at=timezone.now(), in_use=given)
    assert arrangement.current.number == 2


def test_decisions_about_a_note_that_is_gone_are_forgotten_and_others_stay(cast, arrangement):
    decide(arrangement, "finger:3.0.2", 2)
    decide(arrangement, "finger:3.1.2", 2)
    decide(arrangement, "finger:2.0.4", 3)
    edit(arrangement, cast.owner, fret=5)
    keys = set(arrangement.overrides.values_list("key", flat=True))
    assert keys == {"finger:3.1.2", "finger:2.0.4"}


def test_a_chord_copied_with_its_bar_takes_the_place_of_one_decided_before(cast, arrangement):
    decide(arrangement, "chords:3", [["0", "F7"]])
    edit(arrangement, cast.owner, fret=None, chords=[["0", "C"]])
    arrangement.refresh_from_db()
    assert [mark.symbol for mark in workup_of(arrangement).score.bar(3).chords] == ["C"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"columns": []},
        {"columns": [{"length": "1/0", "event": None}]},
        {"columns": [{"length": "1e999999999", "event": None}]},
        {"columns": [{"length": "1", "event": {"duration": "1e999999999"}}]},
        {"columns": [{"length": "1", "event": None}]},
        {"columns": [{"length": "1/4", "event": {}}]},
        {"columns": [{"length": "1", "event": {"notes": [{"string": 9, "fret": 0}]}}]},
        {"columns": [{"length": "1", "event": {"notes": [{"string": 1, "fret": 99}]}}]},
        {"columns": [{"length": "1", "event": {"notes": [{"string": 1, "fret": 0}] * 2}}]},
        {"columns": [{"length": "1", "event": {"notes": [{"string": 1, "fret": 0, "pick": "<b>"}]}}]},
        {"columns": [{"length": "1", "event": {"stroke": "<b>"}}]},
        {"columns": [{"length": "1", "event": {"unheard": 1}}]},
        {"columns": "bar"},
        {"chords": [["0", "C" * 25]]},
    ],
)
def test_what_is_no_bar_is_refused_in_words_and_changes_nothing(cast, arrangement, sign_in, wrong):
    sent = {"bars": {3: {**bar_as_sent(arrangement, 3), **wrong}}}
    answer = keep(sign_in(cast.owner), arrangement, sent)
    assert answer.status_code == 422 and answer.json()["text"]
    assert Revision.objects.count() == 1


SCRAPS = st.recursive(
    st.none() | st.booleans() | st.integers(-2, 99) | st.sampled_from(["1/4", "1", "C", "x", "", "1/0"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(
                ["length", "event", "notes", "string", "fret", "pitch", "tied", "tuplet", "grace", "onset"]
            ),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


@settings(max_examples=300, deadline=None)
@given_any(SCRAPS, SCRAPS)
def test_whatever_is_sent_is_read_or_refused_in_words(columns, chords):
    try:
        edits = read_edits({"3": {"columns": columns, "chords": chords, "known": ""}}, read_tab(TUNE).tuning)
    except UnusableEdit as refused:
        assert str(refused)
    else:
        assert all(column.length > 0 for column in edits[3].columns)


@settings(max_examples=60, deadline=None)
@given_any(scores())
def test_a_bar_sent_back_as_it_came_is_the_same_bar(score):
    for bar in score.bars:
        if bar.events:
            sent = json.loads(json.dumps({bar.number: bar_data(bar, BEATS_AND)}))
            edit = read_edits(sent, score.tuning)[bar.number]
            assert (bar_of(bar, edit.columns), edit.chords) == (bar, tuple(sorted(bar.chords)))


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b"3", b'{"bars": []}', b'{"bars": 3}', b"[" * 100_000])
def test_what_is_not_even_json_is_refused_in_words(cast, arrangement, sign_in, body):
    address = reverse("bars_keep", args=[arrangement.pk])
    answer = sign_in(cast.owner).post(address, body, content_type="application/json")
    assert answer.status_code == 422 and answer.json()["text"]


def keep(client, arrangement, sent):
    address = reverse("bars_keep", args=[arrangement.pk])
    return client.post(address, json.dumps(sent), content_type="application/json")


def test_the_editor_is_answered_with_the_bar_engraved_and_in_words(cast, arrangement, sign_in):
    sent = {"shown": 3, "bars": {3: bar_as_sent(arrangement, 3, fret=9)}}
    answer = keep(sign_in(cast.owner), arrangement, sent).json()
    assert answer["revision"] == 2
    assert answer["strip"].startswith("<svg") and "2, open, 1, 9." in answer["words"]
    assert answer["bars"]["3"]["columns"][0]["event"]["notes"][-1]["fret"] == 9


def test_a_collision_says_what_is_there_now(cast, arrangement, sign_in):
    stale = bar_as_sent(arrangement, 3, fret=9)
    edit(arrangement, cast.teacher, fret=5)
    answer = keep(sign_in(cast.owner), arrangement, {"bars": {3: stale}})
    assert answer.status_code == 409
    assert answer.json()["bars"]["3"]["columns"][0]["event"]["notes"][-1]["fret"] == 5


def test_a_colleague_may_edit_and_a_stranger_finds_nothing(cast, arrangement, sign_in):
    page = reverse("bar_editor", args=[arrangement.pk, 3])
    assert sign_in(cast.teacher).get(page).status_code == 200
    assert sign_in(cast.foreigner).get(page).status_code == 404
    assert sign_in(student=cast.learner).get(page).status_code == 403
    assert sign_in(cast.owner).post(page).status_code == 405
    assert sign_in(cast.owner).get(reverse("bar_editor", args=[arrangement.pk, 99])).status_code == 404


def test_learners_stay_with_the_old_bars_until_the_editor_is_done(cast, arrangement, assignment, sign_in):
    edit(arrangement, cast.owner, fret=5, in_use=given)
    practice.keep_planned(cast.learner, cast.studio.today)
    assignment.refresh_from_db()
    assert assignment.revision.number == 1
    sign_in(cast.owner).post(reverse("bars_done", args=[arrangement.pk]))
    assignment.refresh_from_db()
    assert assignment.revision.number == 2


def test_an_editor_that_was_left_open_is_done_after_half_an_hour(cast, arrangement, assignment):
    edit(arrangement, cast.owner, fret=5, in_use=given, at=timezone.now() - timedelta(minutes=31))
    practice.keep_planned(cast.learner, cast.studio.today)
    assignment.refresh_from_db()
    assert assignment.revision.number == 2


def test_ticks_on_bars_that_stay_count_on_and_others_do_not(cast, arrangement, assignment):
    by_key = {task.chunk.key: task for task in cast.learner.tasks.select_related("chunk")}
    for key in ("pair:1-2", "pair:3-4"):
        tick(by_key[key])
    arrangement = edit(arrangement, cast.owner, number=1, fret=5)
    practice.move_to_current(arrangement, cast.studio.today)
    assignment.refresh_from_db()
    history = history_of(assignment, assignment.revision, *records_of(cast.learner))
    assert [record.key for record in history.ticks] == ["pair:3-4"]


def test_what_was_planned_until_today_stays_though_its_loop_is_cut_no_more(cast, arrangement, assignment):
    today = cast.studio.today
    planned = cast.learner.tasks.filter(day=cast.learner.tasks.first().day)
    keys = list(planned.values_list("chunk__key", flat=True))
    arrangement.current = Revision.objects.create(
        studio=cast.studio,
        arrangement=arrangement,
        number=2,
        score={**arrangement.current.score, "bars": arrangement.current.score["bars"][:1]},
    )
    arrangement.save()
    practice.move_to_current(arrangement, max(today, planned.first().day))
    assert list(planned.values_list("chunk__key", flat=True)) == keys


def cut_at(*spans):
    return SimpleNamespace(
        sections=[SimpleNamespace(letter=letter, first=first, last=last) for letter, first, last in spans]
    )


def test_where_sections_are_cut_anew_a_learner_keeps_the_bars_that_were_given():
    before = cut_at(("A", 1, 4), ("B", 5, 8))
    assert letters_in(before, cut_at(("A", 1, 2), ("B", 3, 4), ("C", 5, 8)), ["A"]) == ["A", "B"]
    assert letters_in(before, cut_at(("A", 1, 4), ("B", 5, 8)), ["B"]) == ["B"]
    assert letters_in(before, cut_at(("A", 1, 4)), ["B"]) == ["A"]


def test_it_is_said_which_bars_changed_for_whom(cast, arrangement, assignment, sign_in):
    today = cast.studio.today
    practice.assign(cast.other_learner, arrangement, Terms(("A",), 60, today, today + timedelta(days=8)))
    client = sign_in(cast.owner)
    keep(client, arrangement, {"bars": {3: bar_as_sent(arrangement, 3, fret=9)}})
    answer = client.post(reverse("bars_done", args=[arrangement.pk]))
    said = [str(message) for message in get_messages(answer.wsgi_request)]
    assert said == [
        "Kept as revision 2.",
        "Bar 3 changed for Juno Pell and Otto Brand. It is begun anew; ticks on every other bar count on.",
    ]


def test_a_tab_edited_whole_takes_its_learners_along_too(cast, arrangement, assignment, sign_in):
    edited = TUNE.replace("A|-3---2---0-----|", "A|-3---5---0-----|")
    sign_in(cast.owner).post(reverse("arrangement_edit", args=[arrangement.pk]), {"text": edited})
    assignment.refresh_from_db()
    assert assignment.revision.number == 2


def test_a_tick_of_today_outlives_the_move(cast, arrangement, assignment):
    task = cast.learner.tasks.first()
    practice.move_to_current(edit(arrangement, cast.owner, fret=5), cast.studio.today)
    practice.keep_planned(cast.learner, cast.studio.today)
    assert practice.record_tick(
        cast.learner,
        task,
        uuid=uuid4(),
        day=cast.studio.today,
        tempo=60,
        felt="clean",
        at=timezone.now(),
    ).pk

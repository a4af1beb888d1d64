"""The calendar at a secret address. Format: RFC 5545 and RFC 7986."""

from datetime import UTC, datetime, time, timedelta

import pytest
from django.urls import reverse
from icalendar import Calendar

from studio.lessons import calendars, changes
from studio.lessons.models import CalendarAddress
from tests.lessons.week import THURSDAY, joined, on_thursday, slot  # noqa: F401

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("on_thursday")]
NEXT = THURSDAY + timedelta(days=7)


@pytest.fixture
def juno(cast):
    slot(joined(cast.learner), 3, "16:30", teacher=cast.owner)
    slot(joined(cast.other_learner), 3, "17:00", teacher=cast.teacher)
    juno = cast.learner
    juno.note, juno.guardian_email = "Left a note.", "pell@family.example"
    juno.save()
    return juno


def read(client, token):
    return client.get(reverse("calendar_feed", args=[token]))


def events(answer):
    return Calendar.from_ical(answer.content).walk("VEVENT")


def test_the_teachers_calendar_has_the_teachers_lessons_by_name_and_time(juno, cast, client):
    _address, token = calendars.new_address(cast.studio, teacher=cast.owner)
    answer = read(client, token)
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    found = {event.decoded("DTSTART").date(): event for event in events(answer)}
    assert {event["SUMMARY"] for event in found.values()} == {"Juno Pell"}
    assert set(found) == {THURSDAY + timedelta(weeks=n) for n in range(-4, 13)}


def test_times_follow_the_studios_daylight_saving(juno, cast, client):
    """British Summer Time began on Sunday 29 March 2026: 4:30 is 16:30 UTC before, 15:30 after."""
    _address, token = calendars.new_address(cast.studio, student=juno)
    starts = {event.decoded("DTSTART") for event in events(read(client, token))}
    assert datetime(2026, 3, 26, 16, 30, tzinfo=UTC) in starts
    assert datetime(2026, 4, 2, 15, 30, tzinfo=UTC) in starts


def test_the_lines_keep_to_the_standard(juno, cast, client):
    """RFC 5545: 3.1 lines end in CRLF and have at most 75 octets, 3.6.1 and 3.6 what must be there."""
    _address, token = calendars.new_address(cast.studio, student=juno)
    answer = read(client, token)
    lines = answer.content.split(b"\r\n")
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert lines[-2:] == [b"END:VCALENDAR", b""]
    assert b"\n" not in b"".join(lines)
    assert max(map(len, lines)) <= 75
    assert {b"VERSION:2.0", b"PRODID:-//Fourbar//Lessons//EN"} <= set(lines)
    for event in events(answer):
        assert {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY"} == set(event)
        assert event.decoded("DTEND") - event.decoded("DTSTART") == timedelta(minutes=30)
    uids = [event["UID"] for event in events(answer)]
    assert len(set(uids)) == len(uids)
    assert uids == [event["UID"] for event in events(read(client, token))]


def test_a_lesson_that_does_not_take_place_is_not_in_it_and_the_one_instead_is(juno, cast, client):
    saturday = NEXT + timedelta(days=2)
    changes.move_lesson(juno, NEXT, saturday, time(10), 45, today=THURSDAY, by=None)
    changes.note_absence(juno, NEXT + timedelta(days=7), owed=True, today=THURSDAY, by=None)
    _address, token = calendars.new_address(cast.studio, student=juno)
    days = {event.decoded("DTSTART").date() for event in events(read(client, token))}
    assert saturday in days
    assert not {NEXT, NEXT + timedelta(days=7)} & days


def test_a_familys_calendar_says_nothing_of_others_and_little_of_the_child(juno, cast, client):
    _address, token = calendars.new_address(cast.studio, student=juno)
    text = read(client, token).text
    assert "Juno Pell" in text
    for secret in ("Otto", "note", "family.example", "Calder", "ukulele"):
        assert secret not in text


def test_an_address_that_was_ended_or_never_was_is_not_found(juno, cast, client):
    _address, old = calendars.new_address(cast.studio, student=juno)
    _address, new = calendars.new_address(cast.studio, student=juno)
    assert [read(client, token).status_code for token in (old, new, "guessed")] == [404, 200, 404]
    calendars.end_address(cast.studio, student=juno)
    assert read(client, new).status_code == 404


def test_the_address_of_somebody_who_left_is_not_found(juno, cast, client):
    _address, family = calendars.new_address(cast.studio, student=juno)
    _address, desk = calendars.new_address(cast.studio, teacher=cast.owner)
    juno.left_on = THURSDAY
    juno.save()
    cast.studio.memberships.filter(user=cast.owner).delete()
    assert [read(client, token).status_code for token in (family, desk)] == [404, 404]


def test_the_token_is_shown_once_and_not_kept(juno, cast, sign_in, client):
    desk = sign_in(cast.owner)
    address = reverse("student_calendar", args=[juno.pk])
    assert "There is no address yet." in desk.get(address).text
    answer = desk.post(address, {"do": "new"})
    assert answer.headers["Cache-Control"] == "no-store"
    token = answer.text.split("/lessons/calendar/")[1].split(".ics")[0]
    assert read(client, token).status_code == 200
    kept = CalendarAddress.objects.get()
    assert token not in str(CalendarAddress.objects.values().get())
    assert kept.last_read == THURSDAY
    page = desk.get(address).text
    assert token not in page
    assert "last read on Thu 19 March" in page
    desk.post(address, {"do": "end"})
    assert read(client, token).status_code == 404


def test_each_teacher_has_an_address_of_their_own(juno, cast, sign_in, client):
    tokens = []
    for teacher in (cast.owner, cast.teacher):
        page = sign_in(teacher).post(reverse("my_calendar"), {"do": "new"}).text
        tokens.append(page.split("/lessons/calendar/")[1].split(".ics")[0])
    names = [{event["SUMMARY"] for event in events(read(client, token))} for token in tokens]
    assert names == [{"Juno Pell"}, {"Otto Brand"}]


def test_a_calendar_is_read_in_few_queries(juno, cast, client, django_assert_num_queries):
    _address, token = calendars.new_address(cast.studio, student=juno)
    read(client, token)
    with django_assert_num_queries(3):
        read(client, token)

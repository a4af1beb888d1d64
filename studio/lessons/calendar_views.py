"""Lesson times for a calendar program: the address, and what is read there."""

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from students.models import Student
from studio.accounts.access import EVERYBODY, TEACHERS, allow, theirs_or_404
from studio.lessons import calendars
from studio.lessons.models import CalendarAddress


@allow(TEACHERS, "GET", "POST")
def my_calendar(request):
    """The address of the teacher's own lessons."""
    return _address_page(request, teacher=request.actor.user)


@allow(TEACHERS, "GET", "POST")
def student_calendar(request, pk):
    """The address of one learner's lessons, for the family."""
    return _address_page(request, student=theirs_or_404(Student.objects, request.actor, pk=pk))


@allow(EVERYBODY)
def calendar_feed(request, token):
    """What a calendar program reads. Whoever has the address may, until it is ended."""
    address = calendars.address_of_token(token)
    if address is None:
        raise Http404
    today = address.studio.today
    if address.last_read != today:
        CalendarAddress.objects.filter(pk=address.pk).update(last_read=today)
    return HttpResponse(
        calendars.feed(address, today),
        content_type="text/calendar; charset=utf-8",
        headers={"Cache-Control": "private, max-age=3600", "X-Robots-Tag": "noindex"},
    )


def _address_page(request, *, teacher=None, student=None):
    studio, whose = request.actor.studio, {"teacher": teacher, "student": student}
    if request.POST.get("do") == "end":
        calendars.end_address(studio, **whose)
        return redirect(request.path)
    secret = ""
    if request.method == "POST":
        _address, token = calendars.new_address(studio, **whose)
        secret = request.build_absolute_uri(reverse("calendar_feed", args=[token]))
    address = CalendarAddress.objects.of(studio).in_force().filter(**whose).first()
    page = {"student": student, "address": address, "secret": secret}
    answer = render(request, "lessons/calendar.html", page)
    answer.headers["Cache-Control"] = "no-store"
    return answer

"""A lesson that is missed or moved, and one on a day of its own."""

from datetime import date

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.urls import reverse

from students.models import Student
from studio.accounts.access import TEACHERS, allow, theirs_or_404
from studio.lessons import changes
from studio.lessons.forms import LessonTimeForm
from studio.lessons.models import Lesson
from studio.lessons.timetable import meeting_on
from studio.lessons.week_page import state_in_words
from studio.templatetags.fourbar import clock, day_in_full, joined


@allow(TEACHERS, "GET", "POST")
def lesson_change(request, pk, day):
    """One lesson of one day: absent, at another time, or as usual again."""
    student = theirs_or_404(Student.objects, request.actor, pk=pk)
    meeting = meeting_on(student, day)
    if meeting is None:
        raise Http404
    today, by = request.actor.studio.today, request.actor.user
    do = request.POST.get("do", "")
    form = LessonTimeForm(
        request.POST if do == "move" else None,
        student=student,
        today=today,
        was=day,
        initial={"day": day, "starts": meeting.starts, "minutes": meeting.minutes},
    )
    if do in ("owed", "absent"):
        changes.note_absence(student, day, owed=do == "owed", today=today, by=by)
        messages.success(request, f"{student.name}: absent on {day_in_full(day)}.")
        return _to_week(day)
    if do == "usual" and meeting.lesson:
        changes.take_back(meeting.lesson, today)
        return _to_week(day)
    if do == "move" and form.is_valid():
        data = form.cleaned_data
        changes.move_lesson(student, day, data["day"], data["starts"], data["minutes"], today=today, by=by)
        _say_when(request, form, meeting.teacher_id)
        return _to_week(data["day"])
    page = {"student": student, "meeting": meeting, "said": state_in_words(meeting), "form": form}
    return render(request, "lessons/lesson_change.html", page, status=422 if form.errors else 200)


@allow(TEACHERS, "GET", "POST")
def lesson_extra(request, pk):
    """A lesson outside the regular times; with ``for``, in place of one that was missed."""
    student = theirs_or_404(Student.objects, request.actor, pk=pk)
    owed = Lesson.objects.of(request.actor.studio).owed().filter(student=student)
    asked = request.GET.get("for", "")
    missed = theirs_or_404(owed, request.actor, pk=asked) if asked.isdecimal() else None
    today = request.actor.studio.today
    usual = missed or student.slots.first()
    form = LessonTimeForm(
        request.POST or None,
        student=student,
        today=today,
        initial={"starts": usual.starts if usual else None, "minutes": usual.minutes if usual else 30},
    )
    if request.method == "POST" and form.is_valid():
        lesson = changes.plan_lesson(
            student,
            **form.cleaned_data,
            makes_up_for=missed,
            today=today,
            by=request.actor.user,
        )
        _say_when(request, form, lesson.teacher_id)
        return _to_week(lesson.day)
    page = {"student": student, "missed": missed, "form": form, "owed": owed.order_by("day")}
    return render(request, "lessons/lesson_extra.html", page, status=422 if form.errors else 200)


def _say_when(request, form: LessonTimeForm, teacher_id: int | None) -> None:
    data = form.cleaned_data
    messages.success(
        request, f"{form.student.name}: lesson on {day_in_full(data['day'])}, {clock(data['starts'])}."
    )
    others = form.at_the_same_time(teacher_id)
    if others:
        said = joined(f"{other.student.name} ({clock(other.starts)})" for other in others)
        messages.warning(request, f"At the same time: {said}.")


def _to_week(day: date):
    return redirect(f"{reverse('lesson_list')}?week={day:%Y-%m-%d}")

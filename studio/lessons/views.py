"""Lessons: who comes when, and the one screen of a lesson."""

from django.contrib import messages
from django.shortcuts import redirect, render

from students import practice
from students.forms import MarkForm
from students.lesson_days import follow_moved_lesson, next_lesson
from students.models import Assignment, Student
from studio.accounts.access import TEACHERS, allow, theirs_or_404
from studio.lessons.changes import lesson_on
from studio.lessons.forms import NoteForm, SlotForm
from studio.lessons.lesson_page import lesson_page, next_terms
from studio.lessons.models import Lesson, LessonSlot
from studio.lessons.timetable import parse_date_or
from studio.lessons.week_page import week_page
from studio.templatetags.fourbar import day_in_full


@allow(TEACHERS)
def lesson_list(request):
    """A week of lessons; ``?week=`` is any day of it."""
    studio = request.actor.studio
    asked = parse_date_or(request.GET.get("week", ""), studio.today)
    return render(request, "lessons/lesson_list.html", week_page(studio, request.actor.user, asked))


@allow(TEACHERS, "GET", "POST")
def lesson(request, pk):
    """Since last time, marks, note, and the next week proposed."""
    student = theirs_or_404(Student.objects, request.actor, pk=pk)
    today = request.actor.studio.today
    held = lesson_on(student, today, request.actor.user)
    form = NoteForm(request.POST or None, instance=held)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Note kept.")
        return redirect("lesson", pk)
    practice.keep_planned(student, today)
    return render(request, "lessons/lesson.html", {**lesson_page(student, today), "form": form})


@allow(TEACHERS, "POST")
def mark(request, pk, assignment_pk):
    """The teacher's judgement of a section; the proposal follows at once, the plan from tomorrow."""
    student = theirs_or_404(Student.objects, request.actor, pk=pk)
    assignment = theirs_or_404(Assignment.objects.filter(student=student), request.actor, pk=assignment_pk)
    form = MarkForm(request.POST)
    section = request.POST.get("section", "")
    if not form.is_valid() or section not in assignment.letters:
        messages.error(request, "Choose learning, at tempo or secure for one of the sections.")
        return redirect("lesson", pk)
    day = request.actor.studio.today
    practice.mark_section(assignment, section, form.cleaned_data["standing"], day=day, by=request.actor.user)
    practice.replan(student, day, keep_today=True)
    return redirect("lesson", pk)


@allow(TEACHERS, "POST")
def assign_next(request, pk):
    """Keep the note and give the next week as it is proposed."""
    student = theirs_or_404(Student.objects, request.actor, pk=pk)
    today = request.actor.studio.today
    held = lesson_on(student, today, request.actor.user)
    form = NoteForm(request.POST, instance=held)
    if not form.is_valid():
        return render(request, "lessons/lesson.html", {**lesson_page(student, today), "form": form})
    form.save()
    for assignment in student.assignments.running().with_music():
        terms = next_terms(student, assignment, today)
        practice.assign(student, assignment.arrangement, terms, note=form.cleaned_data["note"], today=today)
    if request.POST.get("do") == "print":
        return redirect("week_pdf", pk)
    until = day_in_full(next_lesson(student, today))
    messages.success(request, f"{student.name}: the next week is assigned, to {until}.")
    return redirect("overview")


@allow(TEACHERS, "POST")
def promise_kept(request, pk, lesson_pk):
    """Tick what was promised as kept; today's tick can be taken back."""
    student = theirs_or_404(Student.objects, request.actor, pk=pk)
    lesson = theirs_or_404(Lesson.objects.filter(student=student), request.actor, pk=lesson_pk)
    lesson.kept_on = None if lesson.kept_on else request.actor.studio.today
    lesson.save(update_fields=["kept_on"])
    return redirect("lesson", pk)


@allow(TEACHERS, "GET", "POST")
def lesson_time(request, pk):
    """The regular lesson; where it moves, the dates of what is assigned move with it."""
    student = theirs_or_404(Student.objects, request.actor, pk=pk)
    slot = student.slots.first() or LessonSlot(
        studio_id=student.studio_id, student=student, teacher=request.actor.user
    )
    was = slot.weekday
    form = SlotForm(request.POST or None, instance=slot)
    if request.method == "POST":
        if request.POST.get("do") == "forget":
            student.slots.all().delete()
            return redirect("student", pk)
        if form.is_valid():
            form.save()
            follow_moved_lesson(student, was, request.actor.studio.today)
            return redirect("student", pk)
    return render(request, "lessons/lesson_time.html", {"form": form, "student": student})

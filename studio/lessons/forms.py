"""What a teacher writes in a lesson, and when lessons are."""

from datetime import timedelta

from django import forms

from studio.lessons.models import Lesson, LessonSlot
from studio.lessons.timetable import Meeting, meeting_on, meetings

WEEKDAYS = list(enumerate(("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")))
LONGEST_AHEAD = timedelta(days=366)


class NoteForm(forms.ModelForm):
    """The note for the learner and what was promised."""

    class Meta:
        model = Lesson
        fields = ["note", "promised"]
        labels = {"promised": "Promised for next time"}
        widgets = {"note": forms.Textarea(attrs={"rows": 3}), "promised": forms.Textarea(attrs={"rows": 2})}

    def save(self, commit=True):
        """What is written in a planned lesson is written in one that is held."""
        if self.instance.state == Lesson.PLANNED:
            self.instance.state = Lesson.HELD
        return super().save(commit)


class LessonMinutes:
    """The check that lesson forms share."""

    def clean_minutes(self):
        minutes = self.cleaned_data["minutes"]
        if not 5 <= minutes <= 240:
            raise forms.ValidationError("A lesson lasts from 5 minutes to four hours.")
        return minutes


class SlotForm(LessonMinutes, forms.ModelForm):
    """A learner's regular lesson time."""

    weekday = forms.TypedChoiceField(label="Day", choices=WEEKDAYS, coerce=int)

    class Meta:
        model = LessonSlot
        fields = ["weekday", "starts", "minutes"]
        labels = {"starts": "Time", "minutes": "Minutes"}
        widgets = {"starts": forms.TimeInput(attrs={"type": "time"}, format="%H:%M")}


class LessonTimeForm(LessonMinutes, forms.Form):
    """When a single lesson is. ``was`` is the day it is moved from, None for one of its own."""

    day = forms.DateField(label="Day", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    starts = forms.TimeField(label="Time", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
    minutes = forms.IntegerField(label="Minutes")

    def __init__(self, *args, student, today, was=None, **more):
        super().__init__(*args, **more)
        self.student, self.today, self.was = student, today, was

    def clean_day(self):
        day = self.cleaned_data["day"]
        if day < self.today:
            raise forms.ValidationError("This day is past.")
        if day > self.today + LONGEST_AHEAD:
            raise forms.ValidationError("Plan at most a year ahead.")
        if day != self.was and meeting_on(self.student, day):
            raise forms.ValidationError(f"{self.student.name} has a lesson on that day already.")
        return day

    def at_the_same_time(self, teacher_id: int | None) -> list[Meeting]:
        """The teacher's other lessons that overlap with the time that was chosen."""
        data = self.cleaned_data
        day = data["day"]
        chosen = Meeting(self.student, day, data["starts"], data["minutes"])
        others = meetings(self.student.studio, day, day + timedelta(days=1))
        return [
            other
            for other in others
            if other.takes_place
            and other.student.pk != self.student.pk
            and other.teacher_id in (teacher_id, None)
            and chosen.overlaps(other)
        ]

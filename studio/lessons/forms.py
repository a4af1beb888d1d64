"""What a teacher writes in a lesson."""

from django import forms

from studio.lessons.models import Lesson, LessonSlot

WEEKDAYS = list(enumerate(("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")))


class NoteForm(forms.ModelForm):
    """The note for the learner and what was promised."""

    class Meta:
        model = Lesson
        fields = ["note", "promised"]
        labels = {"promised": "Promised for next time"}
        widgets = {"note": forms.Textarea(attrs={"rows": 3}), "promised": forms.Textarea(attrs={"rows": 2})}


class SlotForm(forms.ModelForm):
    """A learner's regular lesson time."""

    weekday = forms.TypedChoiceField(label="Day", choices=WEEKDAYS, coerce=int)

    class Meta:
        model = LessonSlot
        fields = ["weekday", "starts", "minutes"]
        labels = {"starts": "Time", "minutes": "Minutes"}
        widgets = {"starts": forms.TimeInput(attrs={"type": "time"}, format="%H:%M")}

    def clean_minutes(self):
        minutes = self.cleaned_data["minutes"]
        if not 5 <= minutes <= 240:
            raise forms.ValidationError("A lesson lasts from 5 minutes to four hours.")
        return minutes

"""What a teacher says about a learner and gives to one, and what a learner ticks."""

from datetime import timedelta

from django import forms

from pieces.music.tuning import TUNINGS
from students.models import WEEKDAYS, Away, Mark, Student, Tick
from students.records import Terms

DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MOST_MINUTES = 240
LONGEST = 366


class MinutesMixin:
    """Seven fields, one a weekday, for a form over ``{"mon": 15, ...}``."""

    def add_minutes_fields(self, minutes):
        for day, name in zip(WEEKDAYS, DAY_NAMES, strict=True):
            self.fields[f"minutes_{day}"] = forms.IntegerField(
                label=name,
                min_value=0,
                max_value=MOST_MINUTES,
                required=False,
                initial=minutes.get(day, 0),
                error_messages={
                    "invalid": f"{name}: write minutes as a number, 0 for a day off.",
                    "min_value": f"{name}: minutes cannot be below 0.",
                    "max_value": f"{name}: four hours is the most.",
                },
            )

    def minutes_fields(self):
        return [self[f"minutes_{day}"] for day in WEEKDAYS]

    def minutes_given(self) -> dict:
        return {day: self.cleaned_data.get(f"minutes_{day}") or 0 for day in WEEKDAYS}


class StudentForm(MinutesMixin, forms.ModelForm):
    """A learner. Everything but the name may be left as it is."""

    instrument = forms.ChoiceField(choices=[(name, name) for name in TUNINGS])

    class Meta:
        model = Student
        fields = [
            "name",
            "instrument",
            "hand",
            "level",
            "alternate",
            "guardian_email",
            "consent_on",
            "note",
        ]
        labels = {
            "name": "Name to show",
            "guardian_email": "Guardian's e-mail",
            "consent_on": "Guardian's consent given on",
            "alternate": "Loops take turns within a day once they have been met",
            "note": "Note, for teachers only",
        }
        help_texts = {
            "name": "A first name is enough; keep as little about a child as you can.",
            "consent_on": "For a child, ask a parent or guardian first; the age and form depend on local law.",
        }
        widgets = {
            "consent_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "note": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args, **more):
        super().__init__(*args, **more)
        self.add_minutes_fields(self.instance.minutes)

    def save(self, commit=True):
        self.instance.minutes = self.minutes_given()
        return super().save(commit)

    def plain_fields(self):
        return [self[name] for name in self.Meta.fields]


class AwayForm(forms.ModelForm):
    """Days without practice."""

    class Meta:
        model = Away
        fields = ["first", "last", "ill"]
        labels = {"first": "From", "last": "To", "ill": "Ill: return gently, half the minutes at first"}
        widgets = {
            "first": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "last": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        }

    def clean(self):
        first, last = self.cleaned_data.get("first"), self.cleaned_data.get("last")
        if first and last and last < first:
            self.add_error("last", "The last day comes before the first.")
        return self.cleaned_data


class AssignForm(MinutesMixin, forms.Form):
    """Sections, goal, dates and minutes of an assignment. ``terms`` is what planning reads."""

    letters = forms.MultipleChoiceField(
        label="Sections",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one section."},
    )
    goal = forms.IntegerField(
        label="Goal tempo",
        min_value=30,
        max_value=300,
        error_messages={
            "min_value": "A goal tempo is at least 30.",
            "max_value": "A goal tempo is at most 300.",
        },
    )
    starts = forms.DateField(label="From", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    until = forms.DateField(label="Date", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    purpose = forms.ChoiceField(
        label="For", choices=[("lesson", "Lesson"), ("performance", "Performance")], required=False
    )
    start_goal = forms.IntegerField(required=False, min_value=30, max_value=300, widget=forms.HiddenInput)

    def __init__(self, *args, letters, student, today, **more):
        super().__init__(*args, **more)
        self.today = today
        self.fields["letters"].choices = [(letter, letter) for letter in letters]
        self.add_minutes_fields(student.minutes)

    def clean(self):
        starts, until = self.cleaned_data.get("starts"), self.cleaned_data.get("until")
        if starts and starts < self.today:
            self.add_error("starts", "This day is past.")
        if starts and until:
            if until <= starts:
                self.add_error("until", "The date must come after the first day of practice.")
            elif until > starts + timedelta(days=LONGEST):
                self.add_error("until", "Plan at most a year ahead.")
        return self.cleaned_data

    @property
    def terms(self) -> Terms:
        data = self.cleaned_data
        return Terms(
            tuple(data["letters"]),
            data["goal"],
            data["starts"],
            data["until"],
            data["purpose"] == "performance",
            data["start_goal"],
            self.minutes_given(),
        )


class TickForm(forms.Form):
    """What a learner records of a loop."""

    uuid = forms.UUIDField(widget=forms.HiddenInput)
    task = forms.IntegerField(widget=forms.HiddenInput)
    tempo = forms.IntegerField(min_value=20, max_value=320)
    felt = forms.ChoiceField(
        choices=Tick.FELT,
        error_messages={"required": "Say how it went.", "invalid_choice": "Say how it went."},
    )
    minutes = forms.IntegerField(required=False, min_value=0, max_value=MOST_MINUTES)


class MarkForm(forms.Form):
    """The teacher's judgement of one section."""

    standing = forms.ChoiceField(choices=Mark.STANDINGS)

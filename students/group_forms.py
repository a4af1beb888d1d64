"""What a teacher says of a group, and gives to one."""

from django import forms

from pieces.models import Arrangement
from students.groups import Common, arrangements_for
from students.models import Group, Student

NOBODY = "No arrangement of this piece fits"


class GroupForm(forms.ModelForm):
    """A group's name and who is in it."""

    class Meta:
        model = Group
        fields = ["name", "members"]
        labels = {"name": "Name of the group", "members": "Members"}
        widgets = {"members": forms.CheckboxSelectMultiple}
        error_messages = {"members": {"required": "Choose who is in the group."}}

    def __init__(self, *args, studio, **more):
        super().__init__(*args, **more)
        self.fields["members"].queryset = Student.objects.of(studio).learning()


class GroupAssignForm(forms.Form):
    """What is common to all, and for each member the arrangement, or nothing."""

    letters = forms.MultipleChoiceField(
        label="Sections",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one section."},
    )
    goal = forms.IntegerField(label="Goal tempo", min_value=30, max_value=300)
    until = forms.DateField(
        label="Date",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text="Empty: each one's own next lesson.",
    )
    purpose = forms.ChoiceField(
        label="For", choices=[("lesson", "Lesson"), ("performance", "Performance")], required=False
    )

    def __init__(self, *args, letters, arrangement: Arrangement, members, today, **more):
        super().__init__(*args, **more)
        self.today, self.members = today, list(members)
        self.fields["letters"].choices = [(letter, letter) for letter in letters]
        others = [each for each in arrangement.piece.arrangements.all() if each.pk != arrangement.pk]
        self.known = {each.pk: each for each in (arrangement, *others)}
        for student in self.members:
            fitting = arrangements_for(student, arrangement, others)
            self.fields[f"of_{student.pk}"] = forms.TypedChoiceField(
                label=f"Arrangement for {student.name}",
                choices=[*((each.pk, each.name) for each in fitting), ("", "leave out")],
                coerce=int,
                empty_value=None,
                required=False,
                initial=fitting[0].pk if fitting else "",
            )

    def clean(self):
        until = self.cleaned_data.get("until")
        if until and until <= self.today:
            self.add_error("until", "This day is past, or is today.")
        if self.cleaned_data.get("purpose") == "performance" and not until:
            self.add_error("until", "A performance needs its date.")
        return self.cleaned_data

    @property
    def common(self) -> Common:
        data = self.cleaned_data
        return Common(tuple(data["letters"]), data["goal"], data["until"], data["purpose"] == "performance")

    def choices(self) -> list[tuple[Student, Arrangement | None]]:
        """Each member with the arrangement that was chosen for them."""
        return [(student, self.known.get(self.cleaned_data[f"of_{student.pk}"])) for student in self.members]

    def choice_of(self, student: Student):
        """The field of one member."""
        return self[f"of_{student.pk}"]

    def can_play(self, student: Student) -> bool:
        return len(self.fields[f"of_{student.pk}"].choices) > 1

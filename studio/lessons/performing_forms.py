"""What a teacher says of a performance and puts into its programme."""

from django import forms

from pieces.models import Arrangement
from students.models import Group, Student
from studio.lessons.models import Performance


class PerformanceForm(forms.ModelForm):
    """When and where."""

    class Meta:
        model = Performance
        fields = ["title", "day", "place"]
        labels = {"day": "Date", "place": "Place, if you like"}
        widgets = {"day": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")}


class ItemForm(forms.Form):
    """A piece, and who plays it: one learner or a group."""

    arrangement = forms.ModelChoiceField(
        label="Piece", queryset=Arrangement.objects.none(), error_messages={"required": "Choose a piece."}
    )
    by = forms.ChoiceField(label="Played by", error_messages={"required": "Choose who plays it."})

    def __init__(self, *args, studio, **more):
        super().__init__(*args, **more)
        in_use = Arrangement.objects.of(studio).filter(piece__put_away=False).select_related("piece")
        self.fields["arrangement"].queryset = in_use.order_by("piece__title", "position")
        self.students = {f"s{s.pk}": s for s in Student.objects.of(studio).learning()}
        self.groups = {f"g{g.pk}": g for g in Group.objects.of(studio)}
        choices = [("", "---------")]
        if self.groups:
            choices.append(("Groups", [(key, group.name) for key, group in self.groups.items()]))
        choices.append(("Learners", [(key, student.name) for key, student in self.students.items()]))
        self.fields["by"].choices = choices

    @property
    def player(self) -> dict:
        """Who plays, as ``add_item`` takes it."""
        by = self.cleaned_data["by"]
        return {"group": self.groups[by]} if by in self.groups else {"student": self.students[by]}

"""Choosing what to print, for whom, and how it is set."""

from django import forms

from pieces.models import Arrangement
from pieces.music.tuning import TUNINGS
from pieces.print_options import PAPERS, PrintOptions
from students.models import Group, Student
from studio.handouts.jobs import lessons_this_week, members_of
from studio.handouts.sheets import PIECE_SHEETS, STUDENT_SHEETS

ALL = "all"


class SetForm(forms.Form):
    """How a handout is set: the choices of ``PrintOptions``."""

    paper = forms.ChoiceField(label="Paper", choices=list(PAPERS.items()))
    large = forms.BooleanField(label="Large text", required=False)
    left_handed = forms.BooleanField(label="Shapes for a left-handed player", required=False)
    staff = forms.BooleanField(label="With staff notation", required=False)
    no_count = forms.BooleanField(label="Without the count", required=False)
    words = forms.BooleanField(label="Every bar also in words", required=False)
    spread = forms.BooleanField(label="Roomy, even if it takes a second page", required=False)

    @property
    def options(self) -> PrintOptions:
        given = self.cleaned_data
        return PrintOptions(
            paper=given["paper"],
            large=given["large"],
            left_handed=given["left_handed"],
            staff=given["staff"],
            count=not given["no_count"],
            words=given["words"],
            one_page=not given["spread"],
        )

    def setting(self) -> list:
        """The switches, for the page."""
        return [self[name] for name in ("large", "left_handed", "staff", "no_count", "words", "spread")]


class StudentSheetForm(SetForm):
    """A sheet for one learner, a group, or everybody with a lesson this week."""

    whose = forms.ChoiceField(label="For")
    sheet = forms.ChoiceField(
        label="What",
        choices=[(s.name, s.label) for s in STUDENT_SHEETS.values()],
        widget=forms.RadioSelect,
    )

    def __init__(self, *args, studio, **more):
        super().__init__(*args, **more)
        self.studio = studio
        self._students = {str(s.pk): s for s in Student.objects.of(studio).learning()}
        self._groups = {f"group-{g.pk}": g for g in Group.objects.of(studio)}
        self.fields["whose"].choices = [
            (ALL, "everybody with a lesson in the next seven days"),
            *(("Groups", [(key, g.name) for key, g in self._groups.items()]),) * bool(self._groups),
            ("Learners", [(key, s.name) for key, s in self._students.items()]),
        ]

    @property
    def student(self) -> Student | None:
        """The one learner it is for, None where it is for several."""
        return self._students.get(self.cleaned_data["whose"])

    @property
    def group(self) -> Group | None:
        return self._groups.get(self.cleaned_data["whose"])

    def clean(self):
        given = super().clean()
        if "whose" in given and self.student is None:
            self.students = members_of(self.group) if self.group else lessons_this_week(self.studio)
            if not self.students:
                word = f"{self.group} has no members." if self.group else "Nobody has a lesson this week."
                self.add_error("whose", word)
        return given


class PieceSheetForm(SetForm):
    """A sheet of one arrangement."""

    arrangement = forms.ModelChoiceField(queryset=None, label="Piece", empty_label=None)
    sheet = forms.ChoiceField(
        label="What", choices=[(s.name, s.label) for s in PIECE_SHEETS.values()], widget=forms.RadioSelect
    )

    def __init__(self, *args, studio, **more):
        super().__init__(*args, **more)
        pieces = Arrangement.objects.of(studio).with_piece().filter(piece__put_away=False)
        self.fields["arrangement"].queryset = pieces.order_by("piece__title", "position")


class BlankForm(forms.Form):
    """Paper to write on."""

    KINDS = [("tab", "tab"), ("diagrams", "fret diagrams")]

    instrument = forms.ChoiceField(label="Instrument", choices=[(name, name) for name in TUNINGS])
    kind = forms.ChoiceField(label="Lines for", choices=KINDS, initial="tab")
    paper = forms.ChoiceField(label="Paper", choices=list(PAPERS.items()))

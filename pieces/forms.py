"""What a teacher types or chooses about a piece."""

from django import forms

from pieces.batches import MOST_BYTES, MOST_FILES
from pieces.models import Arrangement, Piece
from pieces.music.picking import STYLES
from pieces.music.score import UnreadableScore
from pieces.music.tab import read_tab
from pieces.music.tuning import TUNINGS

LONGEST_TAB = 64 * 1024


class TypedForm(forms.Form):
    """A piece as counted tab. ``score`` is what was read, once valid."""

    text = forms.CharField(
        label="Counted tab",
        strip=False,
        max_length=LONGEST_TAB,
        widget=forms.Textarea(attrs={"rows": 22, "spellcheck": "false", "autocapitalize": "off"}),
        error_messages={
            "required": "Type at least one bar.",
            "max_length": "This is longer than 64 KB. Cut the piece into two.",
        },
    )
    rights = forms.ChoiceField(label="Rights", choices=Piece.RIGHTS, required=False)

    def clean_text(self):
        text = self.cleaned_data["text"]
        try:
            self.score = read_tab(text)
        except UnreadableScore as unreadable:
            raise forms.ValidationError([str(problem) for problem in unreadable.problems]) from None
        return text


class AboutForm(forms.ModelForm):
    """Title, credit and rights of a piece."""

    class Meta:
        model = Piece
        fields = ["title", "credit", "rights", "put_away"]
        labels = {
            "credit": "Credit line",
            "put_away": "Put this piece away: it stays with those who play it, but leaves the list",
        }
        help_texts = {
            "credit": "Printed under the title: who made it, and whose arrangement it is.",
            "rights": "Printing copies of a piece whose rights are not yours may be against the law "
            "where you live. Fourbar asks before it prints one.",
        }


class SettingsForm(forms.ModelForm):
    """How an arrangement is played."""

    picking = forms.ChoiceField(label="Picking hand", choices=[(style, style) for style in STYLES])

    class Meta:
        model = Arrangement
        fields = ["name", "goal_tempo", "picking"]
        labels = {"name": "Name of this arrangement", "goal_tempo": "Goal tempo"}

    def clean_goal_tempo(self):
        tempo = self.cleaned_data["goal_tempo"]
        if not 30 <= tempo <= 300:
            raise forms.ValidationError("A goal tempo lies between 30 and 300 beats a minute.")
        return tempo


class FilesInput(forms.ClearableFileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """One file or several: always a list, none of them empty."""

    widget = FilesInput

    def clean(self, data, initial=None):
        files = data if isinstance(data, list | tuple) else [data]
        if len(files) > MOST_FILES:
            raise forms.ValidationError(
                f"These are {len(files)} files. Bring up to {MOST_FILES} at a time.", code="many"
            )
        if sum(file.size for file in files if file) > MOST_BYTES:
            raise forms.ValidationError("These are more than 64 MB. Bring them in two goes.", code="large")
        if len(files) > 1:
            return files
        return [super(FilesField, self).clean(file, initial) for file in files or [None]]


class BringForm(forms.Form):
    """A file to bring in, or many."""

    file = FilesField(
        label="File, or several at once",
        help_text="MusicXML (.musicxml, .xml, .mxl), ABC (.abc), MIDI (.mid) or counted tab (.txt).",
        error_messages={"required": "Choose a file.", "empty": "This file is empty."},
    )


class BroughtForm(forms.Form):
    """What Fourbar asks about a file before it becomes a piece."""

    GRIDS = [
        ("1/16", "sixteenths"),
        ("1/8", "eighths"),
        ("1/12", "eighth triplets"),
        ("1/24", "sixteenth triplets"),
    ]

    part = forms.ChoiceField(label="Which part", required=False)
    tuning = forms.ChoiceField(label="Instrument", choices=[(name, name) for name in TUNINGS])
    semitones = forms.TypedChoiceField(label="Key", coerce=int, required=False, empty_value=0)
    grid = forms.ChoiceField(label="Shortest note", choices=GRIDS, required=False)
    title = forms.CharField(label="Title", max_length=120, required=False)
    rights = forms.ChoiceField(label="Rights", choices=Piece.RIGHTS, required=False)

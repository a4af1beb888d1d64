"""What a teacher chooses before a tune is arranged, or set for another instrument."""

from django import forms

from pieces.music.chord_line import read_chords
from pieces.music.picking import STYLES
from pieces.music.score import Score
from pieces.music.tuning import TUNINGS

LONGEST_CHORDS = 8 * 1024


class ArrangeForm(forms.Form):
    """Instrument, key, picking and chords. ``symbols`` are the chords by bar number, once valid."""

    tuning = forms.ChoiceField(label="Instrument", choices=[(name, name) for name in TUNINGS])
    picking = forms.ChoiceField(label="Picking hand", choices=[(style, style) for style in STYLES])
    semitones = forms.IntegerField(label="Key", min_value=-36, max_value=36)
    chords = forms.CharField(
        label="Chords",
        required=False,
        max_length=LONGEST_CHORDS,
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false", "autocapitalize": "off"}),
        help_text="In the key the piece has now. | parts bars, / goes on with the chord before.",
    )

    def __init__(self, *args, score: Score, **more):
        super().__init__(*args, **more)
        self.score = score

    def clean_chords(self):
        text = self.cleaned_data["chords"]
        try:
            self.symbols = read_chords(text, self.score)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None
        return text


class InstrumentForm(forms.Form):
    """Another instrument, and what stays: what sounds, or where the fingers go."""

    KEEP = [("key", "The same key"), ("shapes", "The same shapes")]

    tuning = forms.ChoiceField(label="Instrument")
    keep = forms.ChoiceField(label="What stays", choices=KEEP, widget=forms.RadioSelect, initial="key")

    def __init__(self, *args, now: str, **more):
        super().__init__(*args, **more)
        self.fields["tuning"].choices = [(name, name) for name in TUNINGS if name != now]

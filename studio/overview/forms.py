"""What an owner decides for the whole studio."""

from zoneinfo import available_timezones

from django import forms

from pieces.music.counting import SYLLABLES, Syllables, UncountableRhythm, count_text, own_syllables
from pieces.music.score import Bar
from studio.accounts.models import Studio

OWN = "own"
# Rhythms by which ways of counting are told apart: eighths, a late sixteenth, a triplet, and six-eight.
EXAMPLES = (
    Bar.of("2/4", "1/4 1/8 1/8"),
    Bar.of("2/4", "1/4 3/16 1/16"),
    Bar.of("2/4", "1/4 1/12 1/12 1/12"),
    Bar.of("6/8", "1/4 1/8 1/8 1/8 1/8"),
)


def examples_of(way: Syllables) -> str:
    """How the example rhythms are said.

    >>> examples_of(SYLLABLES["1 la li"])
    '1 2 &  ·  1 2 a  ·  1 2 la li  ·  6/8: 1 li 2 la li'
    """
    said = []
    for bar in EXAMPLES:
        try:
            said.append(f"{'6/8: ' if bar.meter.compound else ''}{count_text(bar, way)}")
        except UncountableRhythm:
            said.append("no words for this")
    return "  ·  ".join(said)


class StudioForm(forms.ModelForm):
    """Name, time zone, paper and way of counting."""

    time_zone = forms.ChoiceField(
        label="Time zone",
        choices=lambda: [
            (name, name.replace("_", " ")) for name in sorted(available_timezones()) if "/" in name
        ],
        help_text="It decides which day is today.",
    )
    way = forms.ChoiceField(
        label="Way of counting",
        choices=[*((name, name) for name in SYLLABLES), (OWN, "my own words")],
        widget=forms.RadioSelect,
    )
    own = forms.CharField(
        label="My own words",
        required=False,
        max_length=160,
        help_text="Write whole beats, each from 1, parted by commas: 1 and, 1 tri plet, 1 e and a. "
        "What you leave out is said as in 1 & 2 &.",
    )

    class Meta:
        model = Studio
        fields = ["name", "time_zone", "paper", "felt_beats"]
        labels = {
            "name": "Name of the studio",
            "paper": "Paper",
            "felt_beats": "With my own words, count 6/8 in two, 9/8 in three",
        }
        help_texts = {"name": "Printed at the foot of every handout."}

    def __init__(self, *args, **more):
        super().__init__(*args, **more)
        now = self.instance.syllables
        self.initial["way"] = now if now in SYLLABLES else OWN
        self.initial["own"] = "" if now in SYLLABLES else now

    def ways(self) -> list[dict]:
        """The ways to choose among, with what the examples sound like in each."""
        chosen = self["way"].value()
        ways = [{"value": name, "label": name, "said": examples_of(way)} for name, way in SYLLABLES.items()]
        ways.append({"value": OWN, "label": "my own words", "said": self._own_examples()})
        return [{**way, "chosen": way["value"] == chosen} for way in ways]

    def clean(self):
        given = super().clean()
        if given.get("way") == OWN:
            words = given.get("own", "")
            if not words:
                self.add_error("own", "Write at least one beat, such as 1 and.")
            else:
                try:
                    own_syllables(words)
                except ValueError as error:
                    self.add_error("own", str(error))
        return given

    def save(self, commit=True):
        way = self.cleaned_data["way"]
        self.instance.syllables = self.cleaned_data["own"] if way == OWN else way
        return super().save(commit)

    def _own_examples(self) -> str:
        try:
            words = self["own"].value() or ""
            return examples_of(own_syllables(words, felt=bool(self["felt_beats"].value()))) if words else ""
        except ValueError:
            return ""

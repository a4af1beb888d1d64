"""The form of one bar: every part of it that was found, for the teacher to decide."""

from collections.abc import Iterator
from fractions import Fraction

from django import forms

from pieces.music.chords import UnknownChord, parse_chord
from pieces.music.counting import UncountableRhythm, count_at
from pieces.music.findings import Workup
from pieces.music.score import Bar
from pieces.music.shapes import shape_of

FINGERS = [("", "as found"), *((str(finger), str(finger)) for finger in (1, 2, 3, 4))]


class BarForm(forms.Form):
    """Chords by beat, shapes, fingers of both hands, difficulty, and whether it is its own bar.

    What is left as it was found is not stored; what is changed back is forgotten.
    """

    def __init__(self, *args, workup: Workup, bar: Bar, overrides: dict, **more):
        super().__init__(*args, **more)
        self.workup, self.bar, self.overrides = workup, bar, overrides
        self._add_chords()
        self._add_shapes()
        self._add_fingers()
        self._add_rest()

    def decided(self) -> Iterator[tuple[str, object]]:
        """Overrides to keep: key and value of every answer that differs from what is there now."""
        marks = self._chords_given()
        if marks != [[str(mark.onset), mark.symbol] for mark in self.bar.chords]:
            yield f"chords:{self.bar.number}", marks
        for name, value in self.cleaned_data.items():
            kind, _, place = name.partition("|")
            if kind == "shape" and value and value["frets"] != self.initial_shape(place):
                yield f"shape:{place}", value
            elif kind == "finger" and value:
                yield f"finger:{place}", int(value)
            elif kind == "pick" and value != self.fields[name].initial:
                yield f"pick:{place}", value
        if (rating := self.cleaned_data["difficulty"]) is not None:
            yield f"difficulty:{self.bar.number}", rating
        if self.cleaned_data.get("own"):
            yield f"own:{self.bar.number}", True

    def undecided(self) -> Iterator[str]:
        """Keys of overrides that the teacher took back."""
        number = self.bar.number
        if self.cleaned_data["difficulty"] is None:
            yield f"difficulty:{number}"
        if "own" in self.fields and not self.cleaned_data["own"]:
            yield f"own:{number}"
        for name, value in self.cleaned_data.items():
            kind, _, place = name.partition("|")
            if kind == "finger" and not value:
                yield f"finger:{place}"
            elif kind == "shape" and not value:
                yield f"shape:{place}"

    def initial_shape(self, symbol: str) -> list:
        shape = next((s for s in self.workup.shapes if s.symbol == symbol), None)
        return list(shape.frets) if shape else []

    def groups(self) -> dict[str, list]:
        """The fields by what they are about, in the order of the page."""
        groups: dict[str, list] = {"chord": [], "shape": [], "finger": [], "pick": []}
        for name in self.fields:
            groups.get(name.partition("|")[0], []).append(self[name])
        return groups

    def _add_chords(self):
        written = {mark.onset: mark.symbol for mark in self.bar.chords}
        beat = Fraction(1, self.bar.meter.unit)
        onsets = {beat * n for n in range(self.bar.meter.beats)} | set(written)
        for onset in sorted(onsets):
            self.fields[f"chord|{onset}"] = forms.CharField(
                label=f"Chord on {self._place(onset)}",
                required=False,
                max_length=12,
                initial=written.get(onset, ""),
            )

    def _add_shapes(self):
        for symbol in dict.fromkeys(mark.symbol for mark in self.bar.chords):
            own = self.overrides.get(f"shape:{symbol}")
            shape = next((s for s in self.workup.shapes if s.symbol == symbol), None)
            self.fields[f"shape|{symbol}"] = forms.CharField(
                label=f"Shape of {symbol}",
                required=False,
                max_length=24,
                initial=shape.written if shape else "",
                help_text="Your own; empty it to go back to what was found."
                if own
                else "Frets from the highest string number to string 1; x is not sounded.",
            )

    def _add_fingers(self):
        for at, event in enumerate(self.bar.events):
            for note in event.struck:
                if note.fret:
                    place = f"{self.bar.number}.{at}.{note.string}"
                    own = self.overrides.get(f"finger:{place}")
                    found = note.finger if note.finger else "none"
                    self.fields[f"finger|{place}"] = forms.ChoiceField(
                        label=f"{self._place(event.onset)}: string {note.string} fret {note.fret}",
                        choices=[("", f"as found{'' if own else f' ({found})'}"), *FINGERS[1:]],
                        required=False,
                        initial=str(own) if own else "",
                    )
            letters = "".join(note.pick for note in event.struck)
            if letters:
                self.fields[f"pick|{self.bar.number}.{at}"] = forms.RegexField(
                    "^[pima]+$",
                    label=f"{self._place(event.onset)}",
                    initial=letters,
                    max_length=6,
                    error_messages={"invalid": "Use the letters p, i, m and a, one for each string played."},
                )

    def _add_rest(self):
        number = self.bar.number
        self.fields["difficulty"] = forms.FloatField(
            label="How hard it is, 0 to 10",
            min_value=0,
            max_value=10,
            required=False,
            initial=self.overrides.get(f"difficulty:{number}"),
            help_text=f"Left empty, Fourbar's own counts: {self.workup.ratings[number].score:g}.",
            widget=forms.NumberInput(attrs={"step": "0.1"}),
        )
        first = self.workup.classes[number]
        if first != number or f"own:{number}" in self.overrides:
            label = f"Not the same as bar {first}" if first != number else "Not the same as an earlier bar"
            self.fields["own"] = forms.BooleanField(
                label=label, required=False, initial=f"own:{number}" in self.overrides
            )

    def clean(self):
        for name, value in list(self.cleaned_data.items()):
            kind, _, place = name.partition("|")
            if kind == "chord" and value:
                try:
                    parse_chord(value)
                except UnknownChord as error:
                    self.add_error(name, str(error))
            elif kind == "shape" and value:
                try:
                    self.cleaned_data[name] = self._shape_given(place, value)
                except ValueError as error:
                    self.add_error(name, str(error))
        return self.cleaned_data

    def _chords_given(self) -> list[list[str]]:
        given = (
            (n.partition("|")[2], v) for n, v in self.cleaned_data.items() if n.startswith("chord|") and v
        )
        return sorted(([onset, symbol] for onset, symbol in given), key=lambda mark: Fraction(mark[0]))

    def _shape_given(self, symbol: str, text: str) -> dict:
        tuning = self.workup.score.tuning
        marks = text.split("-") if "-" in text else list(text)
        if len(marks) != len(tuning.open_pitches):
            raise ValueError(f"Write one fret for each of the {len(tuning.open_pitches)} strings.")
        if not all(mark == "x" or mark.isdecimal() for mark in marks):
            raise ValueError("Write frets as numbers, and x for a string that is not sounded.")
        frets = tuple(None if mark == "x" else int(mark) for mark in marks)
        return {"frets": list(shape_of(symbol, frets, tuning).frets)}

    def _place(self, onset: Fraction) -> str:
        try:
            return count_at(self.bar, onset)
        except UncountableRhythm:
            return str(onset)

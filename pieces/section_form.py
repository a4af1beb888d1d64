"""The teacher's own cuts: a letter at each bar where a section begins."""

import re

from django import forms

from pieces.music.findings import Workup
from pieces.music.outline import span_of
from pieces.music.sections import Section

LETTER = re.compile(r"[A-Z][A-Z0-9]?'{0,2}")
PRIMES = str.maketrans({"′": "'", "’": "'", "″": "''"})
LONGEST = 4


class SectionsForm(forms.Form):
    """One field a bar; a letter begins a section there, empty goes on with the one before.

    ``cuts`` are then pairs of bar and letter, as ``pieces.music.decisions`` keeps them.
    """

    def __init__(self, *args, workup: Workup, **more):
        super().__init__(*args, **more)
        self.workup = workup
        begins = {section.first: section for section in workup.sections}
        for bar in workup.score.bars:
            section = begins.get(bar.number)
            self.fields[_name(bar.number)] = forms.CharField(
                label="Pickup" if bar.is_pickup else f"Bar {bar.number}",
                required=False,
                max_length=LONGEST,
                initial=section.letter if section else "",
                widget=forms.TextInput(attrs={"autocapitalize": "characters", "size": 3}),
            )

    def rows(self) -> list[dict]:
        """The bars for the page, each with what was found to begin there."""
        begins = {section.first: section for section in self.workup.sections}
        return [
            {
                "field": self[_name(bar.number)],
                "why": why_here(begins.get(bar.number)),
                "as": self._like(bar.number),
            }
            for bar in self.workup.score.bars
        ]

    @property
    def cuts(self) -> list[list]:
        given = ((bar.number, self.cleaned_data[_name(bar.number)]) for bar in self.workup.score.bars)
        return [[number, letter] for number, letter in given if letter]

    def clean(self):
        given = super().clean()
        for name, letter in list(given.items()):
            given[name] = letter.translate(PRIMES).upper()
            if (letter := given[name]) and not LETTER.fullmatch(letter):
                self.add_error(
                    name, f"{letter} is no section letter: write A, B, or A' for one that is nearly A."
                )
        if self.errors:
            return given
        first = self.workup.score.bars[0].number
        if not given[_name(first)]:
            where = "the pickup" if not first else f"bar {first}"
            self.add_error(_name(first), f"Something begins here: give {where} a letter.")
        else:
            self._judge_letters(given)
        return given

    def _judge_letters(self, given: dict) -> None:
        """The same letter means the same bars: learners are given sections by letter."""
        numbers = [bar.number for bar in self.workup.score.bars]
        starts = [at for at, number in enumerate(numbers) if given[_name(number)]]
        seen: dict[str, tuple[int, list[int]]] = {}
        for start, stop in zip(starts, [*starts[1:], len(numbers)], strict=True):
            letter = given[_name(numbers[start])]
            bars = [self.workup.classes[number] for number in numbers[start:stop]]
            earlier, theirs = seen.setdefault(letter, (numbers[start], bars))
            if bars != theirs:
                span = span_of(numbers[start], numbers[stop - 1])
                self.add_error(
                    _name(numbers[start]),
                    f"{letter} begins at bar {earlier} already, and {span} are not played the same. "
                    f"Write {letter}' if it is nearly the same, or another letter.",
                )

    def _like(self, number: int) -> int | None:
        first = self.workup.classes[number]
        return first if first != number else None


def why_here(section: Section | None) -> str:
    """Why a section begins at a bar, and how sure that is."""
    return f"{section.text} {how_sure(section)}".strip() if section else ""


def how_sure(section: Section) -> str:
    """How sure a section is, in words; "" where it was written or cut by hand.

    >>> how_sure(Section("A", 1, 4, None, "", 0.55)), how_sure(Section("A", 1, 4, None, "", 1.0))
    ('A guess.', '')
    """
    if section.sure >= 1:
        return ""
    return "Sure." if section.sure >= 0.8 else "Fairly sure." if section.sure >= 0.6 else "A guess."


def _name(number: int) -> str:
    return f"bar-{number}"

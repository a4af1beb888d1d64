"""How a handout is set: what the teacher may choose for any of them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace

from pieces.engraving.options import DESK, PAPER, StripOptions
from pieces.music.counting import BEATS_AND, Syllables

PAPERS = {"a4": "A4", "letter": "Letter"}
LARGER = 1.28  # the large text, in the usual one


@dataclass(frozen=True, slots=True)
class PrintOptions:
    """``words``: the long form, every bar also in words. ``one_page``: set smaller where one page then does."""

    paper: str = "a4"
    large: bool = False
    left_handed: bool = False
    staff: bool = False
    count: bool = True
    words: bool = False
    one_page: bool = True

    @classmethod
    def of(cls, asked: Mapping[str, str], *, paper: str = "a4", left_handed: bool = False) -> "PrintOptions":
        """Options from an address; what it does not say is as given, or the usual.

        >>> PrintOptions.of({"large": "1", "count": "0", "paper": "napkin"}, paper="letter").to_query()
        {'paper': 'letter', 'large': '1', 'count': '0'}
        """
        found = cls(paper=paper, left_handed=left_handed)
        if asked.get("paper") in PAPERS:
            found = replace(found, paper=asked["paper"])
        switches = {f.name: asked.get(f.name) == "1" for f in fields(cls) if asked.get(f.name) in ("0", "1")}
        return replace(found, **switches)

    def for_hand(self, *, left_handed: bool) -> "PrintOptions":
        """These options, drawn for a left-handed player where there is one."""
        return replace(self, left_handed=self.left_handed or left_handed)

    def to_query(self) -> dict[str, str]:
        """What differs from the usual, for an address; the paper always."""
        usual = PrintOptions()
        said = {f.name: getattr(self, f.name) for f in fields(self) if f.name != "paper"}
        return {"paper": self.paper} | {
            name: "1" if value else "0" for name, value in said.items() if value != getattr(usual, name)
        }

    def sizes(self) -> Iterator[bool]:
        """The settings to try, roomy first: whether each is tight."""
        yield False
        if self.one_page and not self.large:
            yield True

    def strip(self, *, tight: bool = False, syllables: Syllables = BEATS_AND) -> StripOptions:
        """How bars are engraved."""
        chosen = DESK.but(paper=True) if tight else PAPER
        if self.large:
            chosen = chosen.but(width=PAPER.width / LARGER)
        return chosen.but(left_handed=self.left_handed, counts=self.count, syllables=syllables)

    def body_class(self, *, tight: bool = False) -> str:
        """The class by which the style sheet sets the type."""
        return "large" if self.large else "tight" if tight else ""

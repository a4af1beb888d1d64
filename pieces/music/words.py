"""Numbers and lists as a teacher says them."""

from collections.abc import Iterable

_NAMES = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def spelled(number: int) -> str:
    """A small number in words, as in running text; a large one in figures.

    >>> spelled(6), spelled(0), spelled(16)
    ('six', 'no', '16')
    """
    return _NAMES[number] if 0 <= number < len(_NAMES) else str(number)


def counted(number: int, thing: str, things: str = "") -> str:
    """How many there are of a thing.

    >>> counted(1, "note"), counted(6, "note")
    ('one note', 'six notes')
    """
    return f"{spelled(number)} {thing if number == 1 else things or thing + 's'}"


def listed(items: Iterable[object]) -> str:
    """A list to be read aloud.

    >>> listed([1, 2, 3]), listed(["p"]), listed([])
    ('1, 2 and 3', 'p', '')
    """
    *most, last = [str(item) for item in items] or [""]
    return f"{', '.join(most)} and {last}" if most else last


def sentence(text: str) -> str:
    """``text`` with a capital and a full stop.

    >>> sentence("six notes in four counts")
    'Six notes in four counts.'
    """
    text = text.strip()
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '!', '?')) else '.'}" if text else ""

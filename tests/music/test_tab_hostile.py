"""A text made to be slow is answered as fast as any other of its size: 64 KB is what an upload may have."""

import time

import pytest

from pieces.music.tab import check_tab

SIZE = 64 * 1024


def four_strings(bar: str, count: str = "", repeats: int = 1) -> str:
    strings = [f"{name}|{bar * repeats}|" for name in "AECG"]
    return "\n".join([*strings, f"  {count * repeats}"])


HOSTILE = {
    "spaces before a sign": " " * SIZE + "Z",
    "letters that could be counts": "e" * SIZE + "X\n" + "an" * 9000 + "!",
    "endings without end": "1." * (SIZE // 2) + "x",
    "figures without end": "1" * SIZE + "x",
    "open boxes": "[ " * (SIZE // 2),
    "open brackets in a tuning": "tuning: " + "(" * SIZE,
    "chords without end": "A" + "m" * SIZE + "!",
    "frets without a barline": four_strings("0-" * (SIZE // 10), "1 " * (SIZE // 10)),
    "frets without a count": four_strings("0-" * (SIZE // 8)),
    "grace notes alone": four_strings("g0-" * (SIZE // 12)),
    "joins alone": four_strings("g" * (SIZE // 4)),
    "junk on every string": four_strings("q-" * (SIZE // 8)),
    "bars without end": four_strings("0|", "1 ", SIZE // 10),
    "strings without end": "A|-0-|\n" * (SIZE // 7),
    "full bars": four_strings("-0" * 64 + "-|", " 1" + " +1/99" * 21, SIZE // 700),
    "marks without end": "C " * (SIZE // 12)
    + "\n"
    + four_strings("0-" * 64 + "|", "1 " * 64 + " ", SIZE // 900),
    "headers without end": "title: x\n" * (SIZE // 9),
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_a_hostile_text_is_answered_in_five_seconds(text):
    began = time.process_time()
    _, problems = check_tab(text)
    spent = time.process_time() - began
    assert problems
    assert len(problems) <= 301
    assert spent < 5, f"{spent:.1f} s"

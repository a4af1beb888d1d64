"""Texts as they arrive in real life: typed badly, cut off, pasted through something that spoils them."""

import random

GOOD = (
    """title: Two Lanterns
tuning: ukulele high G
meter: 4/4
tempo: 76

   C               Am
A|-3---2---0-----|-0-------2-3---|
E|-0-------------|-0-------------|
C|-0-------0-----|-0-------------|
G|-0-------------|-2-------------|
   1   2   3   4   1   2   3 & 4
""",
    """title: Ferry Steps
tuning: guitar
meter: 6/8
key: Am
note: slowly, as a boat rocks

   [A]             1.             2.
   Am              E7             Am
E|:0-----2-3-4----|-----r-0-h1--:|-(0)-----------|
B|:1--------------|-3-----------:|-1-------------|
G|:2-----x--------|-1-------g2-3:|-2~1/2---------|
D|:---------------|-------------:|---------------|
A|:0--------------|-------------:|-0-------------|
E|:---------------|-0-----------:|---------------|
   D     U   U
   p     i m a      p     i m
   1 (2) 3 4 5 (6)  1 & a 2 & a    1 (2) 3 (4) 5 6
""",
    """tuning: G4 C4 E4 A4
meter: 3/4

A|-0-|-2-3-----<12>-|-x-x-x-----------|
E|---|--------------|-----------------|
C|---|-----5-/4-----|-----------------|
G|---|--------------|---------r-4-----|
   3   1 2 la li (3)  1 e & (a) 2 3 +1/8
bar 2: listen for the bell
""",
)
_JUNK = "|-:()[]<>~/\\hpxrg.,&+eaD>U0123456789 \t–—−|ABCdefg\x00\ufeff\u2028😀éß١"


def mangled_texts(number: int, seed: int = 4):
    """``number`` spoiled texts, the same for the same seed."""
    chance = random.Random(seed)
    for _ in range(number):
        text = chance.choice(GOOD)
        for _ in range(chance.choice((1, 1, 2, 3, 8, 40))):
            text = chance.choice(_WAYS)(text, chance)
        yield text


def _drop(text, chance):
    at = chance.randrange(len(text) + 1)
    return text[:at] + text[at + chance.choice((1, 1, 2, 15)) :]


def _insert(text, chance):
    at = chance.randrange(len(text) + 1)
    return text[:at] + "".join(chance.choice(_JUNK) for _ in range(chance.choice((1, 1, 3)))) + text[at:]


def _replace(text, chance):
    at = chance.randrange(len(text) + 1)
    return text[:at] + chance.choice(_JUNK) + text[at + 1 :]


def _cut_off(text, chance):
    return text[: chance.randrange(len(text) // 2, len(text) + 1)]


def _move_line(text, chance):
    lines = text.split("\n")
    line = lines.pop(chance.randrange(len(lines)))
    lines.insert(chance.randrange(len(lines) + 1), line)
    return "\n".join(lines)


def _lose_line(text, chance):
    lines = text.split("\n")
    del lines[chance.randrange(len(lines))]
    return "\n".join(lines) or "\n"


def _repeat_line(text, chance):
    lines = text.split("\n")
    at = chance.randrange(len(lines))
    return "\n".join(lines[:at] + [lines[at]] * 2 + lines[at + 1 :])


def _squeeze(text, chance):
    return text.replace(
        chance.choice(("--", "  ", "|", "\n\n")), chance.choice(("-", " ", "")), chance.randrange(1, 9)
    )


def _shout(text, chance):
    return text.upper() if chance.random() < 0.2 else text.swapcase()


_WAYS = (
    _drop,
    _insert,
    _replace,
    _cut_off,
    _move_line,
    _lose_line,
    _repeat_line,
    _squeeze,
    _insert,
    _replace,
    _shout,
)

"""The learner's map as a picture: a week is a bar, and its bar line is the standing.

A row is a section, under its rehearsal letter. Its upper line is the goal tempo, its
lower line half of it; the tempo that was reached stands between them at its height,
as a number on a line. A number in a box went clean, one in brackets broke down, as in
the days' tab. The bar line that closes a week says where the section stood then: none
before it was given, dashed new, single learning, double at tempo, final secure,
repeat due again. What the teacher marked is written under the line.
"""

from html import escape

from pieces.engraving.ink import Text, dot, draw_texts, line, num, rectangle, solid
from students.map_page import Cell, LearnerMap, PieceRows

WIDTH, GUTTER = 660, 66
HEAD, TITLE, ROW, FOOT, GAP = 26, 28, 68, 40, 4
RISE, MARKS = 40, 16  # of a row: between half the goal and the goal, and for the mark beneath
BASE = ROW - MARKS - 4
SMALL, NUMBER = 11.5, 13


def draw_map(shown: LearnerMap) -> str:
    """The map as an ``<svg>`` with a title; the same facts stand in a table beside it.

    Units are CSS pixels at the width of ``WIDTH``.
    """
    tops, height = _tops(shown)
    column = (WIDTH - GUTTER) / len(shown.weeks)
    body = [_head(shown, column)]
    for piece, top in zip(shown.pieces, tops, strict=True):
        body.append(_piece(piece, top, column))
    body.append(_foot(shown, height - FOOT, column))
    return (
        f'<svg class="strip map" viewBox="0 0 {WIDTH} {num(height)}" role="img" '
        f'xmlns="http://www.w3.org/2000/svg"><title>{escape(title_of(shown), quote=False)}</title>'
        f"{''.join(body)}</svg>"
    )


def title_of(shown: LearnerMap) -> str:
    """What the picture shows, in a sentence."""
    pieces = ", ".join(dict.fromkeys(piece.title for piece in shown.pieces))
    return f"{len(shown.weeks)} weeks of {pieces}: standing, tempo and marks of each section."


def _tops(shown: LearnerMap) -> tuple[list[float], float]:
    tops, y = [], HEAD
    for piece in shown.pieces:
        tops.append(y)
        y += TITLE + ROW * len(piece.sections) + GAP
    return tops, y + FOOT


def _head(shown: LearnerMap, column: float) -> str:
    band = solid(rectangle(GUTTER, 0, WIDTH, HEAD), "band")
    texts = [Text(4, 17, "Week from", SMALL, anchor="start")]
    for n, week in enumerate(shown.weeks):
        texts.append(Text(_middle(n, column), 17, f"{week.day} {week:%b}", NUMBER, "said", "c"))
    return band + draw_texts(texts)


def _foot(shown: LearnerMap, top: float, column: float) -> str:
    band = solid(rectangle(GUTTER, top, WIDTH, top + FOOT), "band")
    texts = [
        Text(4, top + 17, "Minutes", SMALL, anchor="start"),
        Text(4, top + 33, "Days", SMALL, anchor="start"),
    ]
    for n, (days, minutes) in enumerate(zip(shown.days, shown.minutes, strict=True)):
        x = _middle(n, column)
        texts.append(Text(x, top + 17, f"{minutes}", NUMBER, "read bold", "ink"))
        texts.append(Text(x, top + 33, f"{days}", SMALL))
    return band + draw_texts(texts)


def _piece(piece: PieceRows, top: float, column: float) -> str:
    texts = [
        Text(4, top + 18, piece.title, NUMBER, "read bold", "ink", "start"),
        Text(WIDTH - 4, top + 18, f"goal {piece.goal}", SMALL, anchor="end"),
    ]
    rows = [
        _row(section.letter, section.cells, piece.goal, top + TITLE + ROW * n, column)
        for n, section in enumerate(piece.sections)
    ]
    return draw_texts(texts) + "".join(rows)


def _row(letter: str, cells: tuple[Cell, ...], goal: int, top: float, column: float) -> str:
    base = top + BASE
    lines = line(f"M{GUTTER} {num(base - RISE)}H{WIDTH}", "st", 1) + line(
        f"M{GUTTER} {num(base)}H{WIDTH}", "gr", 1
    )
    shown = letter.replace("'", "′")
    box = line(rectangle(4, top + 10, 44, top + 36), "sm", 2)
    name = draw_texts([Text(24, top + 28.5, shown, 16, "said", "ink")])
    return lines + box + name + _tempos(cells, goal, base, column) + _standings(cells, base, column)


def _tempos(cells: tuple[Cell, ...], goal: int, base: float, column: float) -> str:
    """The numbers at their heights, joined where weeks follow each other, and the marks beneath."""
    path, halos, boxes, texts = [], [], [], []
    before = False
    for n, cell in enumerate(cells):
        x = _middle(n, column)
        if cell.mark:
            texts.append(Text(x, base + MARKS, cell.mark, SMALL, "read bold", "ink"))
        if cell.tempo is None:
            before = False
            continue
        y = height_of(cell.tempo, goal, base)
        path.append(f"{'L' if before else 'M'}{num(x)} {num(y)}")
        before = True
        text = Text(x, y + 4.5, f"({cell.tempo})" if cell.felt == "broke" else f"{cell.tempo}", NUMBER)
        if cell.felt == "clean":
            text = text._replace(voice="read bold")
        text = text._replace(look="ink")
        half = text.width / 2 + 4
        frame = rectangle(x - half, y - 9, x + half, y + 9)
        halos.append(frame)
        if cell.felt == "clean":
            boxes.append(frame)
        texts.append(text)
    return (
        line("".join(path), "sm", 1.2)
        + solid("".join(halos), "halo")
        + line("".join(boxes), "sm", 1.6)
        + draw_texts(texts)
    )


def height_of(tempo: int, goal: int, base: float) -> float:
    """Where a tempo stands: on the base line at half the goal or less, on the upper line at the goal.

    >>> height_of(76, 76, 100), height_of(57, 76, 100), height_of(30, 76, 100)
    (60.0, 80.0, 100.0)
    """
    share = min(1.0, max(0.0, tempo / goal * 2 - 1))
    return base - RISE * share


def _standings(cells: tuple[Cell, ...], base: float, column: float) -> str:
    """The bar line that closes each week."""
    parts = []
    top, foot = base - RISE - 5, base + 5
    for n, cell in enumerate(cells):
        right = GUTTER + column * (n + 1) - (1 if n < len(cells) - 1 else 2)
        parts.append(bar_line(cell.standing, right, top, foot))
    return "".join(parts)


def bar_line(standing: str | None, right: float, top: float, foot: float) -> str:
    """The bar line of a standing, ending at ``right``; nothing where there is none."""

    def upright(x: float) -> str:
        return f"M{num(x)} {num(top)}V{num(foot)}"

    if standing is None:
        return ""
    if standing == "new":
        return line(upright(right - 1), "sm", 1.6, more=' stroke-dasharray="4 3"')
    if standing == "learning":
        return line(upright(right - 1), "sm", 1.6)
    if standing == "at tempo":
        return line(upright(right - 1) + upright(right - 5), "sm", 1.6)
    final = line(upright(right - 2), "sm", 4) + line(upright(right - 7), "sm", 1.4)
    if standing == "secure":
        return final
    middle = (top + foot) / 2
    return final + solid(dot(right - 12, middle - 6, 2) + dot(right - 12, middle + 6, 2), "ink")


def _middle(n: int, column: float) -> float:
    """The middle of a week's bar, a little left of it, as its bar line stands on the right."""
    return GUTTER + column * (n + 0.5) - 3

"""A piece on paper: its bars, its lesson in words, its chords; and paper to write on.

Each handout is a list of pages to choose from (see ``pieces.paper.set_page``): roomy,
then tight where one sheet should do.
"""

import re
from collections.abc import Iterable

from pieces.engraving.blank import blank_diagram, blank_strip
from pieces.engraving.diagram import diagram
from pieces.engraving.options import NOTE
from pieces.engraving.strip import strips
from pieces.models import Arrangement
from pieces.music.bar_words import name_of, say_shape
from pieces.music.describe import piece_head
from pieces.music.findings import Workup, work_up
from pieces.music.held import strings_needed
from pieces.music.keys import key_in_words
from pieces.music.order import order_in_words
from pieces.music.outline import BarOutline
from pieces.music.score import Score
from pieces.music.tuning import Tuning
from pieces.outlining import known_of, outline_of
from pieces.paper import as_image, html_of, pdf_of
from pieces.print_options import PrintOptions
from pieces.showing import bars_of, change_lines, hard_spans, piece_staves, piece_strips, shape_drawings
from pieces.workup import workup_of

UNSETTLED = "Rights not settled: for the learner's own use only, where local law allows it."
SHAPE_WIDTH = "17mm"
# Shapes on a line, and the letters that then fit beside one, as print.css sets them.
NARROW, WIDE = (5, 14), (3, 30)
SHAPE_MM, SYMBOL_MM, LINE_MM = 17, 8, 3.6
DIAGRAMS_IN_A_ROW, DIAGRAM_ROW_MM = 5, 40
WRITABLE_MM = {"a4": 297 - 28 - 14, "letter": 279 - 28 - 14}  # without margins and head
LINE_WIDTH_MM, LINE_GAP_MM = 180, 4.5
HEIGHT = re.compile(r'viewBox="0 0 [\d.]+ ([\d.]+)"')
BESIDE = NOTE.but(width=360, per_system=1, paper=True, closed=False, fingers=True)  # a bar beside its words


def piece_pages(arrangement: Arrangement, options: PrintOptions) -> list[str]:
    """The whole piece: bars with their count, the shapes used, sections and rights."""
    workup, heading = workup_of(arrangement), _heading(arrangement)
    return [_piece_page(workup, heading, options, tight) for tight in options.sizes()]


def piece_handout(arrangement: Arrangement, options: PrintOptions) -> bytes:
    """``piece_pages`` as a PDF."""
    return pdf_of(piece_pages(arrangement, options))


def score_handout(score: Score, options: PrintOptions) -> bytes:
    """A score that no studio has stored, on paper."""
    heading = {
        "title": score.title or "Untitled",
        "name": score.tuning.name,
        "credit": score.credit,
        "studio": {"name": "Fourbar"},
        "rights": UNSETTLED,
    }
    workup = work_up(score)
    return pdf_of([_piece_page(workup, heading, options, tight) for tight in options.sizes()])


def outline_handout(arrangement: Arrangement, options: PrintOptions) -> bytes:
    """The lesson outline: section by section, each new bar beside its words."""
    workup = workup_of(arrangement)
    known = known_of(workup, left_handed=options.left_handed)
    sections = [
        {
            "letter": outline.section.letter,
            "head": outline.head.partition(", ")[2],
            "notes": outline.notes,
            "bars": outline_lines(workup, outline.bars, options),
        }
        for outline in outline_of(workup, left_handed=options.left_handed)
    ]
    context = {
        **_heading(arrangement),
        "head": piece_head(workup.sections, known)[1:],
        "sections": sections,
    }
    return pdf_of([html_of("print/outline.html", context, options)])


def chords_handout(arrangement: Arrangement, options: PrintOptions) -> bytes:
    """The chord sheet: every shape used, large, with where its fingers go; then the changes."""
    workup = workup_of(arrangement)
    shapes = [
        {
            "symbol": shape.symbol,
            "drawing": as_image(
                diagram(
                    shape,
                    needed=strings_needed(workup.holds, shape),
                    left_handed=options.left_handed,
                    width="26mm",
                ),
                css_class="shape",
            ),
            "words": say_shape(shape).partition(": ")[2],
            "written": shape.written,
            "where": _where(hold.bar for hold in workup.holds if hold.shape == shape),
        }
        for shape in workup.shapes
    ]
    context = {**_heading(arrangement), "shapes": shapes, "changes": change_lines(workup)}
    return pdf_of([html_of("print/chords.html", context, options, tight=tight) for tight in options.sizes()])


def blank_handout(tuning: Tuning, kind: str, studio, options: PrintOptions) -> bytes:
    """Paper to write on: ``kind`` is "tab" or "diagrams". Raises ValueError on any other."""
    if kind not in ("tab", "diagrams"):
        raise ValueError("Paper to write on is tab or diagrams.")
    context = {"title": tuning.name, "kind": kind, "studio": studio}
    if kind == "tab":
        strip = options.strip()
        line = blank_strip(tuning, options=strip)
        tall = float(HEIGHT.search(line)[1]) * LINE_WIDTH_MM / strip.width + LINE_GAP_MM
        context["lines"] = [as_image(line)] * int(WRITABLE_MM[options.paper] / tall)
    else:
        row = [as_image(blank_diagram(len(tuning.open_pitches)), css_class="grid")] * DIAGRAMS_IN_A_ROW
        context["rows"] = [row] * (WRITABLE_MM[options.paper] // DIAGRAM_ROW_MM)
    return pdf_of([html_of("print/blank.html", context, options)])


def outline_lines(workup: Workup, outlines: Iterable[BarOutline], options: PrintOptions) -> list[dict]:
    """Bars beside their words; one that is like an earlier bar has its words only."""
    lines = []
    for outline in outlines:
        number = outline.bar.number
        drawn = []
        if workup.classes[number] == number:
            drawn = strips(
                bars_of(workup, [number]),
                workup.score.tuning,
                BESIDE.but(syllables=workup.syllables, counts=options.count),
                hard=hard_spans(workup),
            )
        lines.append(
            {
                "name": name_of(outline.bar),
                "strip": as_image(drawn[0]) if drawn else "",
                "said": outline.said,
            }
        )
    return lines


def shapes_part(workup: Workup, numbers: Iterable[int], options: PrintOptions) -> dict:
    """The shapes of some bars as images, with what the hand does to get to each.

    ``wide``: what it does takes so many words that three to a line take less room than five.
    """
    drawings = shape_drawings(workup, numbers, left_handed=options.left_handed, width=SHAPE_WIDTH)
    shapes = [{**line, "drawing": as_image(line["drawing"], css_class="shape")} for line in drawings]
    return {"shapes": shapes, "wide": _room(drawings, *WIDE) < _room(drawings, *NARROW)}


def _room(drawings: list[dict], on_a_line: int, letters: int) -> float:
    """About how many millimetres down the page the shapes take with so many on a line."""
    needed = [max(SHAPE_MM, SYMBOL_MM + LINE_MM * -(-len(line["text"]) // letters)) for line in drawings]
    return sum(max(needed[at : at + on_a_line]) for at in range(0, len(needed), on_a_line))


def rights_line(piece) -> str:
    """What stands at the foot of every page that shows the piece."""
    said = {
        "public": "Traditional or out of copyright; this arrangement is the studio's own.",
        "own": "Our own piece.",
        "licensed": "Printed by permission; do not copy further.",
    }
    line = said.get(piece.rights, UNSETTLED)
    return f"{piece.credit} {line}".strip()


def _heading(arrangement: Arrangement) -> dict:
    piece = arrangement.piece
    return {
        "title": piece.title,
        "name": arrangement.name,
        "credit": piece.credit,
        "studio": arrangement.studio,
        "rights": rights_line(piece),
    }


def _piece_page(workup: Workup, heading: dict, options: PrintOptions, tight: bool) -> str:
    score = workup.score
    facts = (str(score.meter), key_in_words(score.key), f"goal {workup.goal}")
    strip = options.strip(tight=tight)
    drawn = piece_strips(workup, strip)
    staves = piece_staves(workup, strip) if options.staff else [""] * len(drawn)
    context = {
        **heading,
        "summary": " · ".join(fact for fact in facts if fact),
        "order": order_in_words(score, workup.order),
        "systems": [
            (as_image(staff, css_class="staff") if staff else "", as_image(strip))
            for staff, strip in zip(staves, drawn, strict=True)
        ],
        **shapes_part(workup, [bar.number for bar in score.bars], options),
        "outline": outline_of(workup, left_handed=options.left_handed) if options.words else (),
    }
    return html_of("print/piece.html", context, options, tight=tight)


def _where(bars: Iterable[int]) -> str:
    numbers = sorted(set(bars))
    return f"bar{'s' * (len(numbers) > 1)} {', '.join(map(str, numbers))}"

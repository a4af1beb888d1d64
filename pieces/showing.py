"""What the pages of a piece show, drawn and in words, from its workup."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from pieces.corrected import corrected_of
from pieces.engraving.diagram import diagram
from pieces.engraving.options import DESK, StripOptions
from pieces.engraving.staff import staff
from pieces.engraving.strip import lines_of_bars, strips
from pieces.models import Arrangement, Override
from pieces.music.counting import BEATS_AND, Syllables
from pieces.music.describe import describe_bar
from pieces.music.difficulty import Corrected
from pieces.music.findings import Workup
from pieces.music.held import strings_needed
from pieces.music.keys import key_in_words
from pieces.music.order import order_in_words
from pieces.music.score import Bar, Score
from pieces.music.shapes import Shape, reduce_shape
from pieces.music.words import listed
from pieces.section_form import how_sure
from pieces.workup import workup_with

HARD_FROM = 5.0  # a bar is bracketed from this rating on
HARD_SPOTS = 4
SHOWN_AT_ONCE = 3


def hard_spans(workup: Workup, *, least: float = HARD_FROM) -> dict:
    """Bar number to the onsets between which it is hard."""
    return {
        number: rating.worst
        for number, rating in workup.ratings.items()
        if rating.worst and rating.score >= least
    }


def bars_of(workup: Workup, numbers: Iterable[int]) -> list[Bar]:
    """Bars by number, in the order asked for."""
    by_number = {bar.number: bar for bar in drawn_bars(workup)}
    return [by_number[number] for number in numbers if number in by_number]


def with_letters(workup: Workup) -> list[Bar]:
    """All bars, each section's letter on its first."""
    letters = {section.first: section.letter.replace("'", "′") for section in workup.sections}
    return [replace(bar, letter=letters.get(bar.number, "")) for bar in drawn_bars(workup)]


def drawn_bars(workup: Workup) -> list[Bar]:
    """The bars of the piece ``as_drawn``."""
    return as_drawn(workup.score.bars)


def as_drawn(bars: Sequence[Bar]) -> list[Bar]:
    """Bars as they are drawn: an arrow or accent only where it tells something.

    Where every strum goes down, as the thumb's does, arrows say nothing, and the
    tune of a melody over chords is not accented at each chord.
    """
    strokes = {event.stroke for bar in bars for event in bar.events if event.stroke}
    arrows = "up" in strokes
    return [
        replace(
            bar,
            events=tuple(
                replace(event, stroke=event.stroke if arrows else "", accent=False) for event in bar.events
            ),
        )
        for bar in bars
    ]


def piece_strips(workup: Workup, options: StripOptions = DESK) -> list[str]:
    """The whole piece, one SVG a system, repeats plain and hard counts bracketed."""
    return strips(
        with_letters(workup),
        workup.score.tuning,
        options.but(syllables=workup.syllables),
        hard=hard_spans(workup),
        same_as=workup.classes,
    )


def piece_staves(workup: Workup, options: StripOptions = DESK) -> list[str]:
    """Staff notation for each system of the strip, to stand above it."""
    score = workup.score
    counted = options.but(syllables=workup.syllables)
    lines = lines_of_bars(with_letters(workup), score.tuning, counted)
    return [
        staff(
            replace(score, bars=tuple(line)),
            width=options.width,
            per_system=len(line),
            prefix=f"s{at}",
            syllables=workup.syllables,
            opens=at == 0,
            ends=at == len(lines) - 1,
            full=len(line) == max(map(len, lines)),
        )
        for at, line in enumerate(lines)
    ]


def draft_strips(score: Score, syllables: Syllables = BEATS_AND) -> list[str]:
    """What was typed or read so far, engraved as it stands."""
    options = DESK.but(per_system=2, width=560, meter=True, syllables=syllables)
    return strips(score.bars, score.tuning, options)


def piece_page(arrangement: Arrangement, *, staff_shown=False) -> dict:
    """Everything the Piece page shows."""
    rows = {row.key: row for row in Override.objects.filter(arrangement=arrangement)}
    workup = workup_with(arrangement, arrangement.current, {key: row.value for key, row in rows.items()})
    open_findings = [finding for finding in workup.findings if not _decided(finding, rows)]
    corrected = corrected_of(arrangement, workup)
    drawn = piece_strips(workup)
    staves = piece_staves(workup) if staff_shown else [""] * len(drawn)
    return {
        "arrangement": arrangement,
        "arrangements": arrangement.piece.arrangements.all(),
        "summary": _summary(workup),
        "to_learn": len(workup.new_bars),
        "order": order_in_words(workup.score, workup.order),
        "near": workup.near,
        "systems": list(zip(staves, drawn, strict=True)),
        "staff_shown": staff_shown,
        "sections": [_section_line(workup, section) for section in workup.sections],
        "shapes": [_shape_line(workup, shape) for shape in workup.shapes],
        "changes": change_lines(workup),
        "problems": workup.problems,
        "open": open_findings[:SHOWN_AT_ONCE],
        "found": len(workup.findings),
        "hard": [_spot(workup, number, corrected) for number in hardest(workup, corrected)],
        "bar_numbers": [bar.number for bar in workup.score.bars],
        "decided": [
            {"key": key, "said": said} for key, row in rows.items() if (said := _decision_in_words(row))
        ],
    }


def bar_page(arrangement: Arrangement, workup: Workup, bar: Bar) -> dict:
    """Everything the page of one bar shows."""
    numbers = [other.number for other in workup.score.bars]
    place = numbers.index(bar.number)
    before = workup.score.bars[place - 1] if place else None
    first = workup.classes[bar.number]
    drawn = strips(
        [bar],
        workup.score.tuning,
        DESK.but(width=520, per_system=1, fingers=True, syllables=workup.syllables),
        hard=hard_spans(workup, least=0),
        before=before,
    )
    return {
        "arrangement": arrangement,
        "bar": bar,
        "strip": "".join(drawn),
        "words": describe_bar(
            bar,
            tuning=workup.score.tuning,
            shapes=shapes_by_symbol(workup),
            before=before,
            same_as=first if first != bar.number else None,
            rating=workup.ratings[bar.number],
            near=next((repeat.text for repeat in workup.near if repeat.bar == bar.number), ""),
            syllables=workup.syllables,
        ),
        "rating": workup.ratings[bar.number],
        "corrected": corrected_of(arrangement, workup).get(bar.number),
        "shapes": shape_drawings(workup, [bar.number]),
        "before": numbers[place - 1] if place else None,
        "after": numbers[place + 1] if place + 1 < len(numbers) else None,
    }


def shapes_by_symbol(workup: Workup) -> dict:
    """The shape of each symbol, the first used where there are several."""
    shapes: dict = {}
    for hold in workup.holds:
        if hold.shape:
            shapes.setdefault(hold.symbol, hold.shape)
    return shapes


def hardest(workup: Workup, corrected: Mapping[int, Corrected] = {}) -> list[int]:
    """The numbers of the hardest bars, each class once, hardest first, as learners found them."""
    scores = {n: (corrected.get(n) or workup.ratings[n]).score for n in workup.new_bars}
    numbers = sorted(scores, key=lambda n: (-scores[n], n))
    return [number for number in numbers if scores[number] > 0][:HARD_SPOTS]


def shape_drawings(
    workup: Workup, numbers: Iterable[int], *, left_handed=False, width="3.5rem"
) -> list[dict]:
    """The shapes held in some bars, each once, with what the hand does to get there."""
    wanted, lines, last = set(numbers), [], None
    within = [hold for hold in workup.holds if hold.bar in wanted]
    for hold in workup.holds:
        if hold.shape is None:
            continue
        if hold.bar in wanted and all(line["shape"] != hold.shape for line in lines):
            change = next((c for c in workup.changes if (c.bar, c.onset) == (hold.bar, hold.onset)), None)
            stays = change.change.kept if change and last is not None else ()
            needed = strings_needed(within, hold.shape)
            lines.append(
                {
                    "shape": hold.shape,
                    "symbol": hold.symbol,
                    "drawing": diagram(
                        hold.shape, needed=needed, stays=stays, left_handed=left_handed, width=width
                    ),
                    "text": change.change.text if change else "",
                }
            )
        last = hold.shape
    return lines


def _summary(workup: Workup) -> str:
    score = workup.score
    bars = f"{len(score.bars)} bar{'s' if len(score.bars) != 1 else ''}"
    parts = [str(score.meter), key_in_words(score.key), f"goal {workup.goal}", bars]
    return " · ".join(part for part in parts if part)


def _section_line(workup: Workup, section) -> dict:
    new = [n for n in range(section.first, section.last + 1) if workup.classes.get(n) == n]
    if section.same_as is not None or not new:
        work = "Nothing new: its joins and the run"
    else:
        work = f"{len(new)} new bar{'s' if len(new) != 1 else ''}"
    one = section.first == section.last
    bars = f"bar {section.first}" if one else f"bars {section.first} to {section.last}"
    sure = how_sure(section)
    return {"letter": section.letter, "bars": bars, "work": work, "sure": sure}


def _shape_line(workup: Workup, shape) -> dict:
    needed = strings_needed(workup.holds, shape)
    shown = reduce_shape(shape, needed) if needed else shape
    return {
        "symbol": shape.symbol,
        "drawing": diagram(shape, needed=needed, width="3.5rem"),
        "reasons": " ".join(shown.reasons[:2]),
    }


def change_lines(workup: Workup) -> list[dict]:
    """The changes of shape, each once with the bars it is in, hardest first."""
    seen: dict = {}
    for at in workup.changes:
        seen.setdefault((at.before, at.after, at.change.text), []).append(at.bar)
    ordered = sorted(
        seen.items(),
        key=lambda item: -max(c.change.cost for c in workup.changes if (c.before, c.after) == item[0][:2]),
    )
    return [
        {"before": before, "after": after, "text": text, "where": _bars(numbers)}
        for (before, after, text), numbers in ordered
    ]


def _bars(numbers: list[int]) -> str:
    unique = sorted(set(numbers))
    return f"bar{'s' if len(unique) > 1 else ''} {', '.join(map(str, unique))}"


def _spot(workup: Workup, number: int, corrected: Mapping[int, Corrected]) -> dict:
    rating, found = workup.ratings[number], corrected.get(number)
    return {
        "number": number,
        "head": rating.reasons[0] if rating.reasons else "",
        "rest": " ".join(rating.reasons[1:3]),
        "score": f"{(found or rating).score:.1f}",
        "found": found.text.partition(": ")[2] if found else "",
    }


def _decided(finding, rows) -> bool:
    return finding.key in rows or any(choice.key in rows for choice in finding.choices if choice.key)


def _decision_in_words(row: Override) -> str:
    """What the teacher decided, to be read in a list; "" for a plain yes."""
    kind, _, place = row.key.partition(":")
    if row.value is None:
        return ""
    if kind == "chords":
        return f"Bar {place}: {', '.join(symbol for _onset, symbol in row.value) or 'no chord'}."
    if kind == "shape":
        frets = Shape(place, tuple(row.value["frets"]), (), 0.0).written
        fingers = [str(finger) for finger in row.value.get("fingers") or () if finger]
        return f"{place} is {frets}{', fingers ' + listed(fingers) if fingers else ''}."
    if kind == "finger":
        bar, _event, string = place.split(".")
        return f"Bar {bar}, string {string}: finger {row.value}."
    if kind == "pick":
        return f"Bar {place.split('.')[0]}: picked {row.value}."
    if kind == "difficulty":
        return f"Bar {place} is {row.value:g} of 10."
    if kind == "own":
        return f"Bar {place} is a bar of its own."
    return "Sections: " + ", ".join(f"{letter} from bar {bar}" for bar, letter in row.value) + "."

"""Counted tab read into a score, with everything that is wrong said at once."""

from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction

from pieces.music.score import Bar, Event, Meter, Problem, Score, UnreadableScore
from pieces.music.tab.counts import Token, counted_span, counted_unit, placed, tokens_in
from pieces.music.tab.doubts import report_endings, report_first_count, report_moments, report_stray
from pieces.music.tab.events import events_of
from pieces.music.tab.headers import Head, read_headers, tuning_by_labels
from pieces.music.tab.lines import Page, System, sort_lines, typed_lines
from pieces.music.tab.marks import TimedBar, bar_at, bar_marks, read_rows
from pieces.music.tab.rhythm import Timing, by_count, by_spacing, lead_in
from pieces.music.tab.sums import bars_that_do_not_add_up
from pieces.music.tab.systems import MOST_FIGURES, Cut, Place, TypedBar, cut_into_bars, strings_in_order
from pieces.music.tuning import TUNINGS, Tuning

MOST_CHARACTERS = 200_000
MOST_PROBLEMS = 300
_USUAL_BY_STRINGS = {4: "ukulele high G", 5: "five-string banjo", 6: "guitar"}


def read_tab(text: str) -> Score:
    r"""The piece written in ``text``.

    >>> score = read_tab("A|-3---2-|\nE|-------|\nC|-------|\nG|-------|\n   1   2")
    >>> [str(event.duration) for event in score.bars[0].events]
    ['1/4', '1/4']

    Raises ``UnreadableScore`` with every problem, also the small ones, where
    anything is wrong that must be mended.
    """
    score, problems = check_tab(text)
    if score is None:
        raise UnreadableScore(problems)
    return score


def check_tab(text: str) -> tuple[Score | None, list[Problem]]:
    """The piece written in ``text`` and all that is wrong or doubtful in it, in order of line.

    The score is None where a problem is fatal.
    """
    if len(text) > MOST_CHARACTERS:
        message = f"This text is longer than {MOST_CHARACTERS} characters."
        return None, [Problem(message, "Divide it into several pieces.")]
    report: list[Problem] = []
    page, head = _head(text, report)
    cuts = _cut(page, head, report)
    if head.meter is None:
        head.meter = _guessed_meter(cuts, report)
    bars, starts = _bars(cuts, head)
    if head.first_bar is None:
        head.first_bar = 0 if starts and starts[0].late else 1
    report = [p if p.bar is None else replace(p, bar=p.bar + head.first_bar) for p in report]
    bars = [replace(bar, number=head.first_bar + index) for index, bar in enumerate(bars)]
    bars = _with_remarks(bars, head, report)
    report += _sums(bars, starts, report)
    report.sort(key=lambda problem: (problem.line, problem.column))
    if any(problem.fatal for problem in report):
        return None, _shortened(report)
    remarks = tuple(head.remarks)
    return (
        Score(head.title, head.tuning, head.meter, tuple(bars), head.key, head.tempo, head.credit, remarks),
        _shortened(report),
    )


def _shortened(report: list[Problem]) -> list[Problem]:
    """The report itself, or its start where it is too long for anyone to read."""
    if len(report) <= MOST_PROBLEMS:
        return report
    kept = report[:MOST_PROBLEMS]
    fatal = any(problem.fatal for problem in report[MOST_PROBLEMS:])
    message = f"There are {len(report) - MOST_PROBLEMS} more problems after these."
    return [*kept, Problem(message, "Mend these first.", report[MOST_PROBLEMS].line, fatal=fatal)]


def _sums(bars: list[Bar], starts: list["_Start"], report: list[Problem]) -> list[Problem]:
    """Which bars do not add up, but for those that are wrong anyway."""
    wrong = {problem.bar for problem in report if problem.fatal}
    wrong |= {bar.number for bar, start in zip(bars, starts, strict=True) if not start.fits}
    places = {bar.number: (start.line, start.column) for bar, start in zip(bars, starts, strict=True)}
    return [p for p in bars_that_do_not_add_up(bars, places) if p.bar not in wrong]


def _head(text: str, report: list[Problem]) -> tuple[Page, Head]:
    """The lines sorted, and what the named ones say."""
    lines = typed_lines(text)
    page = sort_lines(lines, None)
    unheard: list[Problem] = []
    head = read_headers(page, unheard)
    named = any(header.name == "tuning" for header in page.headers)
    tuning = head.tuning if named or not page.systems else _tuning_of(page.systems[0], head, unheard)
    page = sort_lines(lines, len(tuning.open_pitches))
    head = read_headers(page, report)
    if not named and page.systems:
        head.tuning = _tuning_of(page.systems[0], head, report)
    _read_prose(page, head, report)
    if not page.systems:
        message = "No string lines were found."
        remedy = "Write one line for each string, string 1 on top, as A|-3---2---0-----|"
        report.append(Problem(message, remedy, 1))
    return page, head


def _tuning_of(system: System, head: Head, report: list[Problem]) -> Tuning:
    """The tuning that the labels of the first system tell, or the usual one of so many strings."""
    line = system.strings[0].line
    labelled = tuning_by_labels(system.strings)
    if labelled and labelled[0] in TUNINGS.values():
        return labelled[0].with_capo(head.tuning.capo)
    tuning = (
        labelled[0] if labelled else TUNINGS[_USUAL_BY_STRINGS.get(len(system.strings), "ukulele high G")]
    )
    message = f"No tuning is given; these lines are read as {tuning.name}."
    report.append(Problem(message, f"Write it above: tuning: {tuning.name}", line.number, fatal=False))
    return tuning.with_capo(head.tuning.capo)


def _read_prose(page: Page, head: Head, report: list[Problem]) -> None:
    """Keep lines that are nothing else: the first as the title where there is none, others as notes."""
    for index, (line, after_music) in enumerate(page.prose):
        text = " ".join(line.text.split())
        title = not (head.title or after_music or index)
        if title:
            head.title = text
        else:
            head.remarks.append(text)
        kept = "title" if title else "note"
        message = f"This line is none that Fourbar knows; it is kept as {'the title' if title else 'a note'}."
        report.append(Problem(message, f"Write it as {kept}: {text[:40]}", line.number, 1, fatal=False))


def _cut(page: Page, head: Head, report: list[Problem]) -> list[Cut]:
    cuts, first = [], 0
    labelled = tuning_by_labels(page.systems[0].strings) if page.systems else None
    upside_down = bool(labelled and labelled[1])
    for system in page.systems:
        place = Place(report, first)
        strings = strings_in_order(system, head.tuning, place, upside_down=upside_down)
        bars = cut_into_bars(strings or system.strings, place)
        counts = _counts_under(system, bars, place)
        fits = strings is not None
        cuts.append(Cut(system, strings or system.strings, place, bars, counts, fits))
        first += len(bars)
    return cuts


def _counts_under(system: System, bars: list[TypedBar], place: Place) -> list[list[Token]]:
    """The words of the count under each bar of a system."""
    under: list[list[Token]] = [[] for _ in bars]
    for row in system.row("count"):
        tokens, wrong = tokens_in(row.text)
        for problem in wrong:
            place.wrong(row.line, problem, bar_at(bars, problem.column) if bars else None)
        for token in tokens:
            if not bars or token.start > bars[-1].span.end + 1:
                message = f"The count {token.text} stands after the last barline."
                place.add(row.line, token.start, None, message, "Put it under the bar that it counts.")
            else:
                under[bar_at(bars, token.start)].append(token)
    for index, tokens in enumerate(under):
        tokens.sort(key=lambda token: token.start)
        if len(tokens) > MOST_FIGURES:
            del tokens[MOST_FIGURES:]
            message = f"More than {MOST_FIGURES} counts stand under this bar."
            place.add(system.strings[0].line, bars[index].span.start, index, message, "Draw the barlines.")
    return under


def _guessed_meter(cuts: list[Cut], report: list[Problem]) -> Meter:
    """The meter that most bars are counted in; without a count, that which suits the columns best."""
    highest = Counter(
        max((token.beat for token in tokens if token.beat), default=0)
        for cut in cuts
        for tokens in cut.counts
    )
    highest.pop(0, None)
    if highest:
        beats = highest.most_common(1)[0][0]
        meter = Meter(beats, 8 if beats in (6, 9, 12) else 4) if 2 <= beats <= 12 else Meter(4, 4)
    else:
        meter = max((Meter(4, 4), Meter(3, 4)), key=lambda meter: _bars_that_suit(meter, cuts))
    if cuts:
        source = "count" if highest else "spacing"
        message = f"No meter is given; the piece is read in {meter} from its {source}."
        report.append(Problem(message, f"Write it above: meter: {meter}", cuts[0].top.number, fatal=False))
    return meter


def _bars_that_suit(meter: Meter, cuts: list[Cut]) -> int:
    """In how many bars the columns fall on counts of ``meter``, or on halves or quarters of them."""
    return sum(
        by_spacing(bar, meter, lead_in(cut.bars))[1] in (1, 2, 4)
        for cut in cuts
        for bar in cut.bars
        if any(bar.cells.values())
    )


@dataclass
class _Start:
    """Where a bar stands in the text, and how far into a full bar its count begins.

    ``fits``: its system has as many strings as the tuning, named alike.
    """

    line: int
    column: int
    late: Fraction
    fits: bool


def _bars(cuts: list[Cut], head: Head) -> tuple[list[Bar], list[_Start]]:
    """Every bar of the piece, numbered from 0."""
    bars: list[Bar] = []
    starts: list[_Start] = []
    meter, before = head.meter, None
    uncounted = [cut for cut in cuts if not any(cut.counts) and any(any(b.cells.values()) for b in cut.bars)]
    if uncounted:
        uncounted[0].place.add(
            uncounted[0].top,
            0,
            None,
            "No count stands under these lines, so their columns divide each bar evenly.",
            "Write the count under them, as 1 2 & 3 4, to say the rhythm.",
            fatal=False,
        )
    for number, cut in enumerate(cuts):
        meter = head.meters.get(number, meter)
        marks = bar_marks(cut.system, cut.bars, cut.place)
        timed = []
        for index, (typed, tokens) in enumerate(zip(cut.bars, cut.counts, strict=True)):
            meter = marks[index].meter or meter
            marks[index].meter = meter
            timing = _time(cut, index, typed, tokens, meter)
            timed.append(TimedBar(index, typed, timing, marks[index]))
            column = cut.top.column(typed.span.start)
            starts.append(_Start(cut.top.number, column, timing.late, cut.fits))
        read_rows(cut.system, timed, cut.place)
        for bar in timed:
            report_moments(cut, bar)
            events = _events(cut, bar, head.tuning, before)
            before = events[-1] if events else before
            last = bar is timed[-1] and cut is not cuts[-1] and not cut.system.goes_on
            bars.append(_bar(cut, bar, len(bars), events, line_break=last))
        report_endings(cut, timed)
    return bars, starts


def _time(cut: Cut, index: int, typed: TypedBar, tokens: list[Token], meter: Meter) -> Timing:
    """The bar in time; what stands over no count is reported."""
    row = next(iter(cut.system.row("count")), None)
    if tokens:
        counts, wrong = placed(tokens, meter)
        for problem in wrong:
            cut.place.wrong(row.line, problem, index)
        if counts:
            start, end = counted_span(counts, counted_unit(tokens, meter))
            timing, strays = by_count(typed, counts, start, end)
            timing.late = start
            # Past a word that could not be placed, strays only repeat what is already said.
            sure = min((problem.column for problem in wrong), default=typed.span.end + 1)
            for stray in strays:
                if stray.cell.start < sure:
                    report_stray(cut, index, stray)
            return timing
    timing, parts = by_spacing(typed, meter, lead_in(cut.bars) if not any(cut.counts) else 1)
    if any(cut.counts) and not tokens:
        empty = not any(typed.cells.values())
        message = "This bar is empty; it is read as a rest." if empty else "This bar has no count."
        remedy = "Write r for a rest over its count." if empty else "Write the count under it, as 1 2 3 4."
        cut.place.add(cut.top, typed.span.start, index, message, remedy, fatal=False)
    elif not parts and not tokens:
        message = "The columns of this bar do not show a plain rhythm; it is read as near as they do."
        cut.place.add(cut.top, typed.span.start, index, message, "Write the count under it.", fatal=False)
    return timing


def _events(cut: Cut, bar: TimedBar, tuning: Tuning, before: Event | None) -> tuple[Event, ...]:
    if not cut.fits:
        return ()
    report_first_count(cut, bar, holds=before is not None and not before.is_rest)
    return events_of(bar.timing, tuning, before)


def _bar(cut: Cut, bar: TimedBar, number: int, events: tuple[Event, ...], *, line_break: bool) -> Bar:
    marks, typed = bar.marks, bar.typed
    return Bar(
        number,
        marks.meter,
        events,
        tuple(sorted(marks.chords, key=lambda chord: chord.onset)),
        marks.letter,
        typed.opens_repeat,
        _repeats(cut, bar),
        marks.endings,
        line_break,
        key=marks.key,
    )


def _repeats(cut: Cut, bar: TimedBar) -> int:
    """How often the passage that ends with this bar is played; 0 without a repeat sign."""
    times = bar.marks.times if bar.marks.times is not None else bar.typed.times
    if bar.typed.closes_repeat:
        return 2 if times is None else times
    if times is not None:
        message = f"{times}x stands over a bar without a repeat sign."
        cut.place.add(cut.top, bar.typed.span.start, bar.index, message, "End the bar with :|", fatal=False)
    return 0


def _with_remarks(bars: list[Bar], head: Head, report: list[Problem]) -> list[Bar]:
    """The bars with what the ``bar 3:`` lines say of them."""
    numbers = {bar.number: index for index, bar in enumerate(bars)}
    for number, (text, header) in head.bar_remarks.items():
        if number in numbers:
            bars[numbers[number]] = replace(bars[numbers[number]], remark=text)
        else:
            last = (
                f"The bars run from {bars[0].number} to {bars[-1].number}."
                if bars
                else "Write its bars first."
            )
            problem = Problem(f"There is no bar {number}.", last, header.line.number, 1, fatal=False)
            report.append(problem)
            head.remarks.append(f"bar {number}: {text}")
    return bars

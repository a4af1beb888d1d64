"""The workup as plain data that others script against (documented in the README)."""

from fractions import Fraction

from pieces.music.findings import Workup
from pieces.music.score import Bar, Problem


def workup_data(workup: Workup) -> dict:
    """One JSON object. Fractions are strings of a whole note; frets run from the highest string to 1."""
    score = workup.score
    return {
        "title": score.title,
        "tuning": score.tuning.name,
        "open_pitches": list(score.tuning.open_pitches),
        "meter": str(score.meter),
        "key": score.key,
        "bars": [_bar(workup, bar) for bar in score.bars],
        "sections": [
            {"letter": s.letter, "first": s.first, "last": s.last, "same_as": s.same_as}
            for s in workup.sections
        ],
        "shapes": [
            {"symbol": s.symbol, "frets": list(s.frets), "fingers": list(s.fingers)} for s in workup.shapes
        ],
        "changes": [
            {"from": at.before, "to": at.after, "cost": at.change.cost, "text": at.change.text}
            for at in workup.changes
        ],
        "problems": [problem_data(problem) for problem in workup.problems],
    }


def problem_data(problem: Problem) -> dict:
    """A problem with its place; 0 and null where there is none."""
    return {
        "text": str(problem),
        "line": problem.line,
        "column": problem.column,
        "bar": problem.bar,
        "fatal": problem.fatal,
    }


def _bar(workup: Workup, bar: Bar) -> dict:
    rating = workup.ratings[bar.number]
    return {
        "number": bar.number,
        "class": workup.classes[bar.number],
        "count": workup.counts[bar.number],
        "chords": [[_time(mark.onset), mark.symbol] for mark in bar.chords],
        "events": [
            {
                "onset": _time(event.onset),
                "duration": _time(event.duration),
                "notes": [
                    {"string": note.string, "fret": note.fret, "pitch": note.pitch} for note in event.notes
                ],
            }
            for event in bar.events
        ],
        "difficulty": rating.score,
        "reasons": list(rating.reasons),
    }


def _time(moment: Fraction) -> str:
    return str(moment)

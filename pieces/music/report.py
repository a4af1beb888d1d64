"""The workup and arrangements as plain data that others script against (documented in the README)."""

from collections.abc import Sequence
from fractions import Fraction

from pieces.music.arranging import Arrangement, KeyRank
from pieces.music.findings import Workup
from pieces.music.score import Bar, Event, Note, Problem


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


def arranging_data(levels: Sequence[Arrangement], keys: Sequence[KeyRank]) -> dict:
    """One tune at several levels, and the keys it could be in, as one JSON object.

    Bars, times and frets are written as in ``workup_data``; a note has its left-hand
    ``finger`` and its ``pick`` as well, null and "" where there is none, and ``tied``.
    ``proposed``: the chords stood not in the file.
    """
    score = levels[0].score
    return {
        "title": score.title,
        "tuning": score.tuning.name,
        "open_pitches": list(score.tuning.open_pitches),
        "meter": str(score.meter),
        "key": score.key,
        "proposed": levels[0].proposed,
        "levels": [_level(arranged) for arranged in levels],
        "best_keys": [
            {
                "key": rank.key,
                "semitones": rank.semitones,
                "fits": rank.fits,
                "strong": rank.strong,
                "carried": rank.carried,
                "text": rank.text,
            }
            for rank in keys
        ],
    }


def _level(arranged: Arrangement) -> dict:
    return {
        "level": arranged.level,
        "name": arranged.name,
        "strong": arranged.strong,
        "carried": arranged.carried,
        "remarks": list(arranged.remarks),
        "bars": [
            {
                "number": bar.number,
                "chords": _chords(bar),
                "proposed": arranged.proposed and bool(bar.chords),
                "events": [_event(event, with_hands=True) for event in bar.events],
            }
            for bar in arranged.score.bars
        ],
    }


def _bar(workup: Workup, bar: Bar) -> dict:
    rating = workup.ratings[bar.number]
    return {
        "number": bar.number,
        "class": workup.classes[bar.number],
        "count": workup.counts[bar.number],
        "chords": _chords(bar),
        "events": [_event(event) for event in bar.events],
        "difficulty": rating.score,
        "reasons": list(rating.reasons),
    }


def _chords(bar: Bar) -> list[list[str]]:
    return [[_time(mark.onset), mark.symbol] for mark in bar.chords]


def _event(event: Event, *, with_hands: bool = False) -> dict:
    return {
        "onset": _time(event.onset),
        "duration": _time(event.duration),
        "notes": [_note(note, with_hands) for note in event.notes],
    }


def _note(note: Note, with_hands: bool) -> dict:
    placed = {"string": note.string, "fret": note.fret, "pitch": note.pitch}
    return {**placed, "finger": note.finger, "pick": note.pick, "tied": note.tied} if with_hands else placed


def _time(moment: Fraction) -> str:
    return str(moment)

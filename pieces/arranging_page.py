"""The Arrange page: a tune at four levels, bar beside bar, and what is kept of it."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from pieces.engraving.options import ONE_BAR
from pieces.engraving.strip import strips
from pieces.models import Arrangement
from pieces.music.arranging import Arrangement as Arranged
from pieces.music.arranging import OutOfReach, arrange_bars, arrange_levels, best_keys
from pieces.music.best_keys import KeyRank
from pieces.music.chord_line import write_chords
from pieces.music.difficulty import rate_bar
from pieces.music.form import bar_classes, unfold
from pieces.music.harmonizing import Proposal, propose_symbols
from pieces.music.keys import way_of
from pieces.music.melody import Symbols
from pieces.music.playing import playing
from pieces.music.score import Bar, Score
from pieces.music.setting import transpose
from pieces.music.tuning import Tuning
from pieces.music.words import listed
from pieces.showing import as_drawn
from pieces.studio_count import count_of
from pieces.workup import add_arrangement, decided_score

SHORT_NAMES = {1: "alone", 2: "with thumb", 3: "partial chords", 4: "full chords"}
FIRST_KEYS = 4  # shown at once; the others are folded away


@dataclass(frozen=True)
class Tune:
    """What is arranged: an arrangement's music, with chords in it and any proposal they came from."""

    arrangement: Arrangement
    score: Score
    proposal: Proposal | None

    @property
    def chords(self) -> str:
        return write_chords(self.score)

    def with_chords(self, symbols: Symbols) -> "Tune":
        """The teacher's chords in place; what was changed is a proposal no more."""
        given = _with_chords(self.score, symbols)
        return self if given == self.score else replace(self, score=given, proposal=None)


@dataclass(frozen=True)
class Wish:
    """How the tune is to be arranged."""

    tuning: Tuning
    semitones: int
    picking: str


def tune_of(arrangement: Arrangement) -> Tune:
    """The tune of an arrangement at its goal tempo; where it has no chords, with proposed ones."""
    score = replace(decided_score(arrangement), tempo=arrangement.goal_tempo)
    if any(bar.chords for bar in score.bars):
        return Tune(arrangement, score, None)
    proposal = propose_symbols(score)
    return Tune(arrangement, _with_chords(score, proposal.symbols), proposal)


def first_wish(tune: Tune) -> Wish:
    """The instrument and key that the piece has, or the best key where that one does not fit."""
    tuning = tune.score.tuning
    ranks = best_keys(tune.score, None, tuning)
    own = next(rank for rank in ranks if rank.semitones % 12 == 0)
    best = own if own.fits else ranks[0]
    return Wish(tuning, best.semitones, tune.arrangement.picking)


def arranging_page(tune: Tune, wish: Wish, chosen: Mapping[int, int], *, whole: bool) -> dict:
    """Everything the page shows. ``chosen``: levels by bar; ``whole``: show them as one piece."""
    ranks = best_keys(tune.score, None, wish.tuning)
    keys = [_key_line(rank, wish) for rank in ranks]
    if not any(key["chosen"] for key in keys):
        keys.insert(0, {"semitones": wish.semitones, "name": "as asked", "text": "", "chosen": True})
    page = {
        "arrangement": tune.arrangement,
        "proposal": tune.proposal,
        "first_keys": [key for at, key in enumerate(keys) if at < FIRST_KEYS or key["chosen"]],
        "other_keys": [key for at, key in enumerate(keys) if at >= FIRST_KEYS and not key["chosen"]],
        "chosen": chosen,
    }
    try:
        levels = arrange_levels(_moved(tune, wish), None, wish.tuning, style=wish.picking)
    except OutOfReach as error:
        return {**page, "out_of_reach": str(error)}
    page |= {"levels": [_level_head(level) for level in levels], "rows": _rows(tune, levels, chosen)}
    page["sounds"] = {f"l{level.level}": _sounds(tune, level) for level in levels}
    if whole and not missing(tune, chosen):
        mixed = arranged_by_bar(tune, wish, chosen)
        page |= {"mixed": mixed, "mixed_strips": _drawn(tune, mixed, "m").values()}
        page["sounds"]["m"] = _sounds(tune, mixed)
    return page


def missing(tune: Tune, chosen: Mapping[int, int]) -> str:
    """The bars for which no level is chosen, in words; "" where each has one."""
    without = [bar.number for bar in tune.score.bars if bar.number not in chosen]
    return f"bar{'s' if len(without) > 1 else ''} {listed(without)}" if without else ""


def arranged_by_bar(tune: Tune, wish: Wish, chosen: Mapping[int, int]) -> Arranged:
    """The tune with a level for each bar. Raises ``OutOfReach`` where it does not fit."""
    return arrange_bars(_moved(tune, wish), None, wish.tuning, chosen, style=wish.picking)


def keep_arranged(tune: Tune, wish: Wish, chosen: Mapping[int, int]) -> Arrangement:
    """Store the tune as chosen as another arrangement of its piece. Raises ``OutOfReach``."""
    arranged = arranged_by_bar(tune, wish, chosen)
    score = arranged.score
    if tune.proposal and arranged.level != 1:
        score = replace(score, remarks=(*score.remarks, "The chords were proposed by Fourbar."))
    name = arranged.name
    if wish.semitones:
        name += f", in {score.key}" if score.key and wish.semitones % 12 else f", {way_of(wish.semitones)}"
    if wish.tuning.name != tune.score.tuning.name:
        name += f", {wish.tuning.name}"
    return add_arrangement(tune.arrangement.piece, score, name=name, picking=wish.picking)


def _moved(tune: Tune, wish: Wish) -> Score:
    return transpose(tune.score, wish.semitones)


def _with_chords(score: Score, symbols: Symbols) -> Score:
    bars = tuple(replace(bar, chords=tuple(symbols.get(bar.number, ()))) for bar in score.bars)
    return replace(score, bars=bars)


def _key_line(rank: KeyRank, wish: Wish) -> dict:
    return {
        "semitones": rank.semitones,
        "name": f"{rank.key}, {way_of(rank.semitones)}" if rank.key else way_of(rank.semitones),
        "text": rank.text,
        "chosen": rank.semitones == wish.semitones,
    }


def _level_head(level: Arranged) -> dict:
    carried = f"{level.carried} of {level.strong} strong beats have two chord tones or more."
    return {
        "number": level.level,
        "name": level.name,
        "carried": carried if level.level > 2 else "",
        "remarks": level.remarks,
    }


def _rows(tune: Tune, levels: tuple[Arranged, ...], chosen: Mapping[int, int]) -> list[dict]:
    """One row a bar; a bar that is the same as an earlier one at every level is not drawn again."""
    like = _repeats(levels)
    drawn = [_drawn(tune, level, f"l{level.level}", without=like) for level in levels]
    rows, before = [], None
    for place, bar in enumerate(tune.score.bars):
        first = like.get(bar.number)
        cells = _cells([level.score.bars[place] for level in levels], levels, before)
        for cell, strip in zip(cells, drawn, strict=True):
            cell["strip"] = strip.get(bar.number, "")
            cell["chosen"] = chosen.get(bar.number) == cell["level"] and not _follows(
                bar.number, first, chosen
            )
        rows.append(
            {
                "number": bar.number,
                "like": first,
                "follows": _follows(bar.number, first, chosen),
                "cells": cells,
            }
        )
        before = place
    return rows


def _follows(number: int, first: int | None, chosen: Mapping[int, int]) -> bool:
    return first is not None and chosen.get(number, chosen.get(first)) == chosen.get(first)


def _repeats(levels: tuple[Arranged, ...]) -> dict[int, int]:
    """Bars to the earlier bar that they are the same as at every level, chord names too."""
    classes = [bar_classes(level.score) for level in levels]
    firsts: dict[tuple, int] = {}
    like = {}
    for bar in levels[-1].score.bars:
        same = (bar.chords, *(by_number[bar.number] for by_number in classes))
        if firsts.setdefault(same, bar.number) != bar.number:
            like[bar.number] = firsts[same]
    return like


def _cells(bars: list[Bar], levels: tuple[Arranged, ...], before: int | None) -> list[dict]:
    """How hard a bar is at each level, with what no easier level has told already."""
    cells, told = [], set()
    for bar, level in zip(bars, levels, strict=True):
        score = level.score
        last = None if before is None else score.bars[before]
        rating = rate_bar(bar, tempo=score.tempo, tuning=score.tuning, before=last)
        cells.append(
            {
                "level": level.level,
                "name": SHORT_NAMES[level.level],
                "score": f"{rating.score:.1f}",
                "why": next((reason for reason in rating.reasons if reason not in told), ""),
            }
        )
        told.update(rating.reasons)
    return cells


def _drawn(tune: Tune, arranged: Arranged, prefix: str, *, without: Collection[int] = ()) -> dict[int, str]:
    """Each bar on its own by its number, a pickup too."""
    options = ONE_BAR.but(prefix=prefix, syllables=count_of(tune.arrangement.studio))
    bars = as_drawn(arranged.score.bars)
    bars = [_as_proposal(bar) for bar in bars] if tune.proposal else bars
    drawn = {}
    for before, bar in pairwise([None, *bars]):
        if bar.number not in without:
            closed = options.but(closed=bar is bars[-1])
            (drawn[bar.number],) = strips([bar], arranged.score.tuning, closed, before=before)
    return drawn


def _sounds(tune: Tune, arranged: Arranged) -> dict:
    """What a device plays: the whole in the order played, and each bar by its number."""
    score = arranged.score
    syllables = count_of(tune.arrangement.studio)

    def heard(numbers) -> dict:
        bars = [score.bar(number) for number in numbers]
        return playing(bars, score.tuning, beat=score.meter.beat, syllables=syllables).to_data()

    return {"whole": heard(unfold(score)), "bars": {bar.number: heard([bar.number]) for bar in score.bars}}


def _as_proposal(bar: Bar) -> Bar:
    """What is proposed stands in brackets, as an editor's addition does in print."""
    return replace(bar, chords=tuple(mark._replace(symbol=f"({mark.symbol})") for mark in bar.chords))

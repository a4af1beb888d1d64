"""Twenty fiddle tunes of music21's corpus go the whole path: file, strings, workup, plan, paper.

Source: the folder ryansMammoth of music21's corpus (a public-domain collection of
1883, encoded in ABC); every fiftieth file, so that no tune was chosen.
"""

from datetime import date, timedelta
from pathlib import Path

import music21
import pytest

from pieces.handouts import score_handout
from pieces.music.findings import work_up
from pieces.music.setting import fitting_keys, out_of_range, set_on_strings, transpose
from pieces.music.tuning import TUNINGS
from pieces.opening import open_music
from pieces.print_options import PrintOptions
from students.planning.days import plan_days
from students.planning.history import History
from students.planning.plan import Calendar, Learner
from students.records import Terms, cut

FOLDER = Path(music21.__file__).parent / "corpus" / "ryansMammoth"
TUNES = sorted(FOLDER.glob("*.abc"))[::50][:20]
FIRST = date(2026, 3, 13)
LESSON = FIRST + timedelta(days=28)


def on_a_mandolin(score):
    """As written where it fits; else in the key that asks least."""
    tuning = TUNINGS["mandolin"]
    if out_of_range(score, tuning):
        score = transpose(score, fitting_keys(score, tuning)[0].semitones)
    return set_on_strings(score, tuning)


@pytest.mark.parametrize("path", TUNES, ids=lambda path: path.stem)
def test_a_fiddle_tune_goes_from_a_file_to_a_plan_and_a_pdf(path):
    opened = open_music(path.name, path.read_bytes())
    score = on_a_mandolin(opened.score)
    workup = work_up(score, goal=80)
    assert [bar.number for bar in workup.score.bars] == [bar.number for bar in score.bars]
    covered = {n for section in workup.sections for n in range(section.first, section.last + 1)}
    assert covered == {bar.number for bar in score.bars}

    letters = tuple(dict.fromkeys(section.letter for section in workup.sections))
    chunks = cut(workup, Terms(letters[:1], 80, FIRST, LESSON))
    minutes = {FIRST + timedelta(days=n): 20 for n in range(28)}
    plan = plan_days(chunks, Calendar(minutes, LESSON), Learner("intermediate"), History(), FIRST)
    assert plan.days
    assert all(day.minutes <= 20 for day in plan.days)

    assert score_handout(score, PrintOptions("a4")).startswith(b"%PDF-")


def test_there_are_twenty_of_them():
    assert len(TUNES) == 20

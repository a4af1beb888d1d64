"""How long pieces last, and what lies between one tuning and the next."""

from dataclasses import replace
from fractions import Fraction

import pytest

from pieces.music.duration import minutes_and_seconds, play_time
from pieces.music.retuning import before_playing
from pieces.music.score import Bar, Score
from pieces.music.tuning import TUNINGS, Tuning


def bars(meter, rhythm, count):
    return tuple(Bar.of(meter, rhythm, number) for number in range(1, count + 1))


def test_sixteen_bars_of_three_at_120_last_24_seconds():
    # Worked by hand: 48 beats, two a second.
    waltz = Score(meter=bars("3/4", "3/4", 1)[0].meter, bars=bars("3/4", "3/4", 16))
    assert play_time(waltz, 120) == 24


def test_in_compound_meter_the_tempo_counts_dotted_quarters():
    # Worked by hand: 8 bars of two beats, one a second.
    jig = Score(meter=bars("6/8", "3/4", 1)[0].meter, bars=bars("6/8", "3/4", 8))
    assert play_time(jig, 60) == 16


def test_a_repeat_is_played_and_takes_its_time():
    four = bars("4/4", "1/1", 4)
    repeated = Score(bars=(*four[:3], replace(four[3], repeats=2)))
    assert play_time(repeated, 60) == 2 * play_time(Score(bars=four), 60) == 32


def test_a_pickup_counts_with_what_it_has():
    pickup = Bar.of("4/4", "1/4", 0)
    assert play_time(Score(bars=(pickup, *bars("4/4", "1/1", 1))), 60) == 5


def test_seconds_are_rounded_to_the_nearest():
    assert [minutes_and_seconds(s) for s in (0, Fraction(119, 2), 60, 3600)] == [
        "0:00",
        "1:00",
        "1:00",
        "60:00",
    ]


GUITAR = TUNINGS["guitar"]


@pytest.mark.parametrize(
    ("last", "coming", "said"),
    [
        (GUITAR, GUITAR, ""),
        (GUITAR, GUITAR.with_capo(3), "Capo on fret 3."),
        (GUITAR.with_capo(3), GUITAR, "Capo off."),
        (GUITAR.with_capo(3), GUITAR.with_capo(5), "Capo from fret 3 to fret 5."),
        # Open G: strings 6, 5 and 1 go down a whole tone (common practice, no source).
        (
            GUITAR,
            Tuning("guitar, open G", (38, 43, 50, 55, 59, 62)),
            "Retune string 6 down from E to D, string 5 down from A to G and string 1 down from E to D.",
        ),
        # The low G is another string, not another peg.
        (TUNINGS["ukulele high G"], TUNINGS["ukulele low G"], "Change to the ukulele low G."),
        (GUITAR, TUNINGS["mandolin"].with_capo(2), "Change to the mandolin, capo on fret 2."),
    ],
)
def test_what_is_done_between_two_pieces_is_said(last, coming, said):
    assert before_playing(last, coming) == said

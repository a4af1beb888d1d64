"""What holds stuck loops is found, and taken alone before they come back."""

from datetime import timedelta

from students.planning.breaking import BELOW, break_down
from students.planning.chunks import build_chunks
from students.planning.days import Learner, plan_days
from students.planning.history import History, TickRecord
from students.planning.stuck import find_stuck, pinpoint
from students.planning.tempo import step_down
from tests.planning.made_up import RHYTHMS, TODAY, daily, sections_of, tune

EIGHTHS = RHYTHMS[4]
LOOPS = build_chunks(tune(0, 2, 3, 5, rhythm=EIGHTHS), sections_of(4), {}, goal=76)
ENDS = {"pair:1-2": (1, 2), "pair:3-4": (3, 4), "join:2-3": (2, 3), "section:A": (1, 4), "bar:3": (3, 3)}


def day(n):
    return TODAY + timedelta(days=n)


def tick(key, n, tempo, felt):
    first, last = ENDS.get(key, (3, 3))
    return TickRecord(key, "A", first, last, day(n), tempo, felt, key.partition(":")[0])


def stands(key, days, tempo=54, felt="slips"):
    return [tick(key, n, tempo, felt) for n in days]


# As a learner was seen: two loops at 54 for four days, the section for two, the rest at its goal.
SEEN = [
    *stands("pair:1-2", [0], 66, "clean"), *stands("pair:3-4", range(4)), *stands("join:2-3", range(4)),
    *stands("section:A", (2, 3)), *stands("pair:1-2", [3], 76, "clean"),
]  # fmt: skip


def planned(ticks, today, chunks=LOOPS, minutes=12):
    return plan_days(chunks, daily(minutes, 10), Learner(), History(tuple(ticks)), today)


def tasks_on(made, on):
    return {task.key: task for task in made.on(on).tasks}


# --- Where it is ---------------------------------------------------------------------------


def test_the_bar_that_two_stuck_loops_share_is_the_one_that_holds_them():
    (held,) = pinpoint(History(tuple(SEEN)))
    assert (held.key, held.first, held.last, held.days, held.tempo) == ("bar:3", 3, 3, 4, 54)
    assert held.text == "54 on each of 4 days, last with some slips; in two loops."
    assert set(held.loops) == {"pair:3-4", "join:2-3"}


def test_a_section_that_is_stuck_with_its_loops_is_not_said_twice():
    ticks = [*stands("pair:3-4", range(3)), *stands("section:A", range(3))]
    assert [held.key for held in pinpoint(History(tuple(ticks)))] == ["pair:3-4"]


def test_a_bar_that_goes_faster_elsewhere_is_not_to_blame():
    ticks = [*stands("join:2-3", range(3)), *stands("pair:1-2", [3], 76, "clean")]
    assert [held.key for held in pinpoint(History(tuple(ticks)))] == ["bar:3"]


def test_loops_that_share_no_bar_are_said_apart():
    ticks = [*stands("pair:1-2", range(3)), *stands("pair:3-4", range(4))]
    assert [held.key for held in pinpoint(History(tuple(ticks)))] == ["pair:3-4", "pair:1-2"]


def test_loops_of_two_pieces_are_never_said_to_share_a_bar():
    ticks = [
        TickRecord(f"{piece}/pair:3-4", "A", 3, 4, day(n), 54, "slips", "pair")
        for piece in (7, 8)
        for n in range(3)
    ]
    assert len(pinpoint(History(tuple(ticks)))) == 2


def test_everything_that_is_stuck_is_held_by_something():
    history = History(tuple(SEEN + stands("pair:1-2", range(4, 8), 60)))
    loops = {key for held in pinpoint(history) for key in held.loops}
    assert loops == {stuck.key for stuck in find_stuck(history)}


# --- What is done about it -----------------------------------------------------------------


def test_the_bar_comes_alone_with_its_drill_and_the_stuck_loops_rest_that_day():
    tasks = tasks_on(planned(SEEN, day(4)), day(4))
    assert {"bar:3", "drill:rhythm:1"} <= tasks.keys()
    assert not {"pair:3-4", "join:2-3", "section:A"} & tasks.keys()


def test_its_why_says_what_is_stuck():
    task = tasks_on(planned(SEEN, day(4)), day(4))["bar:3"]
    assert task.why == "Stuck at 54 for four days: bar 3 alone first."


def test_it_begins_below_the_tempo_where_its_loops_are_stuck():
    task = tasks_on(planned(SEEN, day(4)), day(4))["bar:3"]
    assert task.from_tempo <= step_down(54, BELOW)


def test_a_night_later_the_loops_come_back():
    made = planned(SEEN, day(4))
    assert {"pair:3-4", "join:2-3"} <= tasks_on(made, day(5)).keys()


def test_the_loops_go_on_resting_until_the_bar_goes_where_they_are_stuck():
    halfway = [*SEEN, tick("bar:3", 4, 50, "clean")]
    assert "pair:3-4" in break_down(LOOPS, History(tuple(halfway))).waits
    there = [*halfway, tick("bar:3", 5, 56, "clean")]
    assert break_down(LOOPS, History(tuple(there))).waits == {}
    assert "pair:3-4" in tasks_on(planned(there, day(6)), day(6))


def test_a_bar_taken_alone_goes_on_from_where_it_was_left():
    task = tasks_on(planned([*SEEN, tick("bar:3", 4, 50, "clean")], day(5)), day(5))["bar:3"]
    assert task.from_tempo == 50


def test_the_plan_hands_over_the_loops_that_it_adds():
    made = planned(SEEN, day(4))
    assert [chunk.key for chunk in made.apart] == ["drill:rhythm:1", "bar:3"]


def test_where_nothing_is_stuck_nothing_is_broken_down():
    history = History(tuple(SEEN[:4]))
    assert break_down(LOOPS, history).chunks == LOOPS
    assert planned(SEEN[:4], day(1)).apart == ()


def test_a_bar_that_is_stuck_alone_waits_for_its_drill():
    ticks = [*stands("bar:3", range(4, 8), 48), *SEEN]
    broken = break_down(LOOPS, History(tuple(ticks)))
    assert broken.waits["bar:3"] == "drill:rhythm:1"


def test_parts_come_before_wholes_when_a_loop_is_broken_down():
    chunks = break_down(LOOPS, History(tuple(SEEN))).chunks
    keys = [chunk.key for chunk in chunks]
    for at, chunk in enumerate(chunks):
        assert set(chunk.parts) <= set(keys[:at])

"""The command that plans over a file, and goes on from a history of ticks."""

import json

import pytest
from django.core.management import CommandError, call_command

from tests.students.steps import LONG_TUNE

WEEK = ("--days", "mon=15,tue=15,wed=15,thu=15,fri=15,sat=15", "--lesson", "2026-03-24")


@pytest.fixture
def tune(tmp_path):
    file = tmp_path / "tune.txt"
    file.write_text(LONG_TUNE)
    return str(file)


@pytest.fixture
def plan(tune, tmp_path, capsys):
    """The JSON of the command from a day on, with a history where one is given."""

    def run(start="2026-03-16", history=None, *options):
        more = []
        if history is not None:
            ticks = tmp_path / "ticks.json"
            ticks.write_text(history if isinstance(history, str) else json.dumps(history))
            more = ["--ticks", str(ticks)]
        call_command("plan", tune, "--sections", "A", "--from", start, *WEEK, "--json", *more, *options)
        return json.loads(capsys.readouterr().out)

    return run


def loops(day):
    return {(t["loop"]["kind"], t["loop"]["first"], t["loop"]["last"]): t for t in day["tasks"]}


def as_ticks(day, felt="clean", **more):
    """A day of a plan, played as it was asked."""
    return [
        {
            "key": key_of(task["loop"]),
            "kind": task["loop"]["kind"],
            "first": task["loop"]["first"],
            "last": task["loop"]["last"],
            "section": "A",
            "day": day["date"],
            "tempo": task["to_tempo"],
            "felt": felt,
            **more,
        }
        for task in day["tasks"]
    ]


def key_of(loop):
    ends = f"{loop['first']}-{loop['last']}" if loop["kind"] != "bar" else loop["first"]
    return f"{loop['kind']}:{'A' if loop['kind'] == 'section' else ends}"


def test_what_was_played_is_not_new_again_and_goes_on_from_its_tempo(plan):
    first, *_rest = plan()["days"]
    after = plan("2026-03-17", as_ticks(first))["days"]
    played = loops(first)
    for day in after:
        for loop, task in loops(day).items():
            if loop in played:
                assert not task["new"]
                assert task["from_tempo"] >= played[loop]["to_tempo"]


def test_the_same_history_gives_the_same_plan_in_whatever_order_its_loops_stand(plan):
    history = as_ticks(plan()["days"][0])
    replayed = plan("2026-03-17", history)
    assert plan("2026-03-17", history[::-1]) == replayed
    assert replayed["fit"]["fits"]


def test_a_week_replayed_day_by_day_ends_with_the_section_at_its_goal(plan):
    history, start = [], "2026-03-16"
    while days := plan(start, history)["days"]:
        history += as_ticks(days[0])
        if len(days) == 1:
            break
        start = days[1]["date"]
    whole = [tick for tick in history if tick["key"] == "section:A"]
    assert [tick["tempo"] for tick in whole] == sorted(tick["tempo"] for tick in whole)
    assert whole[-1]["tempo"] == 72


def test_a_break_down_goes_back_and_a_clean_pass_does_not(plan):
    first = plan()["days"][0]
    fell = plan("2026-03-17", as_ticks(first, "broke"))["days"]
    went = plan("2026-03-17", as_ticks(first))["days"]
    loop = next(iter(loops(first)))
    tempo = {name: next(loops(d)[loop]["from_tempo"] for d in days if loop in loops(d)) for name, days in
             (("fell", fell), ("went", went))}  # fmt: skip
    assert tempo["fell"] < tempo["went"]


def test_a_slow_learner_gets_more_minutes_for_the_same_loops(plan):
    first = plan()["days"][0]
    slow = plan("2026-03-17", as_ticks(first, minutes=9, planned=3) * 12)
    usual = plan("2026-03-17", as_ticks(first) * 12)

    def needed(result):
        return sum(task["minutes"] for day in result["days"] for task in day["tasks"] if task["new"])

    assert needed(slow) > needed(usual)


def test_a_mark_of_the_teacher_counts(plan):
    marked = {"ticks": [], "marks": [{"section": "A", "day": "2026-03-15", "standing": "secure"}]}
    tasks = [task for day in plan(history=marked)["days"] for task in day["tasks"]]
    assert not any(task["new"] for task in tasks)


@pytest.mark.parametrize(
    ("history", "said"),
    [
        ("not json", "cannot be read"),
        ([{"key": "bar:1"}], "cannot be read"),
        ([3], "cannot be read"),
    ],
)
def test_a_history_that_cannot_be_read_is_refused_with_the_reason(plan, history, said):
    with pytest.raises(CommandError, match=said) as refused:
        plan(history=history)
    assert refused.value.returncode == 2


@pytest.mark.parametrize(
    ("wrong", "said"),
    [({"felt": "great"}, "great"), ({"tempo": "fast"}, "no tempo"), ({"day": "Monday"}, "no day")],
)
def test_a_tick_that_makes_no_sense_is_named(plan, wrong, said):
    first = plan()["days"][0]
    ticks = [{**as_ticks(first)[0], **wrong}]
    with pytest.raises(CommandError, match=said):
        plan(history=ticks)

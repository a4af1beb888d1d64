"""Which loops are stuck, and who needs the teacher first."""

from datetime import date

from students.planning.attention import Facts, attention
from students.planning.history import History, TickRecord
from students.planning.stuck import Stuck, find_stuck

TODAY = date(2026, 3, 19)


def ticks(*days, key="bar:3"):
    """Ticks of one loop from (day of March, tempo, felt)."""
    return tuple(
        TickRecord(key, "A", 3, 3, date(2026, 3, day), tempo, felt, "bar") for day, tempo, felt in days
    )


def facts(name="Juno", **more):
    return Facts(student=1, name=name, today=TODAY, **more)


def head(**more):
    return attention([facts(**more)])[0].head


STUCK = Stuck("bar:3", "A", 3, 3, "bar", 3, 54, "slips", "54 on each of 3 days, last with some slips.", True)


def test_three_days_at_one_tempo_is_stuck():
    found = find_stuck(History(ticks((13, 54, "slips"), (14, 54, "slips"), (16, 54, "broke"))))
    assert [(stuck.days, stuck.tempo) for stuck in found] == [(3, 54)]


def test_a_step_up_is_not_stuck():
    assert find_stuck(History(ticks((13, 54, "slips"), (14, 56, "slips"), (16, 58, "slips")))) == []


def test_a_clean_last_day_is_not_stuck():
    assert find_stuck(History(ticks((13, 54, "slips"), (14, 54, "slips"), (16, 54, "clean")))) == []


def test_slips_at_a_tempo_that_went_clean_are_not_stuck():
    found = find_stuck(History(ticks((13, 76, "clean"), (14, 76, "clean"), (16, 76, "slips"))))
    assert found == []


def test_two_tries_on_one_day_count_as_that_day():
    same_day = ticks((16, 54, "slips"), (16, 54, "slips"), (16, 54, "slips"))
    assert find_stuck(History(same_day)) == []


def test_what_was_left_behind_two_weeks_ago_is_not_stuck_today():
    old = ticks((1, 54, "slips"), (2, 54, "slips"), (3, 54, "slips"))
    assert find_stuck(History(old + ticks((18, 60, "clean"), key="bar:4"))) == []


def test_the_loop_that_is_stuck_longest_comes_first():
    long = ticks(*((day, 54, "slips") for day in (11, 12, 13, 14)))
    short = ticks(*((day, 60, "slips") for day in (12, 13, 14)), key="bar:4")
    assert [stuck.key for stuck in find_stuck(History(short + long))] == ["bar:3", "bar:4"]


def test_a_performance_that_will_be_missed_comes_before_everything():
    needs = attention(
        [
            Facts(1, "Stuck", TODAY, stuck=(STUCK,), lesson=TODAY),
            Facts(2, "Plays", TODAY, performance=date(2026, 3, 28), short=23, needed=71, available=48),
            Facts(3, "Ahead", TODAY, done=True),
        ]
    )
    assert [need.name for need in needs] == ["Plays", "Stuck", "Ahead"]
    assert needs[0].head == "Performs in 9 days and the plan does not fit."
    assert needs[0].text == "48 minutes are left to practise and 71 are needed."


def test_a_stuck_learner_is_sent_to_the_lesson_with_the_bar():
    need = attention([facts(stuck=(STUCK,))])[0]
    assert (need.head, need.action, need.bar) == (
        "Bar 3 has not moved off 54 for 3 days.",
        "lesson",
        3,
    )


def test_silence_with_an_unused_card_points_at_the_card():
    need = attention([facts(missed=6, last_tick=date(2026, 3, 13), card_used=date(2026, 3, 13))])[0]
    assert need.head == "No practice since Friday."
    assert need.action == "card"
    assert "perhaps it is lost" in need.text


def test_two_missed_days_are_nobodys_business():
    assert attention([facts(missed=2, last_tick=date(2026, 3, 16))]) == []


def test_without_a_card_nobody_can_tick():
    assert head(missed=3, has_card=False) == "Cannot tick yet."


def test_a_learner_without_a_piece_is_offered_one():
    assert attention([facts(assigned=False)])[0].action == "choose"


def test_a_lesson_tomorrow_moves_a_need_up():
    later = Facts(1, "Later", TODAY, stuck=(STUCK,), lesson=date(2026, 3, 25))
    soon = Facts(2, "Soon", TODAY, stuck=(STUCK,), lesson=date(2026, 3, 20))
    assert [need.name for need in attention([later, soon])] == ["Soon", "Later"]


def test_who_is_on_plan_is_not_listed():
    assert attention([facts()]) == []


def test_a_plan_too_tight_for_the_lesson_is_said_until_the_day_of_the_lesson():
    short = {"short": 58, "needed": 78, "available": 20}
    assert head(lesson=date(2026, 3, 20), **short) == "The plan does not fit before the lesson."
    assert attention([facts(lesson=TODAY, **short)]) == []


def test_no_practice_and_a_lesson_tomorrow_is_said_a_day_sooner():
    need = attention([facts(missed=2, last_tick=date(2026, 3, 17), lesson=date(2026, 3, 20))])[0]
    assert need.head == "No practice since Tuesday."
    assert need.text == "2 days were planned. Lesson tomorrow."


def test_who_is_ahead_is_ready_for_the_next_section_or_a_new_piece():
    assert head(done=True, then="B") == "Ahead: ready for section B."
    assert attention([facts(done=True)])[0].action == "choose"


def test_a_section_that_is_not_at_tempo_two_weeks_before_a_performance_is_said():
    need = attention([facts(performance=date(2026, 3, 28), unready=("B",), of_performance=7)])[0]
    assert need.head == "Performs in 9 days and section B is not at tempo."
    assert need.of == 7
    assert attention([facts(performance=date(2026, 4, 10), unready=("B",))]) == []


def test_a_lesson_that_passed_with_nothing_given_is_said():
    need = attention([facts(passed=date(2026, 3, 17))])[0]
    assert need.head == "Nothing new was given at the lesson on Tuesday."
    assert need.action == "next"


def test_a_performance_that_is_over_asks_what_follows():
    assert head(performed=date(2026, 3, 18)) == "Performed yesterday."


def test_a_learned_piece_is_named_once_it_has_been_due_for_two_weeks():
    assert head(long_due="Two Lanterns", due=date(2026, 3, 3)) == "Two Lanterns has been due for 16 days."
    assert attention([facts(long_due="Two Lanterns", due=date(2026, 3, 6))]) == []


def test_what_the_head_says_of_a_stuck_loop_is_not_said_twice():
    pair = Stuck("pair:1-2", "A", 1, 2, "pair", 4, 60, "broke", "60 on each of 4 days.", True)
    need = attention([facts(stuck=(pair,), lesson=TODAY)])[0]
    assert need.head == "Bars 1 and 2 have not moved off 60 for 4 days."
    assert need.text == "Last with a break-down. Lesson today."


def test_loops_that_moved_about_are_not_said_to_stand_at_one_tempo():
    wavering = ticks((13, 56, "slips"), (14, 54, "slips"), (16, 54, "broke"))
    assert head(stuck=tuple(find_stuck(History(wavering)))) == "Bar 3 has not moved up for 3 days."


def test_the_first_need_names_the_next_ones_too():
    need = attention([facts(stuck=(STUCK,), passed=date(2026, 3, 17), short=5, needed=20, available=15)])[0]
    assert need.also == (
        "Nothing new was given at the lesson on Tuesday.",
        "The plan does not fit before the lesson.",
    )


def test_a_plan_too_tight_for_the_lesson_is_not_said_of_the_performance():
    short = {"short": 5, "needed": 20, "available": 15, "of_short": 1}
    need = attention([facts(performance=date(2026, 3, 28), of_performance=2, **short)])[0]
    assert need.head == "The plan does not fit before the lesson."


def test_a_plan_with_minutes_enough_that_does_not_fit_says_why_itself():
    short = {"short": 1, "needed": 53, "available": 59}
    why = "There are minutes enough, but not on the days that need them."
    assert attention([facts(why_short=why, **short)])[0].text == why

"""What the progression rules propose, case by case, with the figures worked out beside them."""

from datetime import date, timedelta

import pytest

from pipeline.analyse.next_target.history import judge_ranges, smallest_step, version_on
from pipeline.analyse.next_target.lifts import LiftNow, LiftSession, PainNote, TargetSlot
from pipeline.analyse.next_target.rules import propose
from pipeline.reference.progression import changed_progression, progression

MONDAY = date(2026, 6, 29)
HOW = progression()


def slot(**other):
    given = {
        "exercise_name": "Bench Press",
        "implement": "barbell",
        "load_basis": "total",
        "sets": 3,
        "rep_low": 5,
        "rep_high": 8,
        "target_rir": 2.0,
    }
    return TargetSlot(**(given | other))


def session(days_ago, load_kg, *reps, rir=None, **other):
    return LiftSession(MONDAY - timedelta(days=days_ago), load_kg, reps, tuple(rir for _ in reps), **other)


def asked(target, *sessions, how=HOW, **now):
    found = propose(target, sessions, LiftNow(MONDAY, **now), how)
    return found.rule, found.load_kg, found.rep_low, found.rep_high


def test_every_set_at_the_top_of_the_range_adds_one_step_and_starts_again_at_its_low_end():
    assert asked(slot(), session(4, 80, 8, 8, 8)) == ("more_load", 82.5, 5, 8)


def test_until_then_the_load_stays_and_the_worst_set_gains_a_repetition():
    assert asked(slot(), session(4, 80, 8, 7, 6)) == ("more_reps", 80, 7, 8)


def test_sets_left_out_are_made_up_before_the_load_rises():
    assert asked(slot(), session(4, 80, 8, 8)) == ("more_reps", 80, 8, 8)


@pytest.mark.parametrize(
    ("implement", "unit", "last_kg", "next_kg"),
    [
        pytest.param("barbell", "kg", 80.0, 82.5, id="a pair of small discs"),
        pytest.param("dumbbell", "kg", 24.0, 26.0, id="dumbbells, a hand"),
        pytest.param("machine_stack", "kg", 60.0, 65.0, id="stack"),
        pytest.param("barbell", "lb", 185 * 0.45359237, 190 * 0.45359237, id="pounds"),
        pytest.param("dumbbell", "lb", 55 * 0.45359237, 60 * 0.45359237, id="dumbbells in pounds"),
        pytest.param("dumbbell", "lb", 50 * 0.45359237, 55 * 0.45359237, id="ten per cent in pounds"),
    ],
)
def test_the_step_is_what_the_implement_and_unit_allow(implement, unit, last_kg, next_kg):
    rule, load, _, _ = asked(slot(implement=implement), session(4, last_kg, 8, 8, 8), unit=unit)
    assert rule == "more_load"
    assert load == pytest.approx(next_kg)


def test_a_step_above_ten_percent_waits_for_two_more_repetitions():
    # ACSM 2009: raise the load by 2-10 %; 2 kg on 12 kg is 17 %
    curl = slot(implement="dumbbell", load_basis="per_hand", rep_low=10, rep_high=15)
    assert asked(curl, session(4, 12, 15, 15, 15)) == ("more_reps", 12, 16, 17)
    assert asked(curl, session(4, 12, 17, 17, 17)) == ("more_load", 14, 10, 15)


def said(target, *sessions, **now):
    return propose(target, sessions, LiftNow(MONDAY, **now), HOW).reason


def test_a_hand_is_said_only_where_each_holds_one():
    pair = slot(implement="dumbbell", load_basis="per_hand", implements=2)
    goblet = slot(implement="dumbbell", load_basis="per_hand", implements=1)
    assert "30 kg a hand" in said(pair, session(4, 30, 8, 8, 8))
    assert "2 kg a hand more" in said(pair, session(4, 30, 8, 8, 8))
    assert "a hand" not in said(goblet, session(4, 30, 8, 8, 8))


def test_a_step_up_from_assistance_is_said_as_less_assistance():
    dip = slot(implement="machine_stack", load_basis="assistance", bodyweight_share=1.0)
    reason = said(dip, session(4, -20, 8, 8, 8, body_kg=80.0))
    assert "5 kg less of assistance" in reason
    assert "5 kg more" not in reason


def test_reaching_the_top_closer_to_failure_than_planned_keeps_the_load():
    assert asked(slot(), session(4, 80, 8, 8, 8, rir=0.0))[:2] == ("repeat", 80)
    assert asked(slot(), session(4, 80, 8, 8, 8, rir=1.0))[:2] == ("more_load", 82.5)


def test_much_more_in_reserve_than_planned_allows_two_steps_within_ten_percent():
    assert asked(slot(), session(4, 80, 8, 8, 8, rir=4.0))[:2] == ("more_load", 85.0)
    assert asked(slot(), session(4, 45, 8, 8, 8, rir=4.0))[:2] == ("more_load", 47.5)


def test_sets_below_the_range_repeat_the_load_once_then_lower_it():
    # 5 % off 80 kg is 76, the next step below 75
    assert asked(slot(), session(4, 80, 5, 4, 4), session(8, 80, 6, 5, 5))[:2] == ("repeat", 80)
    assert asked(slot(), session(4, 80, 5, 4, 4), session(8, 80, 4, 4, 4))[:2] == ("lower", 75)


def test_one_short_last_set_is_no_miss_but_a_missed_attempt_is():
    assert asked(slot(), session(4, 80, 6, 5, 4))[0] == "more_reps"
    assert asked(slot(), session(4, 80, 6, 5, n_missed=1))[:2] == ("repeat", 80)


def test_two_for_two_wants_two_extra_repetitions_in_the_last_set_twice_running():
    # Graves & Baechle
    how = changed_progression({"rule": "two_for_two"})
    assert asked(slot(), session(4, 80, 8, 8, 10), session(8, 80, 9, 9, 10), how=how)[:2] == (
        "two_for_two",
        82.5,
    )
    assert asked(slot(), session(4, 80, 8, 8, 10), session(8, 80, 9, 9, 9), how=how)[:2] == (
        "two_for_two_hold",
        80,
    )
    assert (
        asked(slot(), session(4, 80, 8, 8, 10), session(8, 77.5, 9, 9, 10), how=how)[0] == "two_for_two_hold"
    )


def test_the_plan_may_set_another_rule_for_one_exercise():
    target = slot(progression="two_for_two")
    assert asked(target, session(4, 80, 8, 8, 8))[0] == "two_for_two_hold"


def test_a_percent_of_e1rm_is_rounded_down_to_what_can_be_loaded():
    # 75 % of 130 is 97.5; of 131 98.25, down to 97.5 in steps of 2.5 from 80
    target = slot(percent_e1rm=75.0)
    assert asked(target, session(4, 80, 5, 5, 5), e1rm_kg=130.0)[:2] == ("percent", 97.5)
    assert asked(target, session(4, 80, 5, 5, 5), e1rm_kg=131.0)[:2] == ("percent", 97.5)
    assert asked(target, session(4, 80, 5, 5, 5))[:2] == ("repeat", 80)


def test_the_percent_rule_without_a_percent_takes_what_the_e1rm_allows_in_the_middle_of_the_range():
    # Epley 1985: 6.5 + 2 in reserve = 8.5 repetitions to failure, 130 / (1 + 8.5/30) = 101.3, down to 100
    how = changed_progression({"rule": "percent"})
    assert asked(slot(), session(4, 80, 5, 5, 5), e1rm_kg=130.0, how=how)[:2] == ("percent", 100.0)


def test_a_percent_of_a_lift_that_moves_the_body_leaves_out_the_body():
    pull_up = slot(load_basis="bodyweight", implement="bodyweight", bodyweight_share=1.0, percent_e1rm=90.0)
    found = asked(pull_up, session(4, 10, 5, 5, 5, body_kg=80.0), e1rm_kg=110.0, e1rm_is_system=True)
    assert found[:2] == ("percent", 17.5)  # 99 - 80 = 19, down to 17.5


def test_a_deload_takes_ninety_percent_of_the_last_load_rounded_down():
    assert asked(slot(phase="deload"), session(4, 80, 8, 8, 8))[:2] == ("deload", 70.0)  # 72, down to 70


def test_after_a_deload_the_load_before_it_counts():
    assert asked(slot(), session(4, 60, 6, 6, is_deload=True), session(11, 80, 8, 8, 8))[:2] == (
        "more_load",
        82.5,
    )


def test_a_return_is_lighter_by_the_weeks_away():
    # 6 weeks: 2.5 % for each beyond two, 10 % off 80 kg is 72, nearest step 72.5
    assert asked(slot(), session(42, 80, 8, 8, 8))[:2] == ("back", 72.5)
    assert asked(slot(phase="return"), session(4, 80, 8, 8, 8))[:2] == ("repeat", 80)


def test_a_lift_not_done_for_half_a_year_or_never_has_no_load():
    assert asked(slot()) == ("first_time", None, 5, 8)
    assert asked(slot(), session(300, 80, 8, 8, 8))[:2] == ("first_time", None)


def test_a_new_repetition_range_starts_from_the_e1rm():
    # Epley: 4 + 2 to failure, 120 / 1.2 = 100
    target = slot(rep_low=3, rep_high=5)
    old = session(4, 80, 8, 8, 8, is_in_plan_range=False)
    assert asked(target, old, e1rm_kg=120.0)[:2] == ("new_range", 100.0)
    assert asked(target, old)[:2] == ("first_time", None)


@pytest.mark.parametrize(
    ("note", "rule", "load"),
    [
        pytest.param(PainNote(MONDAY, "sharp in the elbow", True), "pain", None, id="beside the exercise"),
        pytest.param(PainNote(MONDAY, "knee sore", False), "held_by_pain", 80, id="of the whole client"),
        pytest.param(PainNote(MONDAY, "chest pain", False, True), "warning_sign", None, id="a warning sign"),
    ],
)
def test_no_load_is_added_where_pain_was_noted_and_its_words_are_shown(note, rule, load):
    found = propose(slot(), [session(4, 80, 8, 8, 8)], LiftNow(MONDAY, pain=note), HOW)
    assert (found.rule, found.load_kg) == (rule, load)
    assert note.words in found.reason


def test_a_pattern_of_accumulated_fatigue_keeps_the_load():
    assert asked(slot(), session(4, 80, 8, 8, 8), is_fatigued=True)[:2] == ("repeat", 80)


def test_assistance_is_taken_away_and_never_becomes_load():
    chin = slot(load_basis="assistance", implement="machine_stack")
    assert asked(chin, session(4, -20, 8, 8, 8, body_kg=80.0))[:2] == ("more_load", -15)
    assert asked(chin, session(4, -3, 8, 8, 8, body_kg=80.0))[:2] == ("more_load", 0.0)


def test_push_ups_at_the_top_of_the_range_want_a_harder_variation_and_pull_ups_added_load():
    push_up = slot(load_basis="bodyweight", implement="bodyweight", bodyweight_share=0.64)
    pull_up = slot(load_basis="bodyweight", implement="bodyweight", bodyweight_share=1.0)
    assert asked(push_up, session(4, 0, 8, 8, 8, body_kg=50.0))[:2] == ("harder", 0.0)
    assert asked(pull_up, session(4, 0, 8, 8, 8, body_kg=80.0))[:2] == ("more_load", 2.5)


def test_bands_and_holds_have_no_load():
    assert asked(slot(load_basis="band", implement="band"), session(4, None, 15, 15, 15))[:2] == (
        "no_kilograms",
        None,
    )
    assert asked(slot(is_timed=True), session(4, None, durations_s=(45.0, 45.0)))[:2] == ("timed", None)


def test_every_proposal_has_a_reason():
    assert propose(slot(), [session(4, 80, 8, 8, 8)], LiftNow(MONDAY), HOW).reason == (
        "8, 8, 8 at 80 kg on 25 Jun: every set reached 8, 2.5 kg more, from 5 repetitions on."
    )


def test_the_least_step_seen_needs_four_different_loads():
    assert smallest_step([session(n, load, 8) for n, load in enumerate((20, 22.5, 25, 30))]) == 2.5
    assert smallest_step([session(n, load, 8) for n, load in enumerate((20, 22.5, 25))]) is None


def test_a_session_counts_for_the_range_it_served():
    heavy, light = session(3, 100, 6, 6, 6), session(7, 80, 10, 10, 10)
    served = {heavy.session_date: {(5, 8)}}
    judged = judge_ranges([heavy, light], 8, 12, served)
    assert [one.is_in_plan_range for one in judged] == [False, True]


@pytest.mark.parametrize(
    ("day", "start"),
    [
        pytest.param(date(2026, 6, 3), date(2026, 6, 1), id="the one begun last"),
        pytest.param(date(2026, 6, 10), date(2026, 6, 8), id="a week laid over it"),
        pytest.param(date(2026, 6, 20), date(2026, 6, 1), id="which gives way again"),
        pytest.param(date(2026, 7, 14), date(2026, 7, 13), id="without an end"),
        pytest.param(date(2026, 7, 22), date(2026, 7, 20), id="a deload over one without an end"),
        pytest.param(date(2026, 7, 28), date(2026, 7, 13), id="which only interrupts it"),
        pytest.param(date(2026, 5, 1), None, id="before any"),
    ],
)
def test_which_version_is_in_force(day, start):
    versions = [
        (date(2026, 6, 1), date(2026, 7, 12), "build"),
        (date(2026, 6, 8), date(2026, 6, 14), "deload"),
        (date(2026, 7, 13), None, "build"),
        (date(2026, 7, 20), date(2026, 7, 26), "deload week"),
    ]
    assert version_on(day, versions) == start


def test_a_figure_a_coach_mistypes_is_named():
    with pytest.raises(ValueError, match="did you mean dumbbell_kg"):
        changed_progression({"dumbell_kg": 2.5})

"""The rules a plan is checked against, each on a plan small enough to count by hand."""

from datetime import date

import pytest
from planned import plan_day, planned, setting, version

from pipeline.analyse.plan.audit import CHECKS, audit_version
from pipeline.analyse.plan.session_length import pairing_saves_min, session_length
from pipeline.reference.plan_rules import changed_plan_rules, plan_rules
from pipeline.workspace import parse_settings


def findings(plan, rule, **given):
    given = setting(**given)
    return [(f.severity, f.place, f.figure) for f in CHECKS[rule](plan, given)]


def test_every_rule_has_a_check_and_every_check_a_rule():
    assert set(CHECKS) == set(plan_rules())


def test_a_set_counts_one_for_the_muscle_trained_directly_and_half_for_one_trained_indirectly():
    # Pelland et al. 2024: 4 sets of bench 4 × 1 chest and 4 × 0.5 triceps, 3 of pushdown 3 × 1 triceps
    plan = version(plan_day("A", 1, planned("bench", 4), planned("pushdown", 3)))
    found = findings(plan, "weekly_sets", targets={"chest": (4, 8), "triceps": (6, 10)})
    assert found == [("fine", "chest", 4.0), ("consider", "triceps", 5.0)]


def test_few_sets_of_a_main_muscle_are_to_look_at_and_of_a_small_one_to_consider():
    # at least 4 weekly sets a muscle: Iversen et al. 2021
    plan = version(plan_day("A", 1, planned("bench", 3), planned("plank", 3)))
    found = findings(plan, "weekly_sets", targets={"chest": (10, 20), "abs": (6, 16)})
    assert found == [("look", "chest", 3.0), ("consider", "abs", 3.0)]


def test_a_set_short_of_the_range_is_as_good_as_within():
    # 9 of 10 to 20 is within a tenth of the end, 8 is not [P]
    for sets, severity in ((9, "fine"), (8, "consider"), (22, "fine"), (23, "consider"), (30, "look")):
        plan = version(plan_day("A", 1, planned("bench", sets)))
        assert findings(plan, "weekly_sets", targets={"chest": (10, 20)})[0][0] == severity


def test_a_novice_needs_fewer_sets_and_no_muscle_of_a_strength_plan_is_far_off():
    # at least 4 weekly sets a muscle: Iversen et al. 2021
    days = plan_day("A", 1, planned("bench", 4), planned("curl", 2))
    targets = {"chest": (10, 20), "biceps": (10, 20), "quads": (10, 20)}
    novice, lifter = version(days, status="novice"), version(days, goal="Powerlifting meet in June")
    assert findings(novice, "weekly_sets", targets=targets) == [("fine", "chest", 4), ("look", "biceps", 2)]
    assert findings(novice, "left_out", targets=targets) == [("consider", "quads", 0.0)]
    for rule in ("weekly_sets", "left_out"):
        assert {severity for severity, _, _ in findings(lifter, rule, targets=targets)} == {"consider"}


def test_sets_far_from_failure_do_not_count():
    plan = version(plan_day("A", 1, planned("bench", 3, rir=5.0), planned("bench", 3, rir=None)))
    assert findings(plan, "weekly_sets", targets={"chest": (3, 8)}) == [("fine", "chest", 3.0)]


def test_a_muscle_nothing_trains_is_named():
    plan = version(plan_day("A", 1, planned("bench")))
    assert findings(plan, "left_out", targets={"quads": (10, 20), "neck": (0, 10)}) == [
        ("look", "quads", 0.0)
    ]


def test_a_muscle_trained_once_a_week_is_too_seldom_unless_indirect_work_brings_a_second_day():
    plan = version(plan_day("A", 1, planned("bench"), planned("row")), plan_day("B", 4, planned("press")))
    found = findings(plan, "frequency", targets={"chest": (10, 20), "triceps": (10, 20)})
    assert found == [("consider", "chest", 1)]


def test_too_many_direct_sets_in_one_session():
    plan = version(plan_day("A", 1, planned("bench", 6), planned("bench", 6)))
    assert findings(plan, "session_dose") == [("consider", "A", 12.0)]


@pytest.mark.parametrize(
    ("second", "severity"),
    [
        pytest.param([planned("bench", 4, 5, 8), planned("row", 4, 5, 8)], "look", id="the same muscles"),
        pytest.param([planned("squat", 4, 5, 8), planned("hinge", 3, 5, 8)], "fine", id="other muscles"),
    ],
)
def test_hard_sessions_on_following_days_interfere_only_where_they_share_muscles_or_movements(
    second, severity
):
    plan = version(
        plan_day("A", 1, planned("bench", 4, 5, 8), planned("row", 4, 5, 8)), plan_day("B", 2, *second)
    )
    assert findings(plan, "hard_days_in_a_row")[0] == (severity, "A → B", 1.0)


def test_a_hinge_the_day_after_squats_is_fine():
    # common practice [P]: back to back only with lifts that do not interfere
    plan = version(
        plan_day("Squat", 1, planned("squat", 6, 5, 8)), plan_day("Hinge", 2, planned("hinge", 6, 5, 8))
    )
    assert findings(plan, "hard_days_in_a_row")[0][0] == "fine"


def test_sunday_and_monday_are_following_days():
    day = [planned("bench", 8, 5, 8)]
    plan = version(plan_day("A", 1, *day), plan_day("B", 7, *day))
    assert findings(plan, "hard_days_in_a_row") == [("look", "B → A", 1.0)]


def test_light_sessions_of_one_muscle_on_following_days_are_named_and_quick_muscles_are_not():
    plan = version(
        plan_day("A", 1, planned("curl"), planned("raise")),
        plan_day("B", 2, planned("curl"), planned("raise")),
    )
    found = findings(plan, "days_between", targets={"biceps": (8, 20), "side_delts": (8, 20)})
    assert found == [("consider", "A → B", 1)]


def test_hard_work_in_three_days_in_a_row_is_unevenly_spread():
    heavy = planned("squat", 4, 5, 8)
    close = version(*(plan_day(str(n), n, heavy) for n in (1, 2, 3)))
    apart = version(*(plan_day(str(n), n, heavy) for n in (1, 3, 5)))
    assert findings(close, "hard_work_spread") == [("consider", "Mon to Wed", 100.0)]
    assert findings(apart, "hard_work_spread")[0][0] == "fine"


def test_a_better_layout_of_the_same_days_is_proposed():
    heavy = planned("bench", 8, 5, 8)
    close = version(plan_day("A", 1, heavy), plan_day("B", 2, heavy))
    assert findings(close, "layout") == [("consider", "", 1)]


def test_session_length_adds_warm_up_repetitions_rest_and_transitions():
    # 5 + 3 × (8 × 3 + 120) / 60 = 12.2; 10 + 3 × (12 × 4 + 120) / 60 = 18.4 (defaults: values from memory)
    length = session_length(plan_day("A", 1, planned("bench", rest_s=120.0)), plan_rules()["session_length"])
    assert (length.low_min, length.high_min) == pytest.approx((12.2, 18.4))


def test_one_side_at_a_time_counts_both_sides_and_tempo_and_holds_count_as_planned():
    rule = plan_rules()["session_length"]
    split = session_length(plan_day("A", 1, planned("split", 1, 10, 10, rest_s=0.0)), rule)
    tempo = session_length(plan_day("A", 1, planned("bench", 1, 10, 10, rest_s=0.0, tempo_s=6.0)), rule)
    hold = session_length(
        plan_day(
            "A", 1, planned("plank", 1, None, None, rest_s=0.0, duration_low_s=60.0, duration_high_s=60.0)
        ),
        rule,
    )
    assert [x.low_min for x in (split, tempo, hold)] == pytest.approx([5 + 1, 5 + 1, 5 + 1])


def test_a_superset_halves_the_rest():
    # Iversen et al. 2021: 3 × 60 s each, half of 6 min saved
    pair = [planned("curl", rest_s=60.0, superset="A"), planned("pushdown", rest_s=60.0, superset="A")]
    length = session_length(plan_day("A", 1, *pair), plan_rules()["session_length"])
    assert length.unpaired_low_min - length.low_min == pytest.approx(3.0)
    assert pairing_saves_min(*pair, plan_rules()["session_length"]) == pytest.approx(3.0)


def test_a_session_that_is_too_long_is_named():
    plan = version(plan_day("A", 1, *[planned("bench", 6, rest_s=240.0)] * 4))
    assert findings(plan, "session_length")[0][0] == "consider"


@pytest.mark.parametrize(
    ("pair", "severity"),
    [
        pytest.param(("curl", "pushdown"), "fine", id="antagonists"),
        pytest.param(("bench", "pushdown"), "consider", id="the same muscle"),
        pytest.param(("raise", "plank"), "fine", id="unrelated"),
    ],
)
def test_supersets_are_judged_by_what_they_pair(pair, severity):
    plan = version(plan_day("A", 1, *(planned(name, superset="A") for name in pair)))
    assert [found[0] for found in findings(plan, "superset_pairs")] == [severity]


def test_a_heavy_squat_in_a_superset_wants_its_rest():
    plan = version(plan_day("A", 1, planned("squat", 3, 3, 5, superset="A"), planned("curl", superset="A")))
    assert [found[0] for found in findings(plan, "superset_pairs")] == ["consider"]


def test_antagonists_of_a_long_session_are_proposed_as_a_superset_with_the_time_saved():
    # 3 sets of both at 120 s: half of 12 min
    plan = version(plan_day("A", 1, planned("bench", rest_s=120.0), planned("row", rest_s=120.0)))
    found = findings(plan, "superset_chance", superset_chance={"from_min": 10})
    assert found == [("consider", "A", pytest.approx(6.0))]
    assert findings(plan, "superset_chance") == []


def test_a_small_muscle_before_the_lift_that_needs_it_is_to_look_at_and_elsewhere_to_consider():
    tired = version(plan_day("A", 1, planned("pushdown"), planned("bench")))
    early = version(plan_day("A", 1, planned("curl"), planned("bench")))
    last = version(plan_day("A", 1, planned("bench"), planned("pushdown")))
    assert [findings(plan, "order")[0][0] for plan in (tired, early, last)] == ["look", "consider", "fine"]


def test_tiring_the_muscle_a_lift_aims_at_is_a_choice_and_tiring_its_helper_is_not():
    aimed_at = version(plan_day("A", 1, planned("fly"), planned("bench")))
    assert findings(aimed_at, "order")[0][0] == "consider"


def test_the_press_comes_before_the_squat_where_pressing_is_the_goal():
    days = plan_day("A", 1, planned("squat"), planned("bench"))
    assert findings(version(days, goal="Bench 100 kg"), "order") == [("consider", "A", 1.0)]
    assert findings(version(days, goal="squat 140"), "order")[0][0] == "fine"


def test_repetition_ranges_that_miss_the_usual_one_of_their_kind():
    # 5-8 main, 6-12 accessories, 10-15 isolation [P]
    plan = version(
        plan_day("A", 1, planned("bench", 3, 12, 15), planned("pulldown", 3, 6, 8), planned("curl", 3, 5, 8))
    )
    assert findings(plan, "rep_range") == [("consider", "Bench", 13.5), ("consider", "Curl", 6.5)]


def test_repetition_ranges_are_left_alone_in_a_peak():
    plan = version(plan_day("A", 1, planned("bench", 5, 1, 2)), phase="peak")
    assert findings(plan, "rep_range") == []


def test_low_repetitions_are_left_alone_where_strength_is_the_goal():
    plan = version(plan_day("A", 1, planned("squat", 5, 1, 3)), goal="strength")
    assert findings(plan, "rep_range") == []


def test_pressing_without_pulling_is_out_of_balance():
    plan = version(plan_day("A", 1, planned("bench", 6), planned("row", 3)))
    assert findings(plan, "push_pull") == [("consider", "", 2.0)]


def test_an_alternative_that_trains_something_else_is_to_look_at():
    plan = version(
        plan_day("A", 1, planned("bench", alternatives=("squat",)), planned("row", alternatives=("row",)))
    )
    assert findings(plan, "alternatives") == [("look", "Bench", None), ("fine", "", 1)]


def test_a_deload_is_lighter_than_the_weeks_before_it_and_is_spared_the_other_rules():
    before = version(plan_day("A", 1, planned("bench", 4)))
    light = version(plan_day("A", 1, planned("bench", 2, rir=4.0)), phase="deload", end=date(2026, 6, 7))
    hardly = version(plan_day("A", 1, planned("bench", 4)), phase="deload", end=date(2026, 6, 28))
    assert findings(light, "deload", previous=before) == [("fine", "deload", 50.0)]
    assert findings(hardly, "deload", previous=before) == [("look", "deload", 28), ("look", "deload", 100.0)]
    rules = {f.rule for f in audit_version(light, setting(targets={"chest": (10, 20)}, previous=before))}
    assert rules == {"deload", "session_length"}


def test_sets_without_a_target_effort_are_named():
    plan = version(plan_day("A", 1, planned("bench", 2, rir=None), planned("row", 2)))
    assert findings(plan, "effort_given") == [("consider", "", 50.0)]


def test_a_rule_can_be_switched_off_or_changed_in_the_settings():
    plan = version(plan_day("A", 1, planned("bench", 6), planned("row", 3)))
    settings = parse_settings("[plan_rules]\npush_pull = false\nweekly_sets = { severity = 'look' }\n")
    rules = changed_plan_rules(settings.plan_rules)
    assert not rules["push_pull"].is_on
    assert "push_pull" not in {f.rule for f in audit_version(plan, setting(**settings.plan_rules))}
    assert rules["weekly_sets"].severity == "look"


def test_what_holds_of_several_days_is_said_once():
    days = [plan_day(name, n, planned("bench", rest_s=400.0)) for name, n in (("A", 1), ("B", 3), ("C", 5))]
    found = [f for f in audit_version(version(*days), setting()) if f.rule == "session_length"]
    assert [f.place for f in found] == ["A, B and C"]
    assert found[0].sentence.startswith("A, B and C: ")


def test_two_sessions_on_one_weekday_are_no_plan_without_weekdays():
    plan = version(plan_day("morning", 1, planned("bench")), plan_day("evening", 1, planned("squat")))
    assert findings(plan, "layout") == []
    assert findings(version(plan_day("A", None, planned("bench")), plan_day("B", None)), "layout") != []


def test_findings_to_look_at_come_first():
    plan = version(plan_day("A", 1, planned("pushdown"), planned("bench")))
    severities = [f.severity for f in audit_version(plan, setting(targets={"chest": (10, 20)}))]
    assert severities == sorted(severities, key=["look", "consider", "fine"].index)


def test_a_break_has_no_findings():
    assert audit_version(version(phase="break"), setting(targets={"chest": (10, 20)})) == []

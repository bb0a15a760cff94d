"""The table of next targets, from logged sets and a plan."""

import json

import pytest
from given_tables import day, logged, planned, rows_of, run_on

LAST = day(13)  # a Sunday; next week begins on day 14


def three_sets(when, lift, load_kg, *reps, **other):
    return [logged(when, lift, load_kg, one, set_index=k, **other) for k, one in enumerate(reps, 1)]


def targets(sets, plan, columns="exercise_id, target_load_kg, rule", **given):
    con = run_on(["next_target"], sets, plan, as_of=LAST, **given)
    return rows_of(con, f"select {columns} from next_target order by planned_date, slot")


def test_each_planned_exercise_of_next_week_has_a_target_on_its_day():
    plan = [planned("A", 1, "bench_press"), planned("B", 4, "squat", slot=1)]
    sets = three_sets(7, "bench_press", 80, 8, 8, 8, rir=2.0)
    found = targets(sets, plan, "planned_date, day, exercise_id, target_load_kg, last_reps, rule")
    assert found == [
        (day(14), "A", "bench_press", 82.5, "8, 8, 8", "more_load"),
        (day(17), "B", "squat", None, None, "first_time"),
    ]


def test_a_plan_that_has_ended_proposes_nothing():
    assert (
        targets(three_sets(7, "bench_press", 80, 8, 8, 8), [planned("A", 1, "bench_press", valid_to=LAST)])
        == []
    )


def test_heavy_and_light_days_of_one_lift_progress_each_by_themselves():
    plan = [
        planned("Heavy", 1, "bench_press", rep_low=5, rep_high=8),
        planned("Light", 4, "bench_press", rep_low=10, rep_high=15),
    ]
    sets = [*three_sets(7, "bench_press", 80, 8, 8, 8), *three_sets(10, "bench_press", 60, 12, 12, 12)]
    assert targets(sets, plan) == [("bench_press", 82.5, "more_load"), ("bench_press", 60.0, "more_reps")]


def test_warm_ups_do_not_set_the_working_load():
    sets = [logged(7, "bench_press", 40, 8, set_kind="warm_up"), *three_sets(7, "bench_press", 80, 8, 8, 8)]
    assert targets(sets, [planned("A", 1, "bench_press")]) == [("bench_press", 82.5, "more_load")]


@pytest.mark.parametrize(
    ("done", "expected"),
    [
        pytest.param([(60, 8), (80, 8), (100, 8), (100, 8), (100, 8)], (100, "8, 8, 8"), id="most sets"),
        pytest.param([(80, 8), (90, 7), (100, 6)], (100, "6"), id="heaviest of as many"),
        pytest.param([(100, 0), (80, 8), (80, 7)], (80, "8, 7"), id="a missed attempt is no set"),
        pytest.param([(100, 0), (100, 0)], (100, None), id="missed attempts alone"),
        pytest.param(
            [(80, 8), (80.2, 7), (60, 8)], (80.2, "8, 7"), id="loads a hair apart are one, the heavier"
        ),
        pytest.param([(None, 8), (80, 7)], (80, "7"), id="sets without a load say nothing of it"),
    ],
)
def test_the_working_load_is_the_one_most_sets_were_done_at(done, expected):
    sets = [logged(7, "bench_press", load, reps, set_index=k) for k, (load, reps) in enumerate(done, 1)]
    found = targets(sets, [planned("A", 1, "bench_press")], "last_load_kg, last_reps")
    assert found == [expected]


@pytest.mark.parametrize(
    ("exercise_id", "days_ago", "expected"),
    [
        pytest.param("bench_press", 3, (None, "pain"), id="beside the exercise"),
        pytest.param("squat", 3, (82.5, "more_load"), id="beside another exercise"),
        pytest.param(None, 3, (80.0, "held_by_pain"), id="beside none"),
        pytest.param("bench_press", 40, (82.5, "more_load"), id="long ago"),
    ],
)
def test_pain_noted_beside_an_exercise_leaves_it_without_a_target(exercise_id, days_ago, expected):
    note = {
        "client_id": "c1",
        "session_date": day(14 - days_ago),
        "exercise_id": exercise_id,
        "note": "elbow hurt",
    }
    found = targets(
        three_sets(7, "bench_press", 80, 8, 8, 8), [planned("A", 1, "bench_press")], pain_note=[note]
    )
    assert [row[1:] for row in found] == [expected]


def test_a_client_in_pounds_gets_a_step_in_pounds():
    client = [{"client_id": "c1", "unit": "lb"}]
    found = targets(
        three_sets(7, "bench_press", 185 * 0.45359237, 8, 8, 8),
        [planned("A", 1, "bench_press")],
        client=client,
    )
    assert found[0][1] == pytest.approx(190 * 0.45359237)


def test_the_coachs_figures_are_used():
    setting = {"progression": json.dumps({"barbell_kg": 5.0})}
    found = targets(
        three_sets(7, "bench_press", 80, 8, 8, 8), [planned("A", 1, "bench_press")], setting=setting
    )
    assert found == [("bench_press", 85.0, "more_load")]


def test_a_deload_week_is_lighter():
    plan = [
        planned("A", 1, "bench_press", valid_to=LAST),
        planned("A", 1, "bench_press", valid_from=day(14), phase="deload"),
    ]
    assert targets(three_sets(7, "bench_press", 80, 8, 8, 8), plan) == [("bench_press", 70.0, "deload")]

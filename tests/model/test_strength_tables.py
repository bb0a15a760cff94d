"""The strength tables, from sets to rows: basis, bounds, status and the client's overall line."""

import numpy as np
import pytest
from given_tables import day, logged, planned, rows_of, run_on

LAST = " qualify row_number() over (partition by client_id, exercise_id order by week_start desc) = 1"


def weekly(exercise, loads, reps=5, **other):
    """One hard set a week, at these loads."""
    return [logged(7 * week, exercise, float(load), reps, **other) for week, load in enumerate(loads)]


def trend(sets, columns, **other):
    con = run_on(["strength_trend"], sets, **other)
    return rows_of(con, f"select {columns} from strength_trend" + LAST)


def test_a_steady_gain_becomes_rising_and_a_steady_loss_falling():
    assert trend(weekly("squat", 100 * 1.01 ** np.arange(20), rir=1.0), "status") == [("rising",)]
    assert trend(weekly("squat", 130 * 0.99 ** np.arange(20), rir=1.0), "status") == [("falling",)]


def test_the_same_load_for_long_becomes_flat():
    assert trend(weekly("squat", [100.0] * 40, rir=1.0), "status") == [("flat",)]


def test_three_sessions_are_too_few_for_a_status():
    assert trend(weekly("squat", [100.0, 101.0, 102.0], rir=1.0), "status, n_exposures") == [("too_few", 3)]


def test_a_lift_of_unknown_effort_has_a_bound_and_no_upper_end():
    [(kind, level, low, high)] = trend(
        weekly("squat", [100.0] * 10), "level_kind, level_kg, level_low_kg, level_high_kg"
    )
    assert kind == "lower_bound"
    # 5 repetitions at 100 kg by Epley: at least 116.7
    assert level == pytest.approx(116.7, rel=0.01)
    assert low < level
    assert high is None


def test_the_level_is_that_of_the_published_equation_at_the_lifts_usual_repetitions():
    [(level,)] = trend(weekly("squat", [100.0] * 12, rir=2.0), "level_kg")
    assert level == pytest.approx(100 * (1 + 7 / 30), rel=0.01)


def test_bodyweight_lifts_are_followed_on_what_is_moved():
    sets = weekly("pull_up", [10.0] * 8, rir=0.0, system_kg=90.0)
    assert trend(sets, "e1rm_basis, round(level_kg)") == [("system", 105.0)]


def test_sets_above_the_equations_range_still_carry_the_trend():
    # 15 repetitions: no estimate is shown, the trend goes on
    sets = weekly("squat", [70.0] * 10, reps=14, rir=1.0)
    con = run_on(["strength_trend", "exercise_session"], sets)
    assert rows_of(con, "select count(best_e1rm_kg) from exercise_session") == [(0,)]
    assert rows_of(con, "select count(*) from strength_trend") == [(10,)]


def test_a_planned_deload_does_not_turn_the_trend():
    sets = weekly("squat", [*[100.0] * 10, 70.0, 100.0], rir=2.0)
    plan = [
        planned("A", 1, "squat"),
        planned("A", 1, "squat", plan="lighter", valid_from=day(70), valid_to=day(76), phase="deload"),
        planned("A", 1, "squat", valid_from=day(77)),
    ]
    con = run_on(["strength_trend"], sets, plan)
    [(before,)] = rows_of(con, "select level_kg from strength_trend where week_start = date '2024-03-04'")
    [(after,)] = rows_of(con, "select level_kg from strength_trend where week_start = date '2024-03-11'")
    assert after == pytest.approx(before, rel=0.01)


def client_weeks(sets):
    con = run_on(["client_strength_week"], sets)
    return rows_of(
        con,
        "select strength_index, index_low, index_high, slope_pct_per_week, n_lifts, n_exposures"
        " from client_strength_week order by week_start",
    )


def test_the_clients_line_starts_at_a_hundred_and_follows_all_lifts():
    rng = np.random.default_rng(1)
    sets = [
        row
        for lift in ("squat", "bench_press", "barbell_row", "deadlift")
        for row in weekly(lift, 100 * 1.006 ** np.arange(25) * np.exp(rng.normal(0, 0.01, 25)), rir=1.0)
    ]
    rows = client_weeks(sets)
    assert rows[0][0] == pytest.approx(100.0)
    assert rows[-1][0] == pytest.approx(100 * 1.006**24, rel=0.03)
    assert rows[-1][3] == pytest.approx(0.6, abs=0.2)
    assert rows[-1][4:] == (4, 24)
    assert all(low <= index <= high for index, low, high, *_ in rows)


def test_a_new_lift_is_no_step_in_the_clients_line():
    old = weekly("squat", [100.0] * 20, rir=1.0) + weekly("bench_press", [80.0] * 20, rir=1.0)
    new = [logged(7 * w, "deadlift", 220.0, 5, rir=1.0) for w in range(12, 20)]
    assert client_weeks(old + new)[-1][0] == pytest.approx(client_weeks(old)[-1][0], rel=0.01)

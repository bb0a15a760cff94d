"""Weekly hard sets a muscle: 1 direct, 0.5 indirect (Pelland et al. 2024), effort unknown apart."""

from given_tables import day, logged, planned, rows_of, run_on


def muscle(con, name: str, columns: str):
    return rows_of(con, f"select {columns} from muscle_week where muscle = '{name}' order by week_start")


def test_a_hard_set_counts_one_for_the_muscle_trained_directly_and_half_for_the_others():
    sets = [logged(0, "bench_press", 100, 5, rir=2.0, set_index=k) for k in (1, 2, 3)]
    con = run_on(["muscle_week"], sets)
    assert muscle(con, "chest", "direct_hard_sets, fractional_hard_sets, n_sessions") == [(3.0, 3.0, 1)]
    assert muscle(con, "triceps", "direct_hard_sets, fractional_hard_sets, n_sessions") == [(0.0, 1.5, 0)]


def test_a_coach_may_count_an_exercise_differently():
    credit = [{"exercise_id": "bench_press", "muscle": "chest", "credit": 0.25}]
    sets = [logged(0, "bench_press", 100, 5, rir=2.0, set_index=k) for k in (1, 2)]
    con = run_on(["muscle_week"], sets, exercise_muscle=credit)
    assert muscle(con, "chest", "direct_hard_sets, fractional_hard_sets") == [(0.0, 0.5)]


def test_sets_of_unknown_effort_are_counted_apart_and_never_as_hard():
    sets = [logged(0, "bench_press", 100, 5, rir=2.0), logged(0, "bench_press", 100, 5, set_index=2)]
    con = run_on(["muscle_week"], sets)
    assert muscle(con, "chest", "fractional_hard_sets, unknown_effort_sets") == [(1.0, 1.0)]


def test_frequency_counts_the_days_a_muscle_was_trained_directly():
    sets = [logged(d, "bench_press", 100, 5, rir=2.0, set_index=k) for d in (0, 3) for k in (1, 2)]
    sets.append(logged(3, "incline_press", 80, 8, rir=2.0))
    con = run_on(["muscle_week"], sets)
    assert muscle(con, "chest", "n_sessions, direct_hard_sets") == [(2, 5.0)]


def test_planned_sets_stand_beside_the_done_ones_and_are_empty_without_a_plan():
    sets = [logged(0, "bench_press", 100, 5, rir=2.0)]
    con = run_on(["muscle_week"], sets, [planned("push", 1, "bench_press", sets=4)])
    assert muscle(con, "triceps", "planned_sets, planned_direct_sets") == [(2.0, 0.0)]
    con = run_on(["muscle_week"], sets)
    assert muscle(con, "triceps", "planned_sets, planned_direct_sets") == [(None, None)]


def test_a_planned_or_targeted_muscle_that_was_not_trained_has_a_row_of_zero():
    sets = [logged(0, "squat", 100, 5, rir=2.0)]
    con = run_on(
        ["muscle_week"],
        sets,
        [planned("push", 1, "bench_press", sets=4)],
        muscle_target=[{"muscle": "calves", "target_low": 6.0, "target_high": 12.0}],
    )
    assert muscle(con, "chest", "fractional_hard_sets, planned_sets") == [(0.0, 4.0)]
    assert muscle(con, "calves", "fractional_hard_sets, target_low, target_high") == [(0.0, 6.0, 12.0)]


def test_a_week_without_a_log_has_no_rows_because_not_known_is_not_zero():
    con = run_on(
        ["muscle_week"], [logged(0, "squat", 100, 5, rir=2.0)], [planned("A", 1, "squat")], as_of=day(20)
    )
    assert rows_of(con, "select distinct week_start from muscle_week") == [(day(0),)]

"""The load of a week and how it is spread; how far apart a muscle's sessions lie."""

from statistics import pstdev

import pytest
from given_tables import day, logged, rows_of, run_on


def session(when, load, **other):
    """A training day of one set with a session load (RPE x minutes)."""
    return logged(when, "squat", 100, 5, session_minutes=60.0, session_rpe=load / 60, rir=2.0, **other)


def load_week(sets, **other):
    con = run_on(["load_week"], sets, **other)
    return rows_of(con, "select session_load_au, monotony, strain_au from load_week order by week_start")


def test_monotony_and_strain_of_the_worked_week():
    # REFERENCE 5, computed: loads 0, 300, 0, 420, 0, 360, 0: load 1080, population SD 181.018, monotony
    # 0.8523, strain 920.5 (Foster 1998; denominator chosen by us)
    week = [session(1, 300), session(3, 420), session(5, 360)]
    [(load, monotony, strain)] = load_week(week)
    assert pstdev([0, 300, 0, 420, 0, 360, 0]) == pytest.approx(181.018, abs=1e-3)
    assert (load, monotony, strain) == (
        pytest.approx(1080),
        pytest.approx(0.8523, abs=1e-4),
        pytest.approx(920.5, abs=0.1),
    )


def test_strain_is_load_times_monotony_as_in_the_published_diary():
    # REFERENCE 5, seen: load 1592, monotony 1.63, strain 2595 = 1592 x 1.63 (Foster 1998)
    [(load, monotony, strain)] = load_week([session(1, 300), session(3, 420)])
    assert strain == pytest.approx(load * monotony)


def test_days_all_alike_leave_monotony_undefined_and_not_infinite():
    [(load, monotony, strain)] = load_week([session(d, 300) for d in range(7)])
    assert (load, monotony, strain) == (pytest.approx(2100), None, None)


def test_a_day_without_a_load_leaves_the_weeks_load_unknown():
    assert load_week([session(1, 300), logged(3, "squat", 100, 5)]) == [(None, None, None)]


def test_an_unfinished_week_has_no_monotony():
    [(load, monotony, _)] = load_week([session(1, 300), session(2, 400)], as_of=day(3))
    assert (load, monotony) == (pytest.approx(700), None)


def test_the_spread_over_the_week_is_the_fullest_days_share_and_the_days_in_a_row():
    sets = [
        logged(d, "squat", 100, 5, rir=2.0, set_index=k)
        for d, n in ((0, 6), (1, 2), (4, 2))
        for k in range(1, n + 1)
    ]
    con = run_on(["load_week"], sets)
    assert rows_of(con, "select n_sessions, hardest_day_pct, n_back_to_back from load_week") == [(3, 60.0, 1)]


def test_days_between_sessions_of_a_muscle_look_back_into_the_week_before():
    sets = [logged(d, "bench_press", 100, 5, rir=2.0) for d in (0, 5, 7, 11)]
    con = run_on(["muscle_week"], sets)
    assert rows_of(
        con, "select min_days_between from muscle_week where muscle = 'chest' order by week_start"
    ) == [
        (5,),
        (2,),
    ]


def test_a_muscle_trained_only_beside_others_has_no_sessions_to_space():
    con = run_on(["muscle_week"], [logged(d, "bench_press", 100, 5, rir=2.0) for d in (0, 2)])
    assert rows_of(con, "select min_days_between from muscle_week where muscle = 'triceps'") == [(None,)]


def circumstances(sets):
    con = run_on(["lift_circumstance"], sets)
    return rows_of(
        con,
        "select exercise_id, session_date, is_late, is_day_after, is_muscle_again from lift_circumstance"
        " order by session_date, exercise_id",
    )


def test_late_is_the_third_exercise_or_later_in_the_second_half():
    order = ["squat", "bench_press", "barbell_row", "curl"]
    sets = [logged(0, exercise, 100, 5, source_row=row) for row, exercise in enumerate(order, start=2)]
    found = {exercise: late for exercise, _, late, _, _ in circumstances(sets)}
    assert found == {"squat": False, "bench_press": False, "barbell_row": True, "curl": True}


def test_the_order_of_a_session_from_two_files_is_not_known():
    sets = [logged(0, "squat", 100, 5), logged(0, "curl", 30, 8, source_file="second.csv")]
    assert {late for _, _, late, _, _ in circumstances(sets)} == {None}


def test_days_after_and_muscles_again_are_told():
    found = circumstances([logged(d, "squat", 100, 5) for d in (0, 1, 5)])
    assert [row[3:] for row in found] == [(None, None), (True, True), (False, False)]

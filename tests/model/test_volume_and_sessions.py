"""Sets, volume load and session figures from given sets: what counts, how often, at what load."""

from typing import Any

import pytest
from given_tables import day, logged, planned, rows_of, run_on


def one_set(exercise: str, load: float | None, reps: int | None, **other: Any) -> tuple[Any, ...]:
    """(volume_kg, system_volume_kg, n_reps, n_sets) of an exercise session of one set."""
    con = run_on(["exercise_session"], [logged(0, exercise, load, reps, **other)])
    [row] = rows_of(con, "select volume_kg, system_volume_kg, n_reps, n_sets from exercise_session")
    return row


# volume load = sets x repetitions x load [P]; hands, sides and bodyweight as in REFERENCE 8 [P]
@pytest.mark.parametrize(
    "given, volume, system_volume, reps",
    [
        pytest.param(("bench_press", 100, 5, {}), 500, 500, 5, id="a barbell as logged"),
        pytest.param(("dumbbell_press", 30, 10, {}), 600, 600, 10, id="dumbbells: both hands"),
        pytest.param(("one_arm_row", 40, 10, {}), 800, 800, 20, id="one arm at a time: both sides"),
        pytest.param(("split_squat", 20, 8, {}), 640, 640, 16, id="two dumbbells and both legs"),
        pytest.param(
            ("split_squat", 20, 7, {"reps_left": 9, "reps_right": 7}),
            640,
            640,
            16,
            id="sides that differ are added",
        ),
        pytest.param(
            ("pull_up", 10, 5, {"system_kg": 90.0}), 50, 450, 5, id="added load and bodyweight stay apart"
        ),
        pytest.param(
            ("pull_up", 0, 5, {"system_kg": 80.0}), 0, 400, 5, id="bodyweight alone is no external load"
        ),
        pytest.param(("pull_up", -20, 5, {"system_kg": 60.0}), 0, 300, 5, id="assistance is no load lifted"),
        pytest.param(("pull_up", 10, 5, {}), 50, None, 5, id="bodyweight unknown: only the external volume"),
        pytest.param(("bench_press", None, 5, {}), None, None, 5, id="load unknown: repetitions are kept"),
    ],
)
def test_volume_load_counts_hands_sides_and_bodyweight(given, volume, system_volume, reps):
    exercise, load, done, other = given
    assert one_set(exercise, load, done, **other) == (volume, system_volume, reps, 1)


def test_a_drop_set_is_one_set_whose_loads_all_count_for_volume():
    loads = [(100, 5, 1), (80, 5, 2), (60, 6, 3)]
    sets = [logged(0, "bench_press", load, reps, set_kind="drop", drop_index=k) for load, reps, k in loads]
    con = run_on(["exercise_session"], sets)
    assert rows_of(con, "select n_sets, n_unknown_effort_sets, n_reps, volume_kg from exercise_session") == [
        (1, 1, 16, 1260.0)
    ]


def test_warm_ups_and_missed_attempts_are_no_sets_and_no_volume():
    sets = [
        logged(0, "bench_press", 60, 5, set_kind="warm_up"),
        logged(0, "bench_press", 120, 1, set_index=2, rir=0.0),
        logged(0, "bench_press", 125, 0, set_index=3),
    ]
    con = run_on(["exercise_session", "session_summary"], sets)
    assert rows_of(con, "select n_sets, n_missed_attempts, volume_kg, top_load_kg from exercise_session") == [
        (1, 1, 120.0, 120.0)
    ]
    assert rows_of(con, "select n_sets, volume_kg from session_summary") == [(1, 120.0)]


def test_timed_work_is_kept_apart_from_volume():
    con = run_on(["session_summary"], [logged(0, "plank", None, None, set_kind="timed", duration_s=60.0)])
    assert rows_of(con, "select n_sets, timed_s, volume_kg from session_summary") == [(1, 60.0, 0.0)]


# hard set [P]: a working set with 4 or fewer in reserve (REFERENCE 4)
@pytest.mark.parametrize(
    "effort, hard, unknown",
    [
        pytest.param({"rir": 4.0}, 1, 0, id="four in reserve is hard"),
        pytest.param({"rir": 4.5}, 0, 0, id="four and a half is not"),
        pytest.param({"rpe": 6.0}, 1, 0, id="RPE 6 is four in reserve"),
        pytest.param({"rpe": 5.5}, 0, 0, id="RPE 5.5 is not hard"),
        pytest.param({}, 0, 1, id="unknown effort is counted apart"),
        pytest.param({"rpe": 3.0}, 0, 1, id="an RPE below 5 is as good as none"),
        pytest.param({"rir": 0.0, "set_kind": "warm_up"}, None, None, id="a warm-up is never hard"),
    ],
)
def test_hard_sets_are_those_near_failure_and_known_to_be(effort, hard, unknown):
    con = run_on(["exercise_session"], [logged(0, "bench_press", 100, 5, **effort)])
    rows = rows_of(con, "select n_hard_sets, n_unknown_effort_sets from exercise_session")
    assert rows == ([] if hard is None else [(hard, unknown)])


def test_a_logged_session_length_wins_and_gives_the_session_load():
    # session load = session RPE x minutes (Foster et al. 2001)
    con = run_on(["session_summary"], [logged(0, "squat", 100, 5, session_minutes=60.0, session_rpe=7.0)])
    assert rows_of(
        con, "select duration_low_min, duration_high_min, session_load_au from session_summary"
    ) == [(60.0, 60.0, 420.0)]


def test_without_a_logged_length_the_session_has_a_range_and_no_load():
    con = run_on(
        ["session_summary"], [logged(0, "squat", 100, 5, set_index=k, session_rpe=7.0) for k in range(1, 5)]
    )
    [(low, high, load)] = rows_of(
        con, "select duration_low_min, duration_high_min, session_load_au from session_summary"
    )
    # 4 sets of 5: 5 + (60 s + 4 rests of 60 s)/60 and 10 + (80 s + 4 rests of 180 s)/60
    assert (low, high) == (pytest.approx(10.0), pytest.approx(10 + 800 / 60))
    assert load is None


def test_paired_exercises_make_a_session_shorter():
    # paired sets roughly halve the rest (Iversen et al. 2021; Robbins et al. 2010)
    def length(label: str | None) -> float:
        sets = [logged(0, "curl", 30, 10, set_index=k, superset=label) for k in range(1, 4)]
        return float(
            rows_of(run_on(["session_summary"], sets), "select duration_high_min from session_summary")[0][0]
        )

    assert length("A1") < length(None)


def test_a_week_starts_on_the_day_the_coach_chose():
    sunday = logged(6, "squat", 100, 5)
    for first, week in ((1, day(0)), (7, day(6))):
        con = run_on(["session_summary"], [sunday], setting={"first_day_of_week": first}, as_of=day(20))
        assert rows_of(con, "select week_start from session_summary") == [(week,)]


def test_a_session_names_the_planned_day_it_was_matched_to():
    con = run_on(["session_summary"], [logged(1, "squat", 100, 5)], [planned("legs", 1, "squat")])
    assert rows_of(con, "select planned_day from session_summary") == [("legs",)]


def test_the_plan_tells_rest_and_pairs_where_the_log_does_not():
    sets = [logged(0, "curl", 30, 10, set_index=k) for k in (1, 2, 3)]

    def longest(**plan):
        con = run_on(["session_summary"], sets, [planned("arms", 1, "curl", **plan)])
        return rows_of(con, "select duration_high_min from session_summary")[0][0]

    # 10 min, 30 repetitions of 4 s, three rests
    assert longest() == pytest.approx(10 + (120 + 3 * 180) / 60)
    assert longest(rest_s=90.0) == pytest.approx(10 + (120 + 3 * 108) / 60)
    assert longest(superset="A") == pytest.approx(10 + (120 + 3 * 90) / 60)

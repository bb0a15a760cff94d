"""The estimated 1RM of a set as sql/ computes it: REFERENCE 1 and 2 beside each check."""

from math import log, sqrt

import pytest
from given_tables import logged, rows_of, run_on

from pipeline.analyse.e1rm import EQUATIONS, e1rm_factor

LINEAR = ("epley", "brzycki", "oconner", "lander")
LINEAR_TO = 10
"""Repetitions to failure up to which a linear equation holds (Reynolds et al. 2006)."""


def estimates(sets, **setting):
    con = run_on(["set_e1rm"], sets, setting=setting)
    return rows_of(con, "select e1rm_kg, e1rm_kind, e1rm_se_pct from set_e1rm order by source_row")


@pytest.mark.parametrize("equation", EQUATIONS)
def test_sql_and_python_give_the_same_estimate_and_error(equation):
    cases = [(1, 0.0), (2, 0.0), (5, 2.0), (8, 1.0), (10, 0.0), (3, 7.0)]
    sets = [
        logged(0, "bench_press", 100, reps, rir=rir, set_index=k + 1) for k, (reps, rir) in enumerate(cases)
    ]
    found = estimates(sets, e1rm_equation=equation)
    assert [row[0] for row in found] == pytest.approx(
        [100 * float(e1rm_factor(reps + rir, equation)) for reps, rir in cases]
    )
    assert [row[2] for row in found] == pytest.approx(
        [slow_error_pct(reps, rir, equation) for reps, rir in cases], rel=1e-5
    )


def slow_error_pct(reps: int, rir: float, equation: str) -> float:
    """The standard error of one estimate, by differences of the equation as printed.

    100 x share per repetition x sqrt(sd_reps^2 + sd_rir^2): sd_reps 0.7 at 4 repetitions to failure or fewer,
    1.1 at 12, 1.3 at most (Mitter et al. 2022); sd_rir none at failure, 1 repetition to 5 in reserve, then 0.3
    more for each (Hackett et al. 2017).
    """
    to_failure, step = reps + rir, 1e-6
    at = max(to_failure, 1 + 2 * step)  # the single itself is the maximum, whatever the equation
    up, down = (float(e1rm_factor(at + d, equation)) for d in (step, -step))
    share = (log(up) - log(down)) / (2 * step)
    sd_reps = 0.7 + 0.4 * min(max((to_failure - 4) / 8, 0.0), 1.5)
    sd_rir = 0.0 if rir == 0 else 1.0 if rir <= 5 else 1.0 + 0.3 * (rir - 5)
    return 100 * share * sqrt(sd_reps**2 + sd_rir**2)


def errors_pct(cases: list[tuple[int, float]]) -> list[float]:
    sets = [
        logged(0, "bench_press", 100, reps, rir=rir, set_index=k + 1) for k, (reps, rir) in enumerate(cases)
    ]
    return [error for _, _, error in estimates(sets, e1rm_equation="epley")]


def test_the_error_is_two_to_three_per_cent_at_failure_and_three_to_four_with_reserve():
    # REFERENCE 3, from Mitter et al. 2022 and Hackett et al. 2017
    assert all(2 < error < 3 for error in errors_pct([(5, 0.0), (8, 0.0), (10, 0.0)]))
    assert all(3 < error < 4 for error in errors_pct([(5, 2.0), (8, 2.0)]))


def test_the_error_grows_with_what_is_left_in_reserve():
    found = errors_pct([(5, 0.0), (5, 2.0), (5, 6.0), (5, 9.0)])
    assert found == sorted(found)
    assert len(set(found)) == 4


def test_a_repetition_is_worth_100_over_30_plus_r_per_cent_by_epley():
    # REFERENCE 2: 2.9 % at 5 repetitions, 2.5 % at 10
    sets = [logged(0, "bench_press", 100, reps, rir=0.0, set_index=reps) for reps in (5, 10)]
    con = run_on(["set_e1rm"], sets, setting={"e1rm_equation": "epley"})
    found = rows_of(con, "select 100 * share_per_rep from set_e1rm order by set_index")
    assert [share for (share,) in found] == pytest.approx([2.857, 2.5], abs=1e-3)


# 100 kg throughout, Epley
@pytest.mark.parametrize(
    "given, kind, kg",
    [
        pytest.param(
            {"reps": 5, "rir": 2.0},
            "point",
            100 * (1 + 7 / 30),
            id="repetitions to failure are done plus reserve",
        ),
        pytest.param({"reps": 1, "rir": 0.0}, "point", 100, id="a single to failure is itself"),
        pytest.param(
            {"reps": 1, "rir": 2.0}, "point", 110, id="a single with two in reserve is three to failure"
        ),
        pytest.param({"reps": 1}, "lower_bound", 100, id="a single of unknown effort is a lower bound"),
        pytest.param(
            {"reps": 5}, "lower_bound", 100 * (1 + 5 / 30), id="unknown effort: at least what was done"
        ),
        pytest.param({"reps": 5, "rpe": 8.0}, "point", 100 * (1 + 7 / 30), id="RPE 8 is two in reserve"),
        pytest.param(
            {"reps": 5, "rpe": 9.5}, "point", 100 * (1 + 5.5 / 30), id="RPE 9.5 is half a repetition"
        ),
        pytest.param({"reps": 5, "rpe": 6.0}, "point", 130, id="RPE 6 is four in reserve, vaguely"),
        pytest.param(
            {"reps": 5, "rpe": 4.0}, "lower_bound", 100 * (1 + 5 / 30), id="an RPE below 5 says nothing"
        ),
        pytest.param(
            {"reps": 5, "rpe": 4.0, "rir": 6.0},
            "lower_bound",
            100 * (1 + 5 / 30),
            id="an RIR that only repeats an RPE below 5 says nothing either",
        ),
        pytest.param(
            {"reps": 5, "rpe": 8.0, "rir": 1.0}, "point", 120, id="a written reserve wins over an RPE"
        ),
        pytest.param({"reps": 8, "rir": 2.0}, "point", 400 / 3, id="ten to failure is within the range"),
        pytest.param({"reps": 9, "rir": 2.0}, "point", None, id="eleven to failure is above it: no estimate"),
        pytest.param({"reps": 11}, "lower_bound", None, id="nor a lower bound"),
        pytest.param(
            {"reps": 8, "is_at_least": True, "rir": 0.0},
            "lower_bound",
            100 * (1 + 8 / 30),
            id="8+ is a bound",
        ),
        pytest.param(
            {"reps": 5, "rir": 1.0, "set_kind": "drop"}, "point", 120, id="the first load of a drop set"
        ),
    ],
)
def test_a_set_gives_a_point_a_bound_or_no_figure(given, kind, kg):
    [(found_kg, found_kind, _)] = estimates([logged(0, "bench_press", 100, **given)])
    assert found_kind == kind
    assert found_kg is None if kg is None else found_kg == pytest.approx(kg)


@pytest.mark.parametrize("equation", EQUATIONS)
def test_no_equation_is_asked_beyond_its_range_or_the_coachs_limit(equation):
    # linear equations up to 10 repetitions: Reynolds et al. 2006; else the setting
    sets = [logged(0, "bench_press", 100, reps, rir=0.0, set_index=reps) for reps in range(1, 16)]
    for limit in (8, 12):
        found = [kg for kg, _, _ in estimates(sets, e1rm_equation=equation, e1rm_max_reps=limit)]
        most = min(limit, LINEAR_TO) if equation in LINEAR else limit
        assert [kg is not None for kg in found] == [reps <= most for reps in range(1, 16)]


@pytest.mark.parametrize(
    "given",
    [
        pytest.param(
            {"exercise_id": "bench_press", "load_kg": 100, "reps": 5, "set_kind": "warm_up"}, id="warm-up"
        ),
        pytest.param(
            {"exercise_id": "bench_press", "load_kg": 100, "reps": 5, "set_kind": "drop", "drop_index": 2},
            id="a later load of a drop set",
        ),
        pytest.param(
            {"exercise_id": "bench_press", "load_kg": 100, "reps": 12, "set_kind": "rest_pause"},
            id="rest-pause",
        ),
        pytest.param({"exercise_id": "bench_press", "load_kg": 100, "reps": 0}, id="a missed attempt"),
        pytest.param({"exercise_id": "bench_press", "load_kg": None, "reps": 5}, id="load unknown"),
        pytest.param({"exercise_id": "pull_up", "load_kg": 10, "reps": 5}, id="bodyweight unknown"),
        pytest.param(
            {"exercise_id": "plank", "load_kg": None, "reps": None, "duration_s": 60.0, "set_kind": "timed"},
            id="a hold",
        ),
        pytest.param({"exercise_id": "bench_press", "load_kg": 40, "reps": 25}, id="25 repetitions"),
    ],
)
def test_some_sets_are_no_ground_for_an_estimate(given):
    assert estimates([logged(0, **given)]) == []


def test_a_bodyweight_lift_is_estimated_on_what_is_moved():
    # pull-up: bodyweight + added load [P]
    con = run_on(["exercise_session"], [logged(0, "pull_up", 10, 5, rir=0.0, system_kg=90.0)])
    assert rows_of(con, "select best_e1rm_kg, e1rm_basis, best_load_kg from exercise_session") == [
        (pytest.approx(105.0), "system", 10.0)
    ]


def test_dumbbells_are_estimated_per_hand():
    # [P] e1RM stays per hand
    con = run_on(["exercise_session"], [logged(0, "dumbbell_press", 30, 10, rir=0.0)])
    assert rows_of(con, "select best_e1rm_kg from exercise_session") == [(pytest.approx(40.0),)]


def test_a_bound_stands_for_the_session_only_when_it_lies_above_the_known_sets():
    known = logged(0, "bench_press", 100, 5, rir=1.0)
    low_bound = logged(0, "bench_press", 100, 6, set_index=2)
    high_bound = logged(0, "bench_press", 130, 5, set_index=2)
    for bound, kind in ((low_bound, "point"), (high_bound, "lower_bound")):
        con = run_on(["exercise_session"], [known, bound])
        assert rows_of(con, "select e1rm_kind from exercise_session") == [(kind,)]


def test_a_bound_has_no_upper_end():
    con = run_on(["exercise_session"], [logged(0, "bench_press", 100, 5)])
    [(low, best, high)] = rows_of(con, "select e1rm_low_kg, best_e1rm_kg, e1rm_high_kg from exercise_session")
    assert low < best
    assert high is None

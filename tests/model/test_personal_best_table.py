"""The table of bests, from sets to rows."""

import pytest
from given_tables import EXERCISES, logged, rows_of, run_on

COLUMNS = "select kind, exercise_id, value, previous_value, unit from personal_best order by kind, best_date"


def test_a_heavier_bar_is_a_best_by_a_plate_and_not_by_less():
    sets = [logged(7 * k, "squat", load, 1) for k, load in enumerate([100.0, 100.0, 101.0, 102.5])]
    found = [row for row in rows_of(run_on(["personal_best"], sets), COLUMNS) if row[0] == "load"]
    assert found == [("load", "squat", 102.5, 100.0, "kg")]


def test_five_pounds_on_the_bar_are_a_best_too():
    sets = [logged(7 * k, "squat", pounds * 0.45359237, 1) for k, pounds in enumerate([225, 225, 230])]
    found = [row for row in rows_of(run_on(["personal_best"], sets), COLUMNS) if row[0] == "load"]
    assert len(found) == 1


def test_two_more_repetitions_at_a_load_are_a_best_and_one_is_not():
    sets = [logged(7 * k, "squat", 100.0, reps) for k, reps in enumerate([5, 6, 7, 8])]
    found = [row for row in rows_of(run_on(["personal_best"], sets), COLUMNS) if row[0] == "reps_at_load"]
    assert found == [("reps_at_load", "squat", 7.0, 5.0, "repetitions")]


def test_an_estimate_from_sets_of_unknown_effort_is_never_a_best():
    sets = [logged(7 * k, "squat", load, 5) for k, load in enumerate([100.0, 100.0, 130.0])]
    assert "e1rm" not in {row[0] for row in rows_of(run_on(["personal_best"], sets), COLUMNS)}


def test_an_estimate_is_a_best_when_it_beats_its_error():
    for load, is_best in ((104.0, False), (112.0, True)):
        sets = [logged(7 * k, "squat", kg, 5, rir=0.0) for k, kg in enumerate([100.0, 100.0, load])]
        kinds = {row[0] for row in rows_of(run_on(["personal_best"], sets), COLUMNS)}
        assert ("e1rm" in kinds) is is_best


def test_warm_ups_are_no_bests():
    sets = [
        logged(0, "squat", 100.0, 5),
        logged(7, "squat", 100.0, 5),
        logged(14, "squat", 180.0, 1, set_kind="warm_up"),
    ]
    assert rows_of(run_on(["personal_best"], sets), COLUMNS) == []


def kinds_of_best(sets, **tables):
    return {row[0] for row in rows_of(run_on(["personal_best"], sets, **tables), COLUMNS)}


@pytest.mark.parametrize(
    "implement, step_kg",
    [
        pytest.param("barbell", 2.27, id="five pounds on a bar"),
        pytest.param("trap_bar", 2.27, id="on a trap bar"),
        pytest.param("ez_bar", 2.27, id="on a curl bar"),
        pytest.param("smith", 2.27, id="on a guided bar"),
        pytest.param("dumbbell", 1.0, id="a kilogram a hand"),
        pytest.param("kettlebell", 2.0, id="two of a kettlebell"),
        pytest.param("machine_stack", 1.14, id="half a plate elsewhere"),
    ],
)
def test_a_best_of_load_takes_the_smallest_step_of_its_implement(implement, step_kg):
    exercise = [
        {
            "exercise_id": "squat",
            "exercise_name": "squat",
            "is_timed": False,
            "is_one_sided": False,
            "is_e1rm_lift": True,
            "implements": 1,
            "bodyweight_share": 0.0,
            **EXERCISES["squat"],
            "implement": implement,
        }
    ]
    for gain, is_best in ((step_kg - 0.05, False), (step_kg + 0.02, True)):
        sets = [logged(7 * k, "squat", kg, 1) for k, kg in enumerate([100.0, 100.0, 100.0 + gain])]
        assert ("load" in kinds_of_best(sets, exercise=exercise)) is is_best


@pytest.mark.parametrize("load, is_best", [(105.0, False), (106.0, True)])
def test_a_sessions_volume_is_a_best_by_one_part_in_twenty(load, is_best):
    sets = [logged(7 * k, "squat", kg, 10) for k, kg in enumerate([100.0, 100.0, load])]
    assert ("volume" in kinds_of_best(sets)) is is_best


@pytest.mark.parametrize(
    "load, reps, is_best",
    [
        # five to failure: error 2.14 %, of two estimates 1.2816 x sqrt 2 of that, 3.88 % of the new one
        pytest.param(103.9, 5, False, id="within the error"),
        pytest.param(104.2, 5, True, id="beyond it"),
        # ten instead of five: lifters' curves differ by 0.30 of the way from one to the other
        pytest.param(93.5, 10, False, id="what another length of set may feign"),
        pytest.param(95.0, 10, True, id="more than that"),
    ],
)
def test_an_estimate_is_a_best_beyond_its_error_and_what_a_change_of_length_may_feign(load, reps, is_best):
    sets = [logged(7 * k, "squat", 100.0, 5, rir=0.0) for k in range(2)]
    sets.append(logged(14, "squat", load, reps, rir=0.0))
    assert ("e1rm" in kinds_of_best(sets)) is is_best

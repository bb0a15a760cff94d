"""The table of bests, from sets to rows."""

from given_tables import logged, rows_of, run_on

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

"""Did the block work: adherence, sets and strength of each block from logged sets and a plan."""

import pytest
from given_tables import day, logged, planned, rows_of, run_on


def training(first_week, n_weeks, start_kg, gain_pct, skip=()):
    """Bench on Mondays and squat on Thursdays, three sets of five at RIR 2."""
    sets = []
    for week in range(first_week, first_week + n_weeks):
        load = start_kg * (1 + gain_pct / 100) ** (week - first_week)
        for offset, lift in ((0, "bench_press"), (3, "squat")):
            if (week, lift) not in skip:
                sets += [logged(7 * week + offset, lift, load, 5, rir=2.0, set_index=k) for k in (1, 2, 3)]
    return sets


def two_blocks():
    plan = []
    for start, end, name in ((0, 41, "first"), (42, 83, "second")):
        for place, weekday, lift in (("A", 1, "bench_press"), ("B", 4, "squat")):
            plan.append(planned(place, weekday, lift, valid_from=day(start), valid_to=day(end), plan=name))
    return plan


@pytest.fixture(scope="module")
def con():
    sets = [*training(0, 6, 100, 0.0, skip={(2, "squat")}), *training(6, 6, 100, 3.0)]
    return run_on(
        ["block_review", "block_lift", "block_muscle", "block_exercise"], sets, two_blocks(), as_of=day(83)
    )


def test_each_block_has_its_weeks_sessions_and_sets(con):
    found = rows_of(
        con,
        "select plan, n_weeks, n_done, n_planned, round(set_completion_pct, 1), is_over from block_review"
        " order by valid_from",
    )
    assert found == [("first", 6, 11, 12, 91.7, True), ("second", 6, 12, 12, 100.0, True)]


def test_strength_is_told_with_its_interval_and_against_the_block_before(con):
    first, second = rows_of(
        con,
        "select change_pct_per_week, outcome, difference_pct_per_week, previous_valid_from"
        " from block_review order by valid_from",
    )
    assert first[0] == pytest.approx(0.0, abs=0.01)
    assert first[1:] == ("no_clear_change", None, None)
    assert second[0] == pytest.approx(2.956, abs=0.01)  # 100 ln 1.03
    assert second[1] == "stronger"
    assert second[2] == pytest.approx(2.956, abs=0.01)
    assert second[3] == day(0)


def test_each_lift_has_its_own_change_and_end_points(con):
    found = rows_of(
        con,
        "select exercise_id, n_sessions, round(last_e1rm_kg / first_e1rm_kg, 3), outcome from block_lift"
        " where plan = 'second' order by 1",
    )
    assert found == [
        ("bench_press", 6, 1.159, "stronger"),
        ("squat", 6, 1.159, "stronger"),
    ]  # 1.03 to the 5th


def test_sets_a_muscle_are_means_over_the_weeks(con):
    found = rows_of(
        con,
        "select planned_sets, done_sets, previous_done_sets from block_muscle"
        " where muscle = 'quads' order by valid_from",
    )
    assert found == [(3.0, 2.5, None), (3.0, 3.0, 2.5)]


def test_plan_against_done_exercise_by_exercise(con):
    found = rows_of(
        con,
        "select n_times_planned, n_times_done, planned_sets, done_sets, sentence from block_exercise"
        " where exercise_id = 'squat' and plan = 'first'",
    )
    assert found == [(6, 5, 18, 15, "squat: done 5 of 6 times, 15 of 18 sets.")]


def test_a_swap_is_named():
    sets = training(0, 3, 100, 0.0, skip={(1, "bench_press")})
    sets += [logged(7, "dumbbell_press", 40, 8, rir=2.0, set_index=k) for k in (1, 2, 3)]
    con = run_on(["block_exercise"], sets, two_blocks()[:2], as_of=day(20))
    assert rows_of(
        con,
        "select n_times_done, n_times_swapped, swapped_for from block_exercise"
        " where exercise_id = 'bench_press'",
    ) == [(3, 1, "dumbbell press")]


def test_a_block_of_two_weeks_is_too_little_to_tell():
    con = run_on(["block_review"], training(0, 2, 100, 5.0), two_blocks()[:2], as_of=day(13))
    assert rows_of(con, "select outcome, change_pct_per_week, is_over from block_review") == [
        ("too_little", None, False)
    ]


def test_a_deload_is_no_block_of_its_own():
    plan = [
        *two_blocks(),
        planned("A", 1, "bench_press", valid_from=day(42), valid_to=day(48), plan="x", phase="deload"),
    ]
    con = run_on(
        ["block_review"],
        training(0, 6, 100, 0.0),
        [row for row in plan if row["plan"] != "second"],
        as_of=day(48),
    )
    assert rows_of(con, "select plan from block_review") == [("first",)]


def test_nothing_planned_gives_no_blocks():
    con = run_on(
        [
            "block_review",
            "block_lift",
            "block_muscle",
            "block_exercise",
            "plan_audit",
            "plan_layout",
            "plan_change",
            "next_target",
        ],
        training(0, 2, 100, 0.0),
    )
    for table in (
        "block_review",
        "block_lift",
        "block_muscle",
        "block_exercise",
        "plan_audit",
        "next_target",
    ):
        assert rows_of(con, f"select count(*) from {table}") == [(0,)]


@pytest.mark.parametrize(
    "lifts, blocks",
    [
        pytest.param(["squat"] * 6, [(day(0), 6)], id="the same exercises go on"),
        pytest.param(
            ["squat"] * 3 + ["deadlift"] * 3, [(day(0), 3), (day(21), 3)], id="others begin a block"
        ),
    ],
)
def test_weeks_written_one_by_one_are_one_block_while_their_exercises_stay(lifts, blocks):
    plan = [
        planned("A", 1, lift, sets=2 + week, valid_from=day(7 * week), valid_to=day(7 * week + 6))
        for week, lift in enumerate(lifts)
    ]
    found = run_on(["block_review"], training(0, 6, 100, 1.0), plan, as_of=day(41))
    assert rows_of(found, "select valid_from, n_weeks from block_review order by valid_from") == blocks


def test_blocks_of_several_weeks_stay_apart_though_their_exercises_are_the_same():
    plan = [
        planned("A", 1, "squat", sets=3, valid_from=day(0), valid_to=day(20)),
        planned("A", 1, "squat", sets=4, valid_from=day(21), valid_to=day(41)),
    ]
    found = run_on(["block_review"], training(0, 6, 100, 1.0), plan, as_of=day(41))
    assert rows_of(found, "select n_weeks from block_review") == [(3,), (3,)]

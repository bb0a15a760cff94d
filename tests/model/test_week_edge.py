"""Sessions done across the week's edge: Sunday's on Monday, or Monday's the Sunday before."""

import random
from datetime import timedelta
from typing import Any

import pytest
from given_tables import day, logged, planned, rows_of, run_on

# Monday push, Thursday pull, Sunday legs
SPLIT = [
    planned("push", 1, "bench_press"),
    planned("push", 1, "push_down", slot=2),
    planned("pull", 4, "barbell_row"),
    planned("pull", 4, "curl", slot=2),
    planned("legs", 7, "squat"),
    planned("legs", 7, "deadlift", slot=2),
]
PUSH, PULL, LEGS = ("bench_press", "push_down"), ("barbell_row", "curl"), ("squat", "deadlift")
TWO_WEEKS = day(13)


def session(when: int, *exercises: str, sets: int = 3) -> list[dict[str, Any]]:
    """A training day: some sets of six repetitions of each exercise."""
    return [
        logged(when, exercise, 100, 6, rir=2.0, set_index=k)
        for exercise in exercises
        for k in range(1, sets + 1)
    ]


def outcomes(sets: list[dict[str, Any]], plan: list[dict[str, Any]] = SPLIT) -> dict[tuple[int, str], Any]:
    """(week from 1, planned day) -> outcome and the day it was done, counted from the first Monday."""
    con = run_on(["planned_session"], sets, plan, as_of=TWO_WEEKS)
    rows = rows_of(
        con,
        "select date_diff('day', date '2024-01-01', week_start) / 7 + 1, day, outcome,"
        " date_diff('day', date '2024-01-01', session_date) from planned_session",
    )
    return {(int(week), name): (outcome, when) for week, name, outcome, when in rows}


def weeks(sets: list[dict[str, Any]], columns: str, plan: list[dict[str, Any]] = SPLIT) -> list[Any]:
    con = run_on(["adherence_week"], sets, plan, as_of=TWO_WEEKS)
    return rows_of(con, f"select {columns} from adherence_week order by week_start")


FIRST_WEEK = session(0, *PUSH) + session(3, *PULL)
SECOND_WEEK = session(10, *PULL) + session(13, *LEGS)


def test_sundays_session_done_on_monday_is_moved_and_not_missed_and_unplanned():
    sets = [*FIRST_WEEK, *session(7, *LEGS), *session(8, *PUSH), *SECOND_WEEK]
    found = outcomes(sets)
    assert found[1, "legs"] == ("moved", 7)
    assert found[2, "push"] == ("moved", 8)
    assert weeks(sets, "n_done, n_missed, n_unplanned, attendance_pct, set_completion_pct") == [
        (3, 0, 0, 100.0, 100.0),
        (3, 0, 0, 100.0, 100.0),
    ]


def test_mondays_session_done_the_sunday_before_is_moved_and_not_unplanned():
    sets = [*session(0, *PUSH), *session(3, *PULL), *session(5, *LEGS), *session(6, *PUSH), *SECOND_WEEK]
    found = outcomes(sets)
    assert found[2, "push"] == ("moved", 6)
    assert weeks(sets, "n_done, n_unplanned, planned_sets, done_sets") == [(3, 0, 18, 18), (3, 0, 18, 18)]


@pytest.mark.parametrize(
    "late, expected",
    [
        pytest.param(7, ("moved", 7), id="a day late"),
        pytest.param(8, ("moved", 8), id="two days late"),
        pytest.param(9, ("missed", None), id="three days late"),
    ],
)
def test_a_session_is_looked_for_two_days_beyond_its_week(late, expected):
    assert outcomes([*FIRST_WEEK, *session(late, *LEGS), *SECOND_WEEK])[1, "legs"] == expected


def test_the_weeks_own_sessions_go_before_those_of_the_week_before():
    # legs on Monday and none on the second Sunday: the second week's own session has the better claim
    found = outcomes([*FIRST_WEEK, *session(7, *LEGS), *session(10, *PULL)])
    assert found[2, "legs"] == ("moved", 7)
    assert found[1, "legs"] == ("missed", None)


def test_a_plan_without_weekdays_stays_within_its_week():
    plan = [row | {"weekday": None} for row in SPLIT]
    sets = [*FIRST_WEEK, *session(7, *LEGS), *session(8, *PUSH), *SECOND_WEEK]
    assert outcomes(sets, plan)[1, "legs"] == ("missed", None)


def test_a_swap_in_a_session_done_late_counts_as_a_swap():
    sets = [*FIRST_WEEK, *session(7, "front_squat", "deadlift"), *session(8, *PUSH), *SECOND_WEEK]
    assert weeks(sets, "n_done, n_swapped, set_completion_pct")[0] == (3, 1, 100.0)


def test_a_late_session_serves_one_week_only():
    # its squats are no second helping for the week it was done in, whose own legs day was missed
    sets = [*FIRST_WEEK, *session(7, *LEGS), *session(8, *PUSH), *session(10, *PULL)]
    later = [*SPLIT[:4], planned("legs", 6, "squat"), planned("legs", 6, "barbell_row", slot=2)]
    plan = [row | {"valid_to": day(6)} for row in SPLIT] + [row | {"valid_from": day(7)} for row in later]
    con = run_on(["planned_exercise"], sets, plan, as_of=TWO_WEEKS)
    rows = rows_of(
        con,
        "select session_date, done_exercise_id, count(*) from planned_exercise"
        " where session_date is not null group by all having count(*) > 1",
    )
    assert rows == []


@pytest.mark.parametrize(
    "sets",
    [
        pytest.param([*FIRST_WEEK, *session(7, *LEGS), *session(8, *PUSH)], id="late"),
        pytest.param([*session(0, *PUSH), *session(6, *PUSH), *session(10, *PULL)], id="early"),
        # the squats of Saturday stood for Sunday's when the week ended, and still do
        pytest.param(
            [*FIRST_WEEK, *session(5, "squat", "pull_up"), *session(7, *LEGS), *session(8, *PUSH)],
            id="a lift of the late session done in the week besides",
        ),
        pytest.param([*session(7, *LEGS)], id="nothing logged in the week"),
    ],
)
def test_what_was_known_at_the_weeks_end_stays_when_the_session_is_made_up(sets):
    columns = "n_planned, n_done, n_excused, planned_sets, done_sets, set_completion_pct"
    query = f"select {columns} from adherence_at_week_end where week_start = date '2024-01-01'"
    known = [row for row in sets if row["session_date"] <= day(6)]
    then = run_on(["adherence_at_week_end"], known, SPLIT, as_of=day(6))
    now = run_on(["adherence_at_week_end"], sets, SPLIT, as_of=TWO_WEEKS)
    assert rows_of(then, query) == rows_of(now, query)
    assert len(rows_of(now, query)) == 1


def test_at_the_weeks_end_a_session_not_yet_made_up_was_missed():
    sets = [*FIRST_WEEK, *session(7, *LEGS), *session(8, *PUSH), *SECOND_WEEK]
    con = run_on(["adherence_at_week_end"], sets, SPLIT, as_of=TWO_WEEKS)
    assert rows_of(con, "select n_done, done_sets from adherence_at_week_end order by week_start") == [
        (2, 12),
        (3, 18),
    ]


def loose_history(seed: int) -> list[dict[str, Any]]:
    """Ten weeks of the split, each session up to two days early or late, some left out or mixed."""
    rng = random.Random(seed)
    sets: dict[int, set[str]] = {}
    for week in range(10):
        for offset, exercises in ((0, PUSH), (3, PULL), (6, LEGS)):
            if rng.random() < 0.85:
                when = max(7 * week + offset + rng.choice([-2, -1, -1, 0, 0, 1, 1, 2]), 0)
                chosen = [
                    rng.choice(["front_squat", "pull_up", e]) if rng.random() < 0.15 else e for e in exercises
                ]
                sets.setdefault(when, set()).update(chosen)
    return [row for when, exercises in sorted(sets.items()) for row in session(when, *sorted(exercises))]


@pytest.mark.slow
@pytest.mark.parametrize("seed", [0, 1, 2, 5])
def test_no_later_log_changes_what_was_known_at_a_weeks_end(seed):
    sets = loose_history(seed)
    query = "select * from adherence_at_week_end where week_start <= ? order by week_start"
    whole = run_on(["adherence_at_week_end", "session_match"], sets, SPLIT, as_of=day(69))
    crossed = rows_of(whole, "select count(*) from session_match where is_other_week")[0][0]
    assert crossed > 0
    for weeks_known in range(1, 10):
        sunday = day(7 * weeks_known - 1)
        cut = [row for row in sets if row["session_date"] <= sunday]
        then = run_on(["adherence_at_week_end"], cut, SPLIT, as_of=sunday)
        until = [sunday - timedelta(days=6)]
        assert then.execute(query, until).fetchall() == whole.execute(query, until).fetchall()

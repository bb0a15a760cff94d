"""What a week's rows say does not change when later weeks come in."""

import random
from datetime import timedelta

import pytest
from given_tables import EXERCISES, day, logged, planned, run_on

LAST_WEEK = 11
WEEKLY = ["strength_trend", "client_strength_week", "muscle_week", "adherence_week", "load_week"]
DAILY = {
    "session_summary": "session_date",
    "exercise_session": "session_date",
    "personal_best": "best_date",
    "planned_session": "week_start",
    "planned_exercise": "week_start",
}


def random_history(seed):
    """Two clients who train more or less to plan, with and without effort, some lifts swapped or left out."""
    rng = random.Random(seed)
    lifts = ["bench_press", "squat", "barbell_row", "deadlift", "curl", "pull_up", "incline_press"]
    sets, plan = [], []
    for client in ("c1", "c2"):
        for weekday, name in ((1, "A"), (3, "B"), (5, "C")):
            chosen = rng.sample(lifts, 3)
            plan += [
                planned(name, weekday, lift, slot=k, client_id=client)
                for k, lift in enumerate(chosen, start=1)
            ]
            for week in range(LAST_WEEK + 1):
                if rng.random() < 0.15:
                    continue
                when = min(7 * week + weekday - 1 + rng.choice([0, 0, 0, 1]), 7 * LAST_WEEK + 6)
                for lift in chosen if rng.random() < 0.8 else rng.sample(lifts, 3):
                    for k in range(1, rng.randint(2, 4)):
                        sets.append(
                            logged(
                                when,
                                lift,
                                rng.choice([60, 80, 82.5, 85]),
                                rng.randint(4, 12),
                                set_index=k,
                                client_id=client,
                                rir=rng.choice([None, 0.0, 1.0, 2.0, 5.0]),
                                system_kg=90.0 if EXERCISES[lift]["load_basis"] == "bodyweight" else None,
                            )
                        )
    return sets, plan


def rows(con, table, column, until):
    return sorted(
        con.execute(f"select * from {table} where {column} <= ?", [until]).fetchall(),  # noqa: S608
        key=repr,
    )


@pytest.mark.parametrize("weeks_known", [4, 8])
def test_cutting_the_logs_at_a_sunday_gives_the_same_rows_up_to_that_week(weeks_known):
    sets, plan = random_history(weeks_known)
    sunday = day(7 * weeks_known - 1)
    tables = [*WEEKLY, *DAILY]
    whole = run_on(tables, sets, plan, as_of=day(7 * LAST_WEEK + 6))
    cut = run_on(tables, [row for row in sets if row["session_date"] <= sunday], plan, as_of=sunday)
    for table in tables:
        column = DAILY.get(table, "week_start")
        until = sunday if "date" in column else sunday - timedelta(days=6)
        then, now = rows(cut, table, column, until), rows(whole, table, column, until)
        assert len(then) == len(now), table
        assert len(then) > 0, table
        for old, new in zip(then, now, strict=True):
            assert _same(old, new), (table, old, new)


def _same(old, new):
    return all(
        (a == pytest.approx(b, rel=1e-9)) if isinstance(a, float) and isinstance(b, float) else a == b
        for a, b in zip(old, new, strict=True)
    )

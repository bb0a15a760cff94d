"""What a week's rows say does not change when later weeks come in."""

from datetime import timedelta

import pytest
from given_tables import day, run_on
from random_training import LAST_WEEK, random_history

pytestmark = pytest.mark.slow

WEEKLY = ["strength_trend", "client_strength_week", "muscle_week", "adherence_week", "load_week"]
DAILY = {
    "session_summary": "session_date",
    "exercise_session": "session_date",
    "personal_best": "best_date",
    "planned_session": "week_start",
    "planned_exercise": "week_start",
}


def rows(con, table, column, until):
    return sorted(
        con.execute(f"select * from {table} where {column} <= ?", [until]).fetchall(),
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

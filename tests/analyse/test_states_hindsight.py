"""No hindsight: what was known on a Sunday decides that Sunday's state, whatever came later."""

from __future__ import annotations

from datetime import timedelta

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from tests.laboratory.roster import FIRST_DAY, simulate
from tests.laboratory.tables import load_tables, run_states

pytestmark = pytest.mark.slow

CLIENTS, WEEKS = 10, 40


def _run(roster, weeks: int, first_day_of_week: int = 1) -> tuple[pl.DataFrame, pl.DataFrame]:
    as_of = FIRST_DAY + timedelta(days=7 * weeks - 1 + first_day_of_week - 1)
    con = load_tables(roster, as_of, first_day_of_week)
    run_states(con)
    client = con.sql("select * from client_week order by client_id, week_start").pl()
    lift = con.sql("select * from lift_week order by client_id, exercise_id, week_start").pl()
    con.close()
    return client, lift


@pytest.fixture(scope="module", params=["breakpoints", "volume"])
def roster(request):
    return simulate(request.param, CLIENTS, seed=11, weeks=WEEKS)


def test_cutting_the_tables_at_any_sunday_gives_the_states_of_the_full_run(roster) -> None:
    full_client, full_lift = _run(roster, WEEKS)
    for weeks in (5, 13, 21, 28, 36):
        client, lift = _run(roster, weeks)
        last = FIRST_DAY + timedelta(days=7 * weeks - 1)
        assert_frame_equal(client, full_client.filter(pl.col("week_start") <= last), abs_tol=1e-3)
        assert_frame_equal(lift, full_lift.filter(pl.col("week_start") <= last), abs_tol=1e-3)
    assert full_client["state"].n_unique() >= 6


def test_an_as_of_day_in_the_middle_of_a_week_leaves_that_week_open(roster) -> None:
    full, _ = _run(roster, WEEKS)
    con = load_tables(roster, FIRST_DAY + timedelta(days=7 * 20 + 3))
    run_states(con, ("state_lift_week", "client_signal", "client_week"))
    cut = con.sql("select client_id, week_start, state from client_week order by 1, 2").pl()
    assert cut["week_start"].max() == FIRST_DAY + timedelta(days=7 * 19)
    expected = full.filter(pl.col("week_start") <= cut["week_start"].max()).select(
        "client_id", "week_start", "state"
    )
    assert_frame_equal(cut, expected)
    con.close()

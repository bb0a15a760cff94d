"""The second simulator: repeatable, within its own rules, and readable by the states."""

from __future__ import annotations

from datetime import timedelta

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from tests.laboratory.roster import FIRST_DAY, Roster
from tests.laboratory.tables import load_tables, run_states
from tests.laboratory.weekly import LEAST_DAYS, simulate_weekly

WEEKS = 40


@pytest.fixture(scope="module")
def roster() -> Roster:
    return simulate_weekly(8, seed=4, weeks=WEEKS)


def test_the_same_seed_gives_the_same_roster(roster: Roster) -> None:
    again = simulate_weekly(8, seed=4, weeks=WEEKS)
    assert_frame_equal(roster.sets, again.sets)
    assert_frame_equal(roster.truth, again.truth)
    assert not simulate_weekly(8, seed=5, weeks=WEEKS).sets.equals(roster.sets)


def test_everything_lies_within_the_weeks_asked_for(roster: Roster) -> None:
    last = FIRST_DAY + timedelta(days=7 * WEEKS - 1)
    assert roster.sets["session_date"].is_between(FIRST_DAY, last).all()
    assert (roster.truth["first"] <= roster.truth["last"]).all()
    assert (roster.truth["last"] <= last).all()


def test_an_event_is_as_long_as_the_scorer_calls_one(roster: Roster) -> None:
    for kind, least in LEAST_DAYS.items():
        spans = roster.truth.filter(pl.col("kind") == kind)
        assert len(spans) > 0
        assert ((spans["last"] - spans["first"]).dt.total_days() + 1 >= least).all()


def test_its_rosters_run_through_the_states(roster: Roster) -> None:
    con = load_tables(roster)
    run_states(con)
    assert con.sql("select count(distinct client_id) from client_week").fetchall() == [(8,)]
    assert con.sql("select count(*) from roster_review").fetchall() == [(8,)]
    con.close()

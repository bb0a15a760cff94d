"""The plan as the states see it: what holds in which week, what is lighter, how old it is."""

from __future__ import annotations

from datetime import date, timedelta

import duckdb
import polars as pl
import pytest

from pipeline.analyse.states.context import Context, read_axis, read_context
from pipeline.contract import TABLES
from pipeline.model.sql_models import read_models, run_models, write_table

MONDAY = date(2026, 1, 5)
WEEKS = 12


def _slot(plan: str, first_week: int, last_week: int | None, phase: str, sets: int) -> dict[str, object]:
    last = None if last_week is None else MONDAY + timedelta(days=7 * last_week + 6)
    return {
        "client_id": "c",
        "plan": plan,
        "valid_from": MONDAY + timedelta(days=7 * first_week),
        "valid_to": last,
        "phase": phase,
        "weekday": 1,
        "slot": 1,
        "exercise_id": "back_squat",
        "sets": sets,
    }


def _context(*slots: dict[str, object]) -> Context:
    con = duckdb.connect()
    for table in TABLES.values():
        con.execute(table.create_sql())
    days = [MONDAY + timedelta(days=n) for n in range(7 * WEEKS)]
    weeks = [day - timedelta(days=day.weekday()) for day in days]
    calendar = {"day": days, "week_start": weeks, "weekday": [day.isoweekday() for day in days]}
    write_table(con, "calendar", pl.DataFrame(calendar).with_columns(is_complete_week=True))
    write_table(con, "plan_slot", pl.DataFrame(slots))
    logged = {"client_id": ["c"], "session_date": [MONDAY], "exercise_id": ["back_squat"]}
    write_table(con, "logged_set", pl.DataFrame(logged))
    done = ("n_planned", "n_excused", "n_done", "planned_sets", "done_sets", "set_completion_pct")
    columns = {"client_id": pl.String, "week_start": pl.Date, **dict.fromkeys(done, pl.Float64)}
    write_table(con, "adherence_at_week_end", pl.DataFrame(schema=columns))
    run_models(con, [model for model in read_models() if model.name == "plan_day_in_force"])
    context = read_context(con, read_axis(con))
    con.close()
    return context


@pytest.mark.parametrize("end", [None, WEEKS], ids=["open", "with an end"])
def test_a_plan_goes_on_after_the_deload_that_was_laid_over_it(end: int | None) -> None:
    context = _context(_slot("A", 0, end, "build", 10), _slot("B", 4, 4, "deload", 5))
    assert context.deload_days[0].tolist() == [7.0 if week == 4 else 0.0 for week in range(WEEKS)]
    assert context.plan_sets[0].tolist() == [5.0 if week == 4 else 10.0 for week in range(WEEKS)]


def test_the_age_of_a_plan_counts_from_its_start_across_a_deload() -> None:
    context = _context(_slot("A", 0, None, "build", 10), _slot("B", 4, 4, "deload", 5))
    assert context.plan_age_weeks[0, 5] == pytest.approx(5 + 6 / 7)
    assert context.plan_age_weeks[0, 4] == pytest.approx(6 / 7)


def test_a_week_with_far_fewer_sets_is_lighter_and_the_plan_that_comes_back_is_not() -> None:
    context = _context(_slot("A", 0, WEEKS, "build", 10), _slot("B", 4, 4, "build", 6))
    assert context.light_plan_days[0].tolist() == [7.0 if week == 4 else 0.0 for week in range(WEEKS)]


def test_fewer_sets_for_longer_than_ten_days_are_the_new_normal() -> None:
    context = _context(_slot("A", 0, 3, "build", 10), _slot("B", 4, None, "build", 6))
    assert context.light_plan_days[0, 4:].tolist() == [7.0, 3.0] + [0.0] * (WEEKS - 6)

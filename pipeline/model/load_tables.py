"""Loads the input and record tables of the contract into DuckDB, and the calendar and settings beside them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, timedelta

import duckdb
import polars as pl

from pipeline.contract import TABLES
from pipeline.contract.inputs import CALENDAR
from pipeline.model.sql_models import write_table
from pipeline.workspace import Settings


def load_tables(con: duckdb.DuckDBPyConnection, tables: Mapping[str, pl.DataFrame]) -> None:
    """Make each table with exactly the contract's columns; a frame without columns makes an empty table."""
    for name, frame in tables.items():
        if frame.width == 0 or frame.height == 0:
            con.execute(f"drop table if exists {name}")
            con.execute(TABLES[name].create_sql())
        else:
            write_table(con, name, frame)


def setting_frame(settings: Settings, as_of: date) -> pl.DataFrame:
    """The one-row `setting` table."""
    return pl.DataFrame(
        [
            {
                "as_of": as_of,
                "e1rm_equation": settings.e1rm_equation,
                "e1rm_max_reps": settings.e1rm_max_reps,
                "hard_set_max_rir": settings.hard_set_max_rir,
                "first_day_of_week": settings.first_weekday,
                "bar_kg": settings.bar_kg,
                "recent_log_days": settings.recent_log_days,
                "plan_rules": json.dumps(settings.plan_rules),
                "progression": json.dumps(settings.progression),
            }
        ]
    )


def calendar_frame(first: date, as_of: date, first_weekday: int) -> pl.DataFrame:
    """Every day from the week of `first` to the end of the week of `as_of`; weeks begin on `first_weekday`."""

    def week_start(day: date) -> date:
        return day - timedelta(days=(day.isoweekday() - first_weekday) % 7)

    start, end = week_start(first), week_start(as_of) + timedelta(days=6)
    days = [start + timedelta(days=n) for n in range((end - start).days + 1)]
    starts = [week_start(day) for day in days]
    return pl.DataFrame(
        {
            "day": days,
            "week_start": starts,
            "week_end": [s + timedelta(days=6) for s in starts],
            "weekday": [day.isoweekday() for day in days],
            "is_complete_week": [s + timedelta(days=6) <= as_of for s in starts],
        }
    ).select(CALENDAR.column_names)

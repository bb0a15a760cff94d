"""Given tables for the tests of the models: a few rows by hand, every other table of the input empty."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any

import duckdb
import polars as pl

from pipeline.analyse import PYTHON_MODELS
from pipeline.contract import TABLES, inputs, records
from pipeline.model.sql_models import Model, read_models, run_models

EXERCISES: dict[str, dict[str, Any]] = {
    "bench_press": {"pattern": "horizontal_press", "implement": "barbell", "load_basis": "total"},
    "incline_press": {"pattern": "horizontal_press", "implement": "barbell", "load_basis": "total"},
    "dumbbell_press": {
        "pattern": "horizontal_press",
        "implement": "dumbbell",
        "load_basis": "per_hand",
        "implements": 2,
    },
    "squat": {"pattern": "squat", "implement": "barbell", "load_basis": "total"},
    "front_squat": {"pattern": "squat", "implement": "barbell", "load_basis": "total"},
    "deadlift": {"pattern": "hip_hinge", "implement": "barbell", "load_basis": "total"},
    "barbell_row": {"pattern": "row", "implement": "barbell", "load_basis": "total"},
    "pull_up": {
        "pattern": "vertical_pull",
        "implement": "bodyweight",
        "load_basis": "bodyweight",
        "bodyweight_share": 1.0,
    },
    "split_squat": {
        "pattern": "lunge",
        "implement": "dumbbell",
        "load_basis": "per_hand",
        "implements": 2,
        "is_one_sided": True,
    },
    "one_arm_row": {
        "pattern": "row",
        "implement": "dumbbell",
        "load_basis": "per_hand",
        "is_one_sided": True,
    },
    "curl": {"pattern": "isolation", "implement": "barbell", "load_basis": "total"},
    "cable_curl": {"pattern": "isolation", "implement": "cable", "load_basis": "total"},
    "push_down": {"pattern": "isolation", "implement": "cable", "load_basis": "total"},
    "plank": {
        "pattern": "core",
        "implement": "bodyweight",
        "load_basis": "none",
        "is_timed": True,
        "is_e1rm_lift": False,
    },
}
CREDITS: list[tuple[str, str, float]] = [
    ("bench_press", "chest", 1.0),
    ("bench_press", "triceps", 0.5),
    ("bench_press", "front_delts", 0.5),
    ("incline_press", "chest", 1.0),
    ("incline_press", "triceps", 0.5),
    ("dumbbell_press", "chest", 1.0),
    ("dumbbell_press", "triceps", 0.5),
    ("squat", "quads", 1.0),
    ("squat", "glutes", 0.5),
    ("front_squat", "quads", 1.0),
    ("deadlift", "hamstrings", 1.0),
    ("deadlift", "glutes", 1.0),
    ("barbell_row", "upper_back", 1.0),
    ("barbell_row", "biceps", 0.5),
    ("pull_up", "lats", 1.0),
    ("pull_up", "biceps", 0.5),
    ("split_squat", "quads", 1.0),
    ("one_arm_row", "upper_back", 1.0),
    ("curl", "biceps", 1.0),
    ("cable_curl", "biceps", 1.0),
    ("push_down", "triceps", 1.0),
    ("plank", "abs", 1.0),
]
MONDAY = date(2024, 1, 1)


def day(offset: int) -> date:
    """The day `offset` days after Monday 1 January 2024."""
    return MONDAY + timedelta(days=offset)


def logged(
    when: int | date, exercise_id: str, load_kg: float | None, reps: int | None, **other: Any
) -> dict[str, Any]:
    """One logged set of client `c1` unless told otherwise."""
    facts = EXERCISES[exercise_id]
    row: dict[str, Any] = {
        "source_area": "inbox",
        "source_file": "log.csv",
        "part_index": 1,
        "client_id": "c1",
        "session_date": day(when) if isinstance(when, int) else when,
        "exercise_id": exercise_id,
        "exercise_name": exercise_id.replace("_", " "),
        "set_index": 1,
        "drop_index": 1,
        "set_kind": "work",
        "load_kg": load_kg,
        "load_basis": facts["load_basis"],
        "implements": facts.get("implements", 1),
        "reps": reps,
    }
    return row | other


def planned(
    day_name: str, weekday: int | None, exercise_id: str | None, sets: int = 3, **other: Any
) -> dict[str, Any]:
    """One planned exercise of client `c1`, valid from 1 January 2024 unless told otherwise."""
    row: dict[str, Any] = {
        "client_id": "c1",
        "plan": "block",
        "valid_from": MONDAY,
        "day": day_name,
        "weekday": weekday,
        "slot": 1,
        "exercise_id": exercise_id,
        "exercise_name": exercise_id,
        "exercise_text": exercise_id,
        "sets": sets,
        "rep_low": 5,
        "rep_high": 8,
        "target_rir": 2.0,
    }
    return row | other


def fill(con: duckdb.DuckDBPyConnection, table: str, rows: Iterable[dict[str, Any]]) -> None:
    """Append rows to a contract table; columns left out are empty."""
    rows = list(rows)
    if rows:
        names = sorted({name for row in rows for name in row})
        frame = pl.DataFrame(
            {name: [row.get(name) for row in rows] for name in names}, strict=False, infer_schema_length=None
        )
        con.register("given_rows", frame.to_arrow())
        con.execute(f"insert into {table} by name select * from given_rows")
        con.unregister("given_rows")


def every_model() -> list[Model]:
    """The models of sql/ and of pipeline/analyse together."""
    return [*read_models(), *(Model(name, reads, build=build) for name, reads, build in PYTHON_MODELS)]


def up_to(models: Sequence[Model], wanted: Iterable[str]) -> list[Model]:
    """The models that the wanted ones need, themselves included."""
    by_name = {model.name: model for model in models}
    needed: set[str] = set()
    todo = [name for name in wanted if name in by_name]
    while todo:
        name = todo.pop()
        if name not in needed:
            needed.add(name)
            todo.extend(read for read in by_name[name].reads if read in by_name)
    return [model for model in models if model.name in needed]


def run_on(
    wanted: Iterable[str],
    sets: Iterable[dict[str, Any]] = (),
    plan: Iterable[dict[str, Any]] = (),
    as_of: date | None = None,
    setting: dict[str, Any] | None = None,
    **tables: Iterable[dict[str, Any]],
) -> duckdb.DuckDBPyConnection:
    """A connection in which the wanted models have been run on the given rows."""
    con = duckdb.connect()
    for table in (*inputs.TABLES, *records.TABLES):
        con.execute(TABLES[table.name].create_sql())
    sets = [{"source_row": number, **row} for number, row in enumerate(sets, start=2)]
    plan = list(plan)
    fill(con, "logged_set", sets)
    fill(con, "plan_slot", [{"source_row": number, **row} for number, row in enumerate(plan, start=2)])
    days = [row["session_date"] for row in sets] + [row["valid_from"] for row in plan] + [MONDAY]
    last = as_of or max(max(days), day(6))
    settings = {
        "as_of": last,
        "e1rm_equation": "epley",
        "e1rm_max_reps": 12,
        "hard_set_max_rir": 4.0,
        "first_day_of_week": 1,
        "bar_kg": 20.0,
        "recent_log_days": 14,
    }
    fill(con, "setting", [settings | (setting or {})])
    first_weekday = int((settings | (setting or {}))["first_day_of_week"])
    fill(con, "calendar", _calendar(min(days), last, first_weekday))
    defaults: dict[str, list[dict[str, Any]]] = {
        "client": [{"client_id": client} for client in sorted({row["client_id"] for row in [*sets, *plan]})],
        "exercise": [
            {
                "exercise_id": name,
                "exercise_name": name.replace("_", " "),
                "bodyweight_share": 0.0,
                "implements": 1,
                "is_one_sided": False,
                "is_timed": False,
                "is_e1rm_lift": True,
            }
            | facts
            for name, facts in EXERCISES.items()
        ],
        "exercise_muscle": [
            {"exercise_id": exercise, "muscle": muscle, "credit": credit}
            for exercise, muscle, credit in CREDITS
        ],
    }
    for table_name, rows in (defaults | {name: list(rows) for name, rows in tables.items()}).items():
        fill(con, table_name, rows)
    run_models(con, up_to(every_model(), wanted))
    return con


def _calendar(first: date, last: date, first_weekday: int) -> list[dict[str, Any]]:
    rows = []
    here = first
    while here <= last:
        start = here - timedelta(days=(here.isoweekday() - first_weekday) % 7)
        end = start + timedelta(days=6)
        rows.append(
            {
                "day": here,
                "week_start": start,
                "week_end": end,
                "weekday": here.isoweekday(),
                "is_complete_week": end <= last,
            }
        )
        here += timedelta(days=1)
    return rows


def rows_of(con: duckdb.DuckDBPyConnection, sql: str) -> list[tuple[Any, ...]]:
    """The answer of a query."""
    return con.execute(sql).fetchall()

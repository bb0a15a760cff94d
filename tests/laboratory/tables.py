"""Writes a simulated roster straight into the contract's tables, and runs the states on it."""

from __future__ import annotations

from datetime import date, timedelta

import duckdb
import polars as pl

from pipeline.analyse.states import STATE_MODELS
from pipeline.contract import TABLES
from pipeline.model.sql_models import read_models, run_models, write_table
from tests.laboratory.roster import FIRST_DAY, Roster
from tests.laboratory.training import CATALOGUE


def _frames(roster: Roster, as_of: date, first_day_of_week: int) -> dict[str, pl.DataFrame]:
    catalogue = pl.DataFrame(
        [
            {
                "exercise_id": r[0],
                "exercise_name": r[1],
                "pattern": r[2],
                "implement": r[3],
                "load_basis": "per_hand" if r[3] == "dumbbell" else "total",
                "bodyweight_share": 0.0,
                "implements": 2 if r[3] == "dumbbell" else 1,
                "is_one_sided": False,
                "is_timed": False,
                "is_e1rm_lift": True,
                "is_coach_own": False,
            }
            for r in CATALOGUE.values()
        ]
    )
    days = pl.DataFrame({"day": pl.date_range(FIRST_DAY - timedelta(days=7), as_of, "1d", eager=True)})
    shift = first_day_of_week - 1
    days = (
        days.with_columns(weekday=pl.col("day").dt.weekday().cast(pl.Int64))
        .with_columns(week_start=pl.col("day") - pl.duration(days=(pl.col("weekday") - 1 - shift) % 7))
        .with_columns(week_end=pl.col("week_start") + pl.duration(days=6))
        .with_columns(is_complete_week=pl.col("week_end") <= as_of)
    )
    sets = (
        roster.sets.filter(pl.col("session_date") <= as_of)
        .join(catalogue.select("exercise_id", "exercise_name", "load_basis", "implements"), on="exercise_id")
        .with_columns(
            source_area=pl.lit("inbox"),
            source_file=pl.col("client_id") + ".csv",
            source_sheet=pl.lit(None, pl.String),
            source_row=pl.int_range(pl.len()).over("client_id") + 2,
            part_index=pl.lit(1),
            drop_index=pl.lit(1),
            set_kind=pl.lit("work"),
            system_kg=pl.col("load_kg"),
            rpe=10 - pl.col("rir"),
        )
    )
    plan = roster.plan.filter(pl.col("valid_from") <= as_of).join(
        catalogue.select("exercise_id", "exercise_name"), on="exercise_id"
    )
    setting = pl.DataFrame(
        {
            "as_of": [as_of],
            "e1rm_equation": ["epley"],
            "e1rm_max_reps": [12],
            "hard_set_max_rir": [4.0],
            "first_day_of_week": [first_day_of_week],
            "bar_kg": [20.0],
            "recent_log_days": [14],
        }
    )
    return {
        "client": roster.clients.select("client_id", "status", "unit", "bodyweight_kg").with_columns(
            name=pl.col("client_id"), is_in_roster=pl.lit(True)
        ),
        "exercise": catalogue,
        "plan_slot": plan,
        "setting": setting,
        "calendar": days,
        "logged_set": sets,
        "check_in": roster.check_ins.filter(pl.col("check_in_date") <= as_of),
        "excused_span": roster.excused.filter(pl.col("date_from") <= as_of),
    }


def load_tables(
    roster: Roster, as_of: date | None = None, first_day_of_week: int = 1
) -> duckdb.DuckDBPyConnection:
    """A connection with the input and record tables, as known on `as_of` (default: the last day)."""
    as_of = as_of or FIRST_DAY + timedelta(days=7 * roster.weeks - 1)
    con = duckdb.connect()
    con.execute("set threads = 1")
    frames = _frames(roster, as_of, first_day_of_week)
    for name, table in TABLES.items():
        if name in frames:
            write_table(con, name, frames[name])
        else:
            con.execute(table.create_sql())
    run_models(con, [model for model in read_models() if model.name == "plan_day_in_force"])
    write_table(con, "adherence_at_week_end", simple_adherence(con))
    return con


def simple_adherence(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Attendance and sets done a week from plan and log, without matching days: the laboratory's own, so
    that it can run apart from the models of sql/."""
    return con.sql("""
        with in_force as (
          select p.client_id, c.day, c.week_start, max(p.valid_from) as valid_from
          from (select distinct client_id, valid_from, valid_to from plan_slot) as p
          join calendar as c on c.day between p.valid_from and coalesce(p.valid_to, c.day)
          where c.is_complete_week group by all
        ),
        slots as (
          select f.client_id, f.week_start, f.day, p.exercise_id, sum(p.sets) as sets
          from in_force as f join plan_slot as p
            on p.client_id = f.client_id and p.valid_from = f.valid_from and p.weekday = isodow(f.day)
          group by all
        ),
        done as (
          select l.client_id, c.week_start, l.exercise_id, count(*) as sets
          from logged_set as l join calendar as c on c.day = l.session_date group by all
        ),
        visits as (
          select l.client_id, c.week_start, count(distinct l.session_date) as n
          from logged_set as l join calendar as c on c.day = l.session_date group by all
        ),
        days as (
          select s.client_id, s.week_start, count(distinct s.day) as n_planned,
            count(distinct s.day) filter (where e.client_id is not null) as n_excused
          from slots as s left join excused_span as e
            on e.client_id = s.client_id and s.day between e.date_from and e.date_to
          group by all
        ),
        asked as (
          select s.client_id, s.week_start, s.exercise_id, sum(s.sets) as sets
          from slots as s left join excused_span as e
            on e.client_id = s.client_id and s.day between e.date_from and e.date_to
          where e.client_id is null group by all
        ),
        totals as (
          select b.client_id, b.week_start, sum(b.sets) as planned_sets,
            sum(least(b.sets, coalesce(d.sets, 0))) as done_sets,
          from asked as b left join done as d using (client_id, week_start, exercise_id)
          group by all
        )
        select d.client_id, d.week_start, d.n_planned, least(d.n_planned, coalesce(v.n, 0)) as n_done,
          least(d.n_excused, d.n_planned - least(d.n_planned, coalesce(v.n, 0))) as n_excused,
          coalesce(t.planned_sets, 0) as planned_sets, coalesce(t.done_sets, 0) as done_sets,
          1e2 * t.done_sets / nullif(t.planned_sets, 0) as set_completion_pct,
        from days as d
        left join totals as t using (client_id, week_start)
        left join visits as v using (client_id, week_start)
    """).pl()


def run_states(con: duckdb.DuckDBPyConnection, only: tuple[str, ...] = ()) -> None:
    """Fill the tables of the states, in order; `only` the named ones if any are named."""
    for name, _, build in STATE_MODELS:
        if not only or name in only:
            write_table(con, name, build(con))

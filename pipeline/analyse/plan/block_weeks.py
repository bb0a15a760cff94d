"""Blocks as rows: training versions of a plan, and what was planned, done and shown in their weeks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import duckdb
import polars as pl

BLOCK_KEY = ["client_id", "plan", "valid_from"]


@dataclass(frozen=True)
class Block:
    """A training version that held on at least one day up to the as-of day."""

    client_id: str
    plan: str
    valid_from: date
    first_day: date
    last_day: date
    is_over: bool
    n_weeks: int
    previous_from: date | None
    previous_plan: str | None

    @property
    def key(self) -> tuple[str, str, date]:
        """Client, plan and first day of the version."""
        return self.client_id, self.plan, self.valid_from

    @property
    def previous_key(self) -> tuple[str, str, date] | None:
        """The key of the client's block before."""
        if self.previous_from is None:
            return None
        return self.client_id, self.previous_plan or "", self.previous_from


def read_blocks(con: duckdb.DuckDBPyConnection) -> list[Block]:
    """The blocks of every client, by first day."""
    rows = con.execute(
        "select client_id, plan, valid_from, first_day, last_day, is_over, n_weeks, previous_from,"
        " previous_plan from training_block order by client_id, valid_from, plan"
    ).fetchall()
    return [Block(*row) for row in rows]


def read_attendance(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Sessions and sets planned and done a block; excused ones and weeks without a log are in no share."""
    return pl.DataFrame(
        con.sql("""
        with attended as (
            select client_id, plan, valid_from, count(*) as n_planned,
                count(*) filter (outcome <> 'missed') as n_done
            from block_session group by all
        ),
        completed as (
            select client_id, coalesce(plan, '') as plan, valid_from, sum(planned_sets) as planned_sets,
                sum(done_sets) as done_sets
            from block_exercise group by all
        )
        select a.client_id, a.plan, a.valid_from, a.n_planned::bigint as n_planned,
            a.n_done::bigint as n_done, 1e2 * a.n_done / nullif(a.n_planned, 0) as attendance_pct,
            1e2 * c.done_sets / nullif(c.planned_sets, 0) as set_completion_pct
        from attended a
        left join completed c
            on c.client_id = a.client_id and c.plan = a.plan and c.valid_from = a.valid_from""").pl()
    )


def read_block_lifts(con: duckdb.DuckDBPyConnection) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The lifts of each block, numbered (series), and their sessions' best sets, deloads left out.

    Of a lift with sets of known and of unknown effort only the kind with more sessions, else the known: the
    two are not on one footing.
    """
    series: pl.DataFrame = con.sql("""
        with kind as (
            select d.client_id, d.plan, d.valid_from, o.exercise_id, o.is_lower_bound, count(*) as n_sessions
            from lift_observation o join block_day d on d.client_id = o.client_id and d.day = o.session_date
            where not coalesce(o.is_deload, false) group by all
        )
        select * from kind
        qualify row_number() over (
            partition by client_id, plan, valid_from, exercise_id order by n_sessions desc, is_lower_bound
        ) = 1
        order by client_id, valid_from, plan, exercise_id""").pl()
    series = series.with_row_index("series").with_columns(pl.col("series").cast(pl.Int64))
    con.register("block_series", series.to_arrow())
    try:
        sessions: pl.DataFrame = con.sql("""
            select s.series, o.session_date, o.ln_load + o.ln_factor as ln_e1rm,
                coalesce(o.e1rm_se_pct, 4e0) / 100 as se_ln
            from lift_observation o
            join block_day d on d.client_id = o.client_id and d.day = o.session_date
            join block_series s on s.client_id = d.client_id and s.plan = d.plan
                and s.valid_from = d.valid_from and s.exercise_id = o.exercise_id
                and s.is_lower_bound = o.is_lower_bound
            where not coalesce(o.is_deload, false)""").pl()
    finally:
        con.unregister("block_series")
    return series, sessions


def read_muscle_means(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Mean weekly sets a muscle over a block's weeks that have a log."""
    return pl.DataFrame(
        con.sql("""
        select w.client_id, w.plan, w.valid_from, m.muscle,
            avg(m.planned_sets) as planned_sets, avg(m.fractional_hard_sets) as done_sets,
            avg(m.unknown_effort_sets) as unknown_effort_sets,
            max(m.target_low) as target_low, max(m.target_high) as target_high
        from block_week w
        join muscle_week m on m.client_id = w.client_id and m.week_start = w.week_start
        group by all order by all""").pl()
    )


def read_planned_exercises(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Each planned exercise of a block: times and sets planned and done, swaps, ranges kept."""
    return pl.DataFrame(
        con.sql("""
        select s.client_id, s.plan, s.valid_from, e.day, e.slot, e.exercise_id,
            max(e.exercise_name) as exercise_name,
            count(*)::bigint as n_times_planned,
            (count(*) filter (done_sets > 0))::bigint as n_times_done,
            (count(*) filter (done_sets > 0 and done_exercise_id <> exercise_id))::bigint as n_times_swapped,
            mode(done_exercise_name) filter (done_sets > 0 and done_exercise_id <> exercise_id)
                as swapped_for,
            sum(planned_sets)::bigint as planned_sets,
            sum(least(coalesce(done_sets, 0), planned_sets))::bigint as done_sets,
            1e2 * sum(sets_in_rep_range) / nullif(sum(done_sets) filter (rep_low is not null), 0)
                as reps_in_range_pct,
            1e2 * sum(sets_in_effort_range) / nullif(sum(sets_with_effort), 0) as effort_in_range_pct
        from block_session s
        join planned_exercise e on e.client_id = s.client_id and e.week_start = s.week_start
            and coalesce(e.plan, '') = s.plan and e.day = s.day
            and e.planned_date is not distinct from s.planned_date
        group by s.client_id, s.plan, s.valid_from, e.day, e.slot, e.exercise_id
        order by s.client_id, s.valid_from, s.plan, e.day, e.slot, e.exercise_id""").pl()
    )

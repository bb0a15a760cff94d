"""What surrounds the lifts, week by week: sessions and gaps, plan phase, check-ins, adherence, notes.

Everything is reduced to client × week grids from rows dated up to that week's last day.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

import duckdb
import numpy as np
import polars as pl

from pipeline.analyse.states.panel import Axis, Grid, carry_forward, trailing_mean, trailing_sd, trailing_sum

DELOAD_PHASE = re.compile(
    r"deload|de-load|unload|recovery|taper|entlast|descarga|d[ée]charge|\b(light|easy|rest)\b"
)
BREAK_PHASE = re.compile(r"break|holiday|vacation|pause|travel|\b(off|time off)$")
LIGHT_PLAN_SHARE = 0.67
"""A plan version with at most this share of the sets of the one before is a lighter week …"""
LIGHT_PLAN_DAYS = 10
"""… for so many days at most; longer, it is the new normal."""
GAP_DAYS = 10
"""Days without a session after which a client returns: a missed week and more …"""
RARE_GAP_DAYS = 12
"""… and for one who trains about twice a week, whose sessions lie further apart."""
CHECK_IN_SIGNS = {"sleep_h": -1, "sleep_quality": -1, "soreness": 1, "motivation": -1, "stress": 1}
"""Check-in answers, and which way tired points."""
CHECK_IN_FLOOR = {"sleep_h": 0.4, "sleep_quality": 0.35, "soreness": 0.35, "motivation": 0.35, "stress": 0.35}
"""Least spread taken for an answer's own week-to-week variation, so that a constant client's first
change is not infinitely unusual [P]."""


@dataclass(frozen=True)
class Context:
    """Client × week grids; NaN is unknown, unless said otherwise."""

    n_sessions: Grid
    n_sets: Grid
    days_since_log: Grid
    has_silence: Grid
    return_days: Grid
    gap_days: Grid
    deload_days: Grid
    break_days: Grid
    excused_days: Grid
    light_plan_days: Grid
    plan_sets: Grid
    plan_age_weeks: Grid
    planned: Grid
    done: Grid
    planned_sets: Grid
    done_sets: Grid
    set_completion: Grid
    check_ins: dict[str, Grid]
    bodyweight: Grid
    pain_notes: Grid


def read_axis(con: duckdb.DuckDBPyConnection) -> Axis:
    """Clients with a logged set, and the complete weeks of the calendar."""
    clients = [
        row[0]
        for row in con.execute(
            "select distinct client_id from logged_set where client_id is not null order by client_id"
        ).fetchall()
    ]
    first, last = con.execute(
        "select min(week_start), max(week_start) from calendar where is_complete_week"
    ).fetchall()[0]
    if first is None:
        return Axis(clients, date(2000, 1, 3), 0)
    return Axis(clients, first, (last - first).days // 7 + 1)


def _session_grids(con: duckdb.DuckDBPyConnection, axis: Axis) -> dict[str, Grid]:
    days = (
        con.sql("""
        select l.client_id, l.session_date, c.week_start,
          count(*) filter (where l.set_kind <> 'warm_up') as n_sets
        from logged_set as l join calendar as c on c.day = l.session_date
        group by all order by l.client_id, l.session_date
    """)
        .pl()
        .with_columns(
            gap=(pl.col("session_date") - pl.col("session_date").shift(1).over("client_id")).dt.total_days(),
            day_number=(pl.col("session_date") - axis.first_week).dt.total_days(),
        )
        .with_columns(
            usual=pl.col("gap").shift(1).rolling_median(12, min_samples=4).over("client_id").fill_null(0)
        )
    )
    rare = pl.col("usual") > 2.8
    week = days.group_by("client_id", "week_start").agg(
        n_sessions=pl.len(),
        n_sets=pl.col("n_sets").sum(),
        last_day=pl.col("day_number").max(),
        has_silence=(pl.col("gap") >= pl.max_horizontal(pl.lit(7.0), 3 * pl.col("usual"))).any(),
    )
    back = (
        days.filter(pl.col("gap") >= pl.when(rare).then(RARE_GAP_DAYS).otherwise(GAP_DAYS))
        .group_by("client_id", "week_start")
        .agg(
            back_day=pl.col("day_number").max(),
            gap=pl.col("gap").sort_by("day_number").last(),
        )
    )
    end_day = np.arange(axis.n_weeks)[None, :] * 7 + 6
    first = np.nan_to_num(axis.spread(week, "n_sessions"))
    return {
        "n_sessions": first,
        "n_sets": np.nan_to_num(axis.spread(week, "n_sets")),
        "days_since_log": end_day - carry_forward(axis.spread(week, "last_day")),
        "has_silence": np.nan_to_num(axis.spread(week, "has_silence")),
        "return_days": end_day - carry_forward(axis.spread(back, "back_day")),
        "gap_days": carry_forward(axis.spread(back, "gap")),
    }


def _plan_grids(con: duckdb.DuckDBPyConnection, axis: Axis) -> dict[str, Grid]:
    """The plan by `plan_day_in_force`, so that what a deload is laid over goes on after it.

    A stretch is a run of days under one version. It is lighter if its sets a week are fewer than those of the
    stretch before it; the plan's age counts from the version's own start, whatever was laid over it since.
    """
    days = con.sql("""
        with version as (
          select client_id, coalesce(plan, '') as plan, valid_from,
            max(lower(coalesce(phase, ''))) as phase, coalesce(sum(sets), 0) as week_sets
          from plan_slot where valid_from is not null
          group by all
        ),
        in_force as (
          select f.client_id, f.day, f.week_start, f.valid_from, max(v.phase) as phase,
            sum(v.week_sets) as week_sets
          from plan_day_in_force as f
          join version as v
            on v.client_id = f.client_id and v.plan = f.plan and v.valid_from = f.valid_from
          join calendar as c on c.day = f.day
          where c.is_complete_week
          group by f.client_id, f.day, f.week_start, f.valid_from
        )
        select * from in_force order by client_id, day
    """).pl()
    empty = np.zeros(axis.shape)
    if days.is_empty() or axis.n_weeks == 0:
        nothing = np.full(axis.shape, np.nan)
        return {
            "deload_days": empty,
            "break_days": empty,
            "light_plan_days": empty,
            "plan_sets": nothing,
            "plan_age_weeks": nothing,
        }
    days = days.with_columns(stretch=pl.struct("client_id", "valid_from").rle_id())
    stretches = (
        days.group_by("stretch", maintain_order=True)
        .agg(
            pl.col("client_id").first(),
            starts=pl.col("day").first(),
            week_sets=pl.col("week_sets").first(),
            is_deload=pl.col("phase").first().str.contains(DELOAD_PHASE.pattern),
            is_break=pl.col("phase").first().str.contains(BREAK_PHASE.pattern),
        )
        .with_columns(before=pl.col("week_sets").shift(1).over("client_id"))
        .with_columns(
            is_light=(pl.col("week_sets") <= LIGHT_PLAN_SHARE * pl.col("before")) & (pl.col("week_sets") > 0)
        )
        .select("stretch", "starts", "is_deload", "is_break", "is_light")
    )
    week = (
        days.join(stretches, on="stretch", how="left", maintain_order="left")
        .with_columns(
            is_young=(pl.col("day") - pl.col("starts")).dt.total_days() < LIGHT_PLAN_DAYS,
            age=(pl.col("day") - pl.col("valid_from")).dt.total_days(),
        )
        .group_by("client_id", "week_start")
        .agg(
            deload=pl.col("is_deload").sum(),
            pause=(pl.col("is_break") & ~pl.col("is_deload")).sum(),
            light=(pl.col("is_light") & pl.col("is_young")).sum(),
            sets=pl.col("week_sets").mean(),
            age=pl.col("age").max() / 7.0,
        )
    )
    return {
        "deload_days": np.nan_to_num(axis.spread(week, "deload")),
        "break_days": np.nan_to_num(axis.spread(week, "pause")),
        "light_plan_days": np.nan_to_num(axis.spread(week, "light")),
        "plan_sets": axis.spread(week, "sets"),
        "plan_age_weeks": axis.spread(week, "age"),
    }


def _excused_grid(con: duckdb.DuckDBPyConnection, axis: Axis) -> Grid:
    frame = con.sql("""
        select client_id, week_start, count(distinct day) as n from (
          select e.client_id, c.week_start, c.day
          from excused_span as e join calendar as c on c.day between e.date_from and e.date_to
          union all
          select k.client_id, c.week_start, c.day
          from check_in as k join calendar as c on c.day = k.check_in_date
          where k.excused is not null and k.excused <> ''
        ) group by all
    """).pl()
    return np.nan_to_num(axis.spread(frame, "n"))


def _adherence_grids(con: duckdb.DuckDBPyConnection, axis: Axis) -> dict[str, Grid]:
    frame = con.sql("""
        select client_id, week_start, n_planned - coalesce(n_excused, 0) as planned, n_done as done,
          planned_sets, done_sets, set_completion_pct
        from adherence_at_week_end
    """).pl()
    return {
        "planned": np.nan_to_num(axis.spread(frame, "planned")),
        "done": np.nan_to_num(axis.spread(frame, "done")),
        "planned_sets": np.nan_to_num(axis.spread(frame, "planned_sets")),
        "done_sets": np.nan_to_num(axis.spread(frame, "done_sets")),
        "set_completion": axis.spread(frame, "set_completion_pct") / 100.0,
    }


def _check_in_grids(con: duckdb.DuckDBPyConnection, axis: Axis) -> tuple[dict[str, Grid], Grid]:
    answers = ", ".join(f"avg({name}) as {name}" for name in CHECK_IN_SIGNS)
    frame = con.sql(f"""
        select k.client_id, c.week_start, {answers}, avg(k.bodyweight_kg) as bodyweight_kg
        from check_in as k join calendar as c on c.day = k.check_in_date
        group by all
    """).pl()  # noqa: S608 - column names are constants above
    grids = {name: axis.spread(frame, name) for name in CHECK_IN_SIGNS}
    return grids, axis.spread(frame, "bodyweight_kg")


def read_context(con: duckdb.DuckDBPyConnection, axis: Axis) -> Context:
    """All grids of the context from the connection's tables."""
    check_ins, bodyweight = _check_in_grids(con, axis)
    pain = con.sql("""
        select p.client_id, c.week_start, count(*) as n
        from pain_note as p join calendar as c on c.day = p.session_date group by all
    """).pl()
    return Context(
        **_session_grids(con, axis),
        **_plan_grids(con, axis),
        **_adherence_grids(con, axis),
        excused_days=_excused_grid(con, axis),
        check_ins=check_ins,
        bodyweight=bodyweight,
        pain_notes=np.nan_to_num(axis.spread(pain, "n")),
    )


def check_in_strain(check_ins: dict[str, Grid]) -> tuple[Grid, Grid]:
    """How tired the last week's answers are against the client's own eight weeks before, in their own
    standard deviations: the mean over the answers given, and how many there were. 0 where none."""
    total, count = None, None
    for name, sign in CHECK_IN_SIGNS.items():
        grid = check_ins[name]
        usual = trailing_mean(grid, 8, lag=2, least=3)
        spread = np.sqrt(np.nan_to_num(trailing_sd(grid, 10, lag=2)) ** 2 + CHECK_IN_FLOOR[name] ** 2)
        z = sign * (trailing_mean(grid, 1) - usual) / spread
        there = ~np.isnan(z)
        z = np.clip(np.nan_to_num(z), -4, 4)
        total = z if total is None else total + z
        count = there.astype(float) if count is None else count + there
    if total is None or count is None:
        raise ValueError("check_ins holds no answers")
    return np.where(count > 0, total / np.maximum(count, 1) * np.sqrt(np.maximum(count, 1)), 0.0), count


def fit_bodyweight(bodyweight: Grid, weeks: int = 5) -> tuple[Grid, Grid]:
    """Least-squares slope of the log of weekly bodyweight over `weeks`, a share a week, and points used;
    0 where fewer than three weeks are known."""
    y = np.log(np.where(bodyweight > 0, bodyweight, np.nan))
    t = np.where(np.isnan(y), np.nan, np.arange(bodyweight.shape[1], dtype=float)[None, :])
    n = trailing_sum((~np.isnan(y)).astype(float), weeks)
    safe = np.maximum(n, 1)
    st, sy = trailing_sum(t, weeks), trailing_sum(y, weeks)
    sxx = trailing_sum(t * t, weeks) - st * st / safe
    sxy = trailing_sum(t * y, weeks) - st * sy / safe
    return np.where((n >= 3) & (sxx > 0.5), sxy / np.maximum(sxx, 1e-9), 0.0), n

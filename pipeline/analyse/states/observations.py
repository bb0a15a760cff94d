"""From sets to one figure a lift and week: what the client showed, with and without the effort they gave.

What arrives: `logged_set` and `exercise`. What leaves: `state_lift_week`, a row for each client, exercise,
stretch (see below) and week, on a log scale, so that 0.01 is one per cent. `signals` takes it next.

A stretch is a run of sessions of one exercise in one repetition range. Coming from 5 repetitions to 12
moves any estimate by the error of its equation, so levels are only compared within a stretch.
"""

from __future__ import annotations

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

MAX_REPS = 20
"""Repetitions to failure above this tell little about strength; they count as this many."""

MAX_RIR = 5.0
"""More in reserve than this is as good as missing (Zourdos et al. 2016: RPE 5–6 is 4–6 in reserve)."""

ASSUMED_RIR = 2.0
"""Reserve assumed where none is logged: a constant, so that it cancels within a lift."""

BEST_SETS = 0.06
"""A set's weight in its day falls by e for each such step (log units) below another."""

NEW_RANGE_REPS = 4.0
"""A session whose repetitions lie this far outside those of the last four starts a new stretch …"""

SAME_LOAD = 0.03
"""… unless the load stayed within this share: then repetitions were won or lost, the range did not change."""

_LIFT_DAYS = f"""
with sets as (
  select
    s.client_id,
    s.exercise_id,
    s.session_date,
    s.reps,
    case when coalesce(e.bodyweight_share, 0) > 0 then s.system_kg else s.load_kg end as kg,
    s.load_kg,
    case when s.rir <= {MAX_RIR} then s.rir end as rir
  from logged_set as s
  left join exercise as e on e.exercise_id = s.exercise_id
  where s.set_kind = 'work' and coalesce(s.drop_index, 1) = 1 and s.reps is not null
),
useful as (
  select
    client_id,
    exercise_id,
    session_date,
    reps,
    load_kg,
    rir,
    ln(kg) as ln_kg,
    least(reps, {MAX_REPS}) as done,
    least(reps + coalesce(rir, {ASSUMED_RIR}), {MAX_REPS}) as to_failure
  from sets
  where reps > 0 and kg > 0
),
estimated as (
  select
    *,
    ln_kg + ln(1 + done / 30.0) as bare,
    ln_kg + ln(1 + to_failure / 30.0) as shown,
    to_failure / (30.0 + to_failure) as bend
  from useful
),
weighed as (
  select *, exp(shown / {BEST_SETS}) as weight, exp(bare / {BEST_SETS}) as bare_weight from estimated
),
failed as (
  select client_id, exercise_id, session_date, count(*) as n_failed
  from sets
  where reps = 0
  group by client_id, exercise_id, session_date
),
day as (
  select
    client_id,
    exercise_id,
    session_date,
    rir is not null as has_effort,
    sum(shown * weight) / sum(weight) as shown,
    sum(bare * bare_weight) / sum(bare_weight) as bare,
    sum(bend * weight) / sum(weight) as bend,
    avg(rir) as rir,
    avg(reps) as reps,
    max(ln_kg) as top,
    max(load_kg) as top_load_kg,
    count(*) as n_sets
  from weighed
  group by client_id, exercise_id, session_date, rir is not null
)
select d.*, coalesce(f.n_failed, 0) as n_failed
from day as d
left join failed as f
  on f.client_id = d.client_id and f.exercise_id = d.exercise_id and f.session_date = d.session_date
order by d.client_id, d.exercise_id, d.session_date, d.has_effort
"""  # noqa: S608 - only the constants above are put in


def read_lift_days(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """A row for each client, exercise and day with a useful working set, in that order.

    `shown` is the log of the estimated maximum with the effort logged, `bare` the same from load and
    repetitions alone; both lean on the best sets of the day (weights fall by e for each 6 % below the
    best), so that back-off sets neither hide the top set nor go unread.
    `bend` is r / (30 + r) for r repetitions to failure, likewise: how far an estimate leans on the curve.
    """
    days: pl.DataFrame = con.sql(_LIFT_DAYS).pl()
    # sets of unknown effort speak only where no other of the day does
    return days.unique(["client_id", "exercise_id", "session_date"], keep="last", maintain_order=True).drop(
        "has_effort"
    )


def mark_stretches(
    lift: NDArray[np.int64], reps: NDArray[np.float64], top: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Number the stretches of each lift from 0, looking back only.

    `lift` numbers the client × exercise of each session (sorted, sessions in date order), `reps` its mean
    repetitions, `top` the log of its heaviest load; all of length n. Returns n stretch numbers.
    """
    stretch = np.zeros(len(lift), dtype=np.int64)
    if not len(lift):
        return stretch
    starts = np.flatnonzero(np.r_[True, np.diff(lift) != 0])
    lengths = np.diff(np.r_[starts, len(lift)])
    # the last four sessions of each lift's stretch; NaN where it has fewer
    recent = np.full((len(starts), 4), np.nan)
    recent[:, 0] = reps[starts]
    active = np.arange(len(starts))
    # session by session, all lifts at once
    for turn in range(1, int(lengths.max())):
        active = active[lengths[active] > turn]
        rows = starts[active] + turn
        low, high = np.fmin.reduce(recent[active], axis=1), np.fmax.reduce(recent[active], axis=1)
        outside = np.maximum(low - reps[rows], reps[rows] - high)
        is_new = (outside >= NEW_RANGE_REPS) & (np.abs(top[rows] - top[rows - 1]) > SAME_LOAD)
        recent[active[is_new]] = np.nan
        recent[active, turn % 4] = reps[rows]
        stretch[rows] = stretch[rows - 1] + is_new
    return stretch


def build_state_lift_week(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Client × exercise × stretch × week: mean of the week's sessions, and which exposures they were."""
    days = read_lift_days(con)
    weeks = con.sql("select day as session_date, week_start from calendar").pl()
    days = days.with_columns(
        lift=pl.struct("client_id", "exercise_id").rle_id().cast(pl.Int64),
    ).with_columns(exposure=pl.int_range(pl.len()).over("lift") + 1)
    stretch = mark_stretches(
        days["lift"].to_numpy(), days["reps"].cast(pl.Float64).to_numpy(), days["top"].to_numpy()
    )
    days = days.with_columns(stretch=pl.Series(stretch, dtype=pl.Int64)).join(
        weeks, on="session_date", how="inner", maintain_order="left"
    )
    # in order of lift and date, so that a week of a stretch is a run of rows
    return (
        days.with_columns(run=pl.struct("lift", "stretch", "week_start").rle_id())
        .group_by("run", maintain_order=True)
        .agg(
            pl.col("client_id", "exercise_id", "stretch", "week_start").first(),
            shown=pl.col("shown").mean(),
            bare=pl.col("bare").mean(),
            bend=pl.col("bend").mean(),
            rir=pl.col("rir").mean(),
            reps=pl.col("reps").mean(),
            top=pl.col("top").max(),
            top_load_kg=pl.col("top_load_kg").max(),
            n_sessions=pl.len().cast(pl.Int64),
            n_sets=pl.col("n_sets").sum(),
            n_failed=pl.col("n_failed").sum(),
            last_exposure=pl.col("exposure").max(),
        )
        .drop("run")
    )

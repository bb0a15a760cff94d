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
    s.set_index,
    s.reps,
    case when coalesce(e.bodyweight_share, 0) > 0 then s.system_kg else s.load_kg end as kg,
    s.load_kg,
    case when s.rir <= {MAX_RIR} then s.rir end as rir,
  from logged_set as s
  left join exercise as e on e.exercise_id = s.exercise_id
  where s.set_kind = 'work' and coalesce(s.drop_index, 1) = 1 and s.reps is not null
),
useful as (
  select
    *,
    ln(kg) + ln(1 + least(reps, {MAX_REPS}) / 30.0) as bare,
    ln(kg) + ln(1 + least(reps + coalesce(rir, {ASSUMED_RIR}), {MAX_REPS}) / 30.0) as shown,
    least(reps + coalesce(rir, {ASSUMED_RIR}), {MAX_REPS})
      / (30.0 + least(reps + coalesce(rir, {ASSUMED_RIR}), {MAX_REPS})) as bend,
    bool_or(rir is not null) over (partition by client_id, exercise_id, session_date) as has_effort,
  from sets
  where reps > 0 and kg > 0
),
judged as (
  select
    *,
    max(shown) over (partition by client_id, exercise_id, session_date) as best_shown,
    max(bare) over (partition by client_id, exercise_id, session_date) as best_bare,
  from useful
  where rir is not null or not has_effort
),
failed as (
  select client_id, exercise_id, session_date, count(*) as n_failed
  from sets
  where reps = 0
  group by client_id, exercise_id, session_date
)
select
  j.client_id,
  j.exercise_id,
  j.session_date,
  sum(shown * exp((shown - best_shown) / 0.06)) / sum(exp((shown - best_shown) / 0.06)) as shown,
  sum(bare * exp((bare - best_bare) / 0.06)) / sum(exp((bare - best_bare) / 0.06)) as bare,
  sum(bend * exp((shown - best_shown) / 0.06)) / sum(exp((shown - best_shown) / 0.06)) as bend,
  avg(rir) as rir,
  avg(reps) as reps,
  max(ln(j.kg)) as top,
  max(j.load_kg) as top_load_kg,
  count(*) as n_sets,
  coalesce(any_value(f.n_failed), 0) as n_failed,
from judged as j
left join failed as f
  on f.client_id = j.client_id and f.exercise_id = j.exercise_id and f.session_date = j.session_date
group by j.client_id, j.exercise_id, j.session_date
order by j.client_id, j.exercise_id, j.session_date
"""  # noqa: S608 - only the constants above are put in


def read_lift_days(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """A row for each client, exercise and day with a useful working set, in that order.

    `shown` is the log of the estimated maximum with the effort logged, `bare` the same from load and
    repetitions alone; both lean on the best sets of the day (weights fall by e for each 6 % below the
    best), so that back-off sets neither hide the top set nor go unread.
    `bend` is r / (30 + r) for r repetitions to failure, likewise: how far an estimate leans on the curve.
    """
    days: pl.DataFrame = con.sql(_LIFT_DAYS).pl()
    return days


def mark_stretches(
    lift: NDArray[np.int64], reps: NDArray[np.float64], top: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Number the stretches of each lift from 0, looking back only.

    `lift` numbers the client × exercise of each session (sorted, sessions in date order), `reps` its mean
    repetitions, `top` the log of its heaviest load; all of length n. Returns n stretch numbers.
    """
    n = len(lift)
    out = np.zeros(n, dtype=np.int64)
    recent: list[float] = []
    stretch = 0
    lifts, all_reps, tops = lift.tolist(), reps.tolist(), top.tolist()
    for i in range(n):
        if i == 0 or lifts[i] != lifts[i - 1]:
            recent, stretch = [], 0
        elif recent:
            outside = max(min(recent) - all_reps[i], all_reps[i] - max(recent))
            if outside >= NEW_RANGE_REPS and abs(tops[i] - tops[i - 1]) > SAME_LOAD:
                recent, stretch = [], stretch + 1
        recent.append(all_reps[i])
        if len(recent) > 4:
            recent.pop(0)
        out[i] = stretch
    return out


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
        weeks, on="session_date", how="inner"
    )
    return (
        days.group_by("client_id", "exercise_id", "stretch", "week_start")
        .agg(
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
        .sort("client_id", "exercise_id", "stretch", "week_start")
    )

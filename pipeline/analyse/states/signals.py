"""The named signals of each client and week, all from what was known on its last day.

What arrives: `state_lift_week` (see `observations`), the plan, check-ins and adherence. What leaves:
`client_signal`, one row a client and complete week, one column a signal. `decision` weighs them.
"""

from __future__ import annotations

import duckdb
import numpy as np
import polars as pl

from pipeline.analyse.states.context import (
    Context,
    check_in_strain,
    fit_bodyweight,
    read_axis,
    read_context,
)
from pipeline.analyse.states.lift_signals import spread_lifts, strength_signals
from pipeline.analyse.states.omissions import off_plan_odds
from pipeline.analyse.states.panel import (
    Axis,
    Grid,
    in_chunks,
    plain,
    trailing_mean,
    trailing_sum,
    weeks_since,
)

EXPECTED_RATE = {"novice": 0.006, "intermediate": 0.003, "advanced": 0.0015, "": 0.003}
"""Weekly gain of a client who is getting on, log units, by training age [P]; competing lifters gain
0.2–0.3 % a week with a spread above the mean (public meet records). The client's own past outweighs it."""
SILENT_DAYS = 15
"""So many days without a log are a gap or a pause, not sessions missed: more than the fortnight after which
a log is no longer recent."""


def quiet_weeks(context: Context) -> tuple[Grid, Grid]:
    """Weeks that are planned lighter, and weeks of a return (0 or 1 each)."""
    planned = (
        (context.deload_days >= 3) | (context.light_plan_days >= 3) | (context.break_days >= 4)
    ).astype(float)
    weeks_back = np.clip(np.nan_to_num(context.gap_days) / 7.0, 1.0, 3.0)
    returning = (np.nan_to_num(context.return_days, nan=1e9) < 7 * weeks_back).astype(float)
    return planned, returning


def _context_signals(context: Context) -> dict[str, Grid]:
    out: dict[str, Grid] = {}
    out["strain"], out["n_answers"] = check_in_strain(context.check_ins)
    out["strain_2"] = trailing_mean(np.where(out["n_answers"] > 0, out["strain"], np.nan), 2)
    out["strain_2"] = np.nan_to_num(out["strain_2"])
    slope, n = fit_bodyweight(context.bodyweight)
    out["bodyweight_slope"], out["n_bodyweights"] = 100 * slope, n
    sets = np.where(context.n_sessions > 0, context.n_sets, np.nan)
    usual = trailing_mean(sets, 8, lag=3, least=3)
    for weeks in (1, 3):
        ratio = np.log(np.maximum(trailing_mean(sets, weeks), 1) / np.maximum(usual, 1))
        out[f"dose_{weeks}"] = np.nan_to_num(np.clip(ratio, -1.5, 1.5))
    back_now = (context.return_days < 7) & (context.gap_days >= SILENT_DAYS)
    counted = (context.days_since_log < SILENT_DAYS) & ~back_now
    asked_for, came = np.where(counted, context.planned, 0.0), np.where(counted, context.done, 0.0)
    completion = np.where(counted, context.set_completion, np.nan)
    share = np.clip(came / np.maximum(asked_for, 1), 0, 1)
    out["week_completion"] = completion
    attended = (share > 0) & (asked_for > 0)
    out["off_plan_odds"] = off_plan_odds(
        asked_for,
        share,
        np.where(attended, np.clip(completion / np.maximum(share, 1e-6), 0, 1), np.nan),
        (context.has_silence > 0) | (context.n_sessions == 0),
        back_now,
        context.n_sessions > 0,
    )
    for weeks in (2, 3, 4):
        planned, done = trailing_sum(asked_for, weeks), trailing_sum(came, weeks)
        out[f"planned_{weeks}"], out[f"missed_{weeks}"] = planned, np.maximum(planned - done, 0)
        out[f"attendance_{weeks}"] = np.where(
            planned > 0, np.minimum(done / np.maximum(planned, 1), 1), np.nan
        )
        asked = trailing_sum(np.where(np.isnan(completion), np.nan, context.planned_sets), weeks)
        given = trailing_sum(completion * context.planned_sets, weeks)
        out[f"sets_done_{weeks}"] = np.where(asked > 0, given / np.maximum(asked, 1), np.nan)
    return out


def client_grids(con: duckdb.DuckDBPyConnection, axis: Axis, context: Context) -> dict[str, Grid]:
    """Every signal as a client × week grid."""
    status = dict(con.execute("select client_id, coalesce(status, '') from client").fetchall())
    known = [status.get(client, "") for client in axis.clients]
    expected = np.array([EXPECTED_RATE.get(s, EXPECTED_RATE[""]) for s in known])
    planned, returning = quiet_weeks(context)
    quiet = np.maximum(planned, returning)
    observed = con.sql(
        "select * from state_lift_week order by client_id, exercise_id, stretch, week_start"
    ).pl()
    surroundings = _context_signals(context)
    strain, answers = surroundings["strain"], surroundings["n_answers"]
    parts: list[dict[str, Grid]] = []
    n_rows = observed.select("client_id", "exercise_id", "stretch").n_unique()
    for part, chosen in in_chunks(axis, n_rows):
        frame = observed.filter(pl.col("client_id").is_in(chosen.clients))
        lifts = spread_lifts(frame, chosen, quiet[part])
        told = ((quiet[part] == 0) & (context.n_sessions[part] > 0)).astype(float)
        parts.append(strength_signals(lifts, expected[part], told, strain[part], answers[part]))
    out = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    out.update(surroundings)
    trained = context.n_sessions > 0
    first = np.cumsum(trained, axis=1) > 0
    out["weeks_logged"] = np.cumsum(trained, axis=1).astype(float)
    out["weeks_known"] = np.cumsum(first, axis=1).astype(float)
    out["is_novice"] = np.broadcast_to(
        np.array([float(s == "novice") for s in known]).reshape(-1, 1), trained.shape
    )
    out["is_advanced"] = np.broadcast_to(
        np.array([float(s == "advanced") for s in known]).reshape(-1, 1), trained.shape
    )
    out["planned_light"], out["is_returning"] = planned, returning
    out["weeks_since_quiet"] = np.minimum(weeks_since(quiet > 0), 20)
    for name in (
        "n_sessions",
        "n_sets",
        "days_since_log",
        "return_days",
        "gap_days",
        "deload_days",
        "break_days",
        "light_plan_days",
        "excused_days",
        "plan_sets",
        "planned",
        "done",
        "pain_notes",
        "has_silence",
    ):
        out[name] = getattr(context, name)
    out["plan_age"] = np.minimum(np.nan_to_num(context.plan_age_weeks), 20)
    return out


def build_client_signal(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`client_signal`: client × complete week from the first log, a column a signal."""
    axis = read_axis(con)
    if not axis.clients or axis.n_weeks == 0:
        # no row, but every column: what reads them need not ask
        axis = Axis([], axis.first_week, 1)
    grids = client_grids(con, axis, read_context(con, axis))
    keep = grids["weeks_known"] > 0
    row, col = np.nonzero(keep)
    weeks = pl.Series("week_start", [axis.week(i) for i in range(axis.n_weeks)], dtype=pl.Date)
    frame = pl.DataFrame(
        {
            "client_id": pl.Series(axis.clients, dtype=pl.String).gather(row),
            "week_start": weeks.gather(col),
        }
    )
    return frame.with_columns(
        pl.Series(name, plain(np.asarray(grid)[keep])).fill_nan(None) for name, grid in sorted(grids.items())
    )

"""The named signals of each client and week, all from what was known on its last day.

What arrives: `state_lift_week` (see `observations`), the plan, check-ins and adherence. What leaves:
`client_signal`, one row a client and complete week, one column a signal. `decision` weighs them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

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
from pipeline.analyse.states.panel import Axis, Grid, plain, trailing_mean, trailing_sum, weeks_since
from pipeline.analyse.states.segments import STALL_WEEKS, off_plan_odds, slump_odds, stall_odds
from pipeline.analyse.states.strength import (
    REFERENCE_WEEKS,
    Lifts,
    fit_bests,
    fit_change,
    fit_curve,
    fit_noise,
    fit_trend,
    total_up,
)

EXPECTED_RATE = {"novice": 0.006, "intermediate": 0.003, "advanced": 0.0015, "": 0.003}
"""Weekly gain of a client who is getting on, log units, by training age [P]; competing lifters gain
0.2–0.3 % a week with a spread above the mean (public meet records). The client's own past outweighs it."""
EXPECTED_SPREAD = 0.003
SLOPE_SPREAD = 0.004
"""Prior spread of weekly slopes (log units) that a window's slope is shrunk with."""
LEAST_RATE = 0.001
LIGHT_LOAD_PCT = -5.0
LIGHT_BREADTH = 0.8
LIGHT_SETS = 0.8
"""A lighter week nobody planned: loads down by this (%), on so many lifts, with so many sets [P]."""
SILENT_DAYS = 12
"""So many days without a log are a gap or a pause, not sessions missed."""
WINDOWS = (4, 8, 16)
BARE_WINDOWS = (4,)
ONE_REP = 0.025
"""One repetition in reserve in log units of load: 100/(30 + r) % at r = 10."""
SHORTFALL_WINDOW = 10
SHORTFALL_SPREAD = 0.002
"""Weeks, two back, whose slope says how a client was gaining, and the spread around their own rate."""
CHUNK = 60
"""Clients whose grids are held at once."""


@dataclass(frozen=True)
class LiftGrids:
    """A chunk's stretches as grids: with effort, bare, reserve, top load, and who they belong to."""

    shown: Lifts
    bare: Lifts
    reserve: Lifts
    top: Lifts
    is_new: Grid
    n_failed: Grid
    n_lift_sets: Grid
    n_sessions: Grid

    def without(self, quiet: Grid) -> LiftGrids:
        """The same with no weight on the weeks that are `quiet` (client × week)."""
        weight = (
            self.shown.weight * (1.0 - quiet[self.shown.owner])
            if len(self.shown.owner)
            else self.shown.weight
        )
        return replace(
            self,
            shown=replace(self.shown, weight=weight),
            bare=replace(self.bare, weight=weight),
            reserve=replace(self.reserve, weight=weight),
            top=replace(self.top, weight=weight),
        )


def spread_lifts(observed: pl.DataFrame, axis: Axis, quiet: Grid) -> LiftGrids:
    """Grids of the stretches of `axis.clients`; weeks that are `quiet` (client × week) get no weight."""
    series = observed.select(pl.struct("client_id", "exercise_id", "stretch").rle_id())
    row = series.to_series().cast(pl.Int64).to_numpy() if len(observed) else np.zeros(0, dtype=np.int64)
    n_rows = int(row[-1]) + 1 if len(row) else 0
    col = axis.columns(observed["week_start"]) if len(row) else np.zeros(0, dtype=np.int64)
    inside = (col >= 0) & (col < axis.n_weeks)
    owner = np.zeros(n_rows, dtype=np.int64)
    if n_rows:
        owner[row] = axis.rows(observed["client_id"])

    def grid(column: str, empty: float = np.nan) -> Grid:
        out = np.full((n_rows, axis.n_weeks), empty)
        out[row[inside], col[inside]] = observed[column].cast(pl.Float64).fill_null(np.nan).to_numpy()[inside]
        return out

    n_sessions = np.nan_to_num(grid("n_sessions"))
    weight = np.where(n_sessions > 0, 2 * n_sessions / (n_sessions + 1), 0.0)
    weight = np.where(np.nan_to_num(grid("last_exposure"), nan=99.0) <= 4, 0.2 * weight, weight)
    weight = np.where(np.nan_to_num(grid("reps")) > 15, 0.5 * weight, weight)
    if n_rows:
        weight = weight * (1.0 - quiet[owner])
    started = np.cumsum(n_sessions > 0, axis=1) > 0
    age = np.cumsum(started, axis=1)
    exercise = np.zeros(n_rows, dtype=np.int64)
    if n_rows:
        exercise[row] = (
            observed.select(pl.struct("client_id", "exercise_id").rle_id())
            .to_series()
            .cast(pl.Int64)
            .to_numpy()
        )
    bend = grid("bend")
    lifts = Lifts(grid("shown"), weight, bend, exercise, owner, len(axis.clients))
    return LiftGrids(
        shown=lifts,
        bare=replace(lifts, y=grid("bare")),
        reserve=replace(lifts, y=grid("rir") * ONE_REP),
        top=replace(lifts, y=grid("top")),
        is_new=((age > 0) & (age <= 3) & (n_sessions > 0)).astype(float),
        n_failed=np.nan_to_num(grid("n_failed")),
        n_lift_sets=np.nan_to_num(grid("n_sets")),
        n_sessions=n_sessions,
    )


def own_light_weeks(lifts: LiftGrids) -> Grid:
    """Client × week: lighter weeks that no plan asked for (1), told by what was chosen, not by what failed:
    nearly every lift well below its usual load, fewer sets of each, and no less in reserve."""
    top = fit_change(lifts.top, fit_noise(lifts.top), 1)
    reserve = fit_change(lifts.reserve, np.full_like(lifts.reserve.y, ONE_REP), 1)
    sets = np.where(np.isnan(lifts.shown.y), np.nan, lifts.n_lift_sets / np.maximum(lifts.n_sessions, 1))
    usual = trailing_mean(sets, 6, lag=1, least=2)
    both = ~np.isnan(sets) & ~np.isnan(usual)
    now = lifts.shown.by_client(np.where(both, sets, 0.0))
    before = lifts.shown.by_client(np.where(both, usual, 0.0))
    fewer = (now > 0) & (now <= LIGHT_SETS * before)
    lower = (100 * top.mean <= LIGHT_LOAD_PCT) & (top.breadth >= LIGHT_BREADTH)
    easier = (reserve.lifts == 0) | (reserve.mean >= -0.3 * ONE_REP)
    light: Grid = (lower & fewer & easier & (top.lifts >= 2)).astype(float)
    return light


def _strength_signals(lifts: LiftGrids, expected: Grid) -> dict[str, Grid]:
    light = own_light_weeks(lifts)
    lifts = lifts.without(light)
    noise = fit_noise(lifts.shown)
    bare_noise = fit_noise(lifts.bare)
    rep_noise = np.full_like(noise, ONE_REP)
    out: dict[str, Grid] = {"own_light": light}
    curve = fit_curve(lifts.shown)
    old = fit_trend(lifts.shown, noise, 26, lag=6, curve=curve)
    own_rate = (expected / EXPECTED_SPREAD**2 + old.slope * old.precision) / (
        1 / EXPECTED_SPREAD**2 + old.precision
    )
    out["own_rate"] = 100 * own_rate
    rate = np.maximum(own_rate, LEAST_RATE)
    for name, series, error in (("", lifts.shown, noise), ("bare_", lifts.bare, bare_noise)):
        ratio = {}
        totals = total_up(series)
        for weeks in STALL_WEEKS if not name else BARE_WINDOWS:
            trend = fit_trend(series, error, weeks, curve=curve, totals=totals)
            ratio[weeks] = trend.precision * (rate**2 / 2 - rate * trend.slope)
            if weeks in WINDOWS:
                shrunk = trend.precision / (trend.precision + 1 / SLOPE_SPREAD**2)
                out[f"{name}slope_{weeks}"] = 100 * trend.slope * shrunk
            if weeks == 8 and not name:
                out["slope_raw"] = 100 * trend.slope
                out["slope_se"] = 100 / np.sqrt(np.maximum(trend.precision, 1.0))
                out["n_points"], out["n_lifts"] = trend.n, trend.lifts
        if not name:
            out["stall_odds"] = stall_odds(ratio)
    effort = fit_trend(lifts.reserve, rep_noise, 8)
    out["reserve_slope_8"] = 100 * effort.slope * effort.precision / (effort.precision + 1 / SLOPE_SPREAD**2)
    slumps: dict[str, dict[int, tuple[Grid, Grid]]] = {"shown": {}, "short": {}}
    recent = fit_trend(lifts.shown, noise, SHORTFALL_WINDOW, lag=2, curve=curve)
    certainty = recent.precision + 1 / SHORTFALL_SPREAD**2
    was_gaining = (recent.slope * recent.precision + own_rate / SHORTFALL_SPREAD**2) / certainty
    for weeks in (1, 2, 3):
        for name, series, error in (
            ("shown", lifts.shown, noise),
            ("bare", lifts.bare, bare_noise),
            ("reserve", lifts.reserve, rep_noise),
            ("top", lifts.top, bare_noise),
        ):
            change = fit_change(series, error, weeks, curve if name in ("shown", "bare") else None)
            out[f"{name}_change_{weeks}"] = 100 * change.mean
            out[f"{name}_z_{weeks}"] = np.clip(change.z, -6, 6)
            out[f"{name}_breadth_{weeks}"] = change.breadth
            out[f"{name}_lifts_{weeks}"] = change.lifts
            if name == "shown":
                # a client who was gaining is short of where the gain would have led
                apart = max(2, weeks) + (REFERENCE_WEEKS - weeks) / 2
                error_2 = 1 / np.maximum(change.precision, 1e-9) + apart**2 / certainty
                gap = np.where(change.precision > 0, change.mean - apart * was_gaining, 0.0)
                sure = np.where(change.precision > 0, 1 / error_2, 0.0)
                out[f"short_z_{weeks}"] = np.clip(gap * np.sqrt(sure), -6, 6)
                slumps["shown"][weeks] = (change.mean, change.precision)
                slumps["short"][weeks] = (gap, sure)
    for name, changes in slumps.items():
        out[f"{name}_slump_odds"] = slump_odds(changes)
    for name, series in (("shown", lifts.shown), ("top", lifts.top)):
        bests, could = fit_bests(series)
        for weeks in (3, 6, 10):
            out[f"{name}_bests_{weeks}"] = (trailing_sum(bests, weeks) + 0.6) / (
                trailing_sum(could, weeks) + 2.0
            )
        out[f"{name}_best_age"] = np.minimum(weeks_since(bests >= np.maximum(0.34 * could, 1)), 20)
    active = lifts.shown.by_client((lifts.shown.weight > 0).astype(float))
    out["new_share"] = lifts.shown.by_client(lifts.is_new) / np.maximum(active, 1)
    failed, sets = lifts.shown.by_client(lifts.n_failed), lifts.shown.by_client(lifts.n_lift_sets)
    out["failed_share"] = trailing_sum(failed, 2) / np.maximum(trailing_sum(sets + failed, 2), 1)
    return out


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
    share = np.minimum(came / np.maximum(asked_for, 1), np.nan_to_num(completion, nan=1.0))
    out["week_completion"] = completion
    out["off_plan_odds"] = off_plan_odds(
        asked_for, np.clip(share, 0, 1), (context.has_silence > 0) | (context.n_sessions == 0), back_now
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
    expected = np.array([EXPECTED_RATE.get(s, EXPECTED_RATE[""]) for s in known]).reshape(-1, 1)
    planned, returning = quiet_weeks(context)
    quiet = np.maximum(planned, returning)
    observed = con.sql(
        "select * from state_lift_week order by client_id, exercise_id, stretch, week_start"
    ).pl()
    parts: list[dict[str, Grid]] = []
    for start in range(0, max(len(axis.clients), 1), CHUNK):
        chosen = Axis(axis.clients[start : start + CHUNK], axis.first_week, axis.n_weeks)
        frame = observed.filter(pl.col("client_id").is_in(chosen.clients))
        stop = start + CHUNK
        lifts = spread_lifts(frame, chosen, quiet[start:stop])
        parts.append(_strength_signals(lifts, np.broadcast_to(expected[start:stop], quiet[start:stop].shape)))
    out = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    out.update(_context_signals(context))
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
        "plan_days",
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

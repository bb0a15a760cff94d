"""What the lifts of each client say, week by week: signals out of loads, repetitions and effort.

What arrives: `state_lift_week` (see `observations`) and which weeks are quiet. What leaves: named grids of
clients × weeks, for `signals`. Figures with "change", "z" and "breadth" hold the last weeks against the six
before (`strength.fit_change`); "chance" and "rate" come from the model in `regimes`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import polars as pl

from pipeline.analyse.states.panel import Axis, Grid, trailing_mean, trailing_sum, weeks_since
from pipeline.analyse.states.regimes import follow_regimes, log_odds, tired_ratio
from pipeline.analyse.states.strength import (
    Curve,
    Lifts,
    fit_bests,
    fit_change,
    fit_curve,
    fit_noise,
    fit_trend,
    total_up,
)

SLOPE_SPREAD = 0.004
"""Prior spread of weekly slopes (log units) that a window's slope is shrunk with."""
LIGHT_LOAD_PCT = -5.0
LIGHT_BREADTH = 0.8
LIGHT_SETS = 0.8
"""A lighter week nobody planned: loads down by this (%), on so many lifts, with so many sets [P]."""
WINDOWS = (8, 16)
COMPARED = {"shown": (1, 2), "bare": (1,), "reserve": (1, 2)}
"""Weeks of each series that are held against those before."""
ONE_REP = 0.025
"""One repetition in reserve in log units of load: 100/(30 + r) % at r = 10."""


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


def _slopes(lifts: LiftGrids, noise: Grid, curve: Curve) -> dict[str, Grid]:
    out: dict[str, Grid] = {}
    totals = total_up(lifts.shown)
    for weeks in WINDOWS:
        trend = fit_trend(lifts.shown, noise, weeks, curve=curve, totals=totals)
        shrunk = trend.precision / (trend.precision + 1 / SLOPE_SPREAD**2)
        out[f"slope_{weeks}"] = 100 * trend.slope * shrunk
        if weeks == 8:
            out["slope_raw"] = 100 * trend.slope
            out["slope_se"] = 100 / np.sqrt(np.maximum(trend.precision, 1.0))
            out["n_points"], out["n_lifts"] = trend.n, trend.lifts
    return out


def _changes(lifts: LiftGrids, noise: Grid, bare_noise: Grid, curve: Curve) -> dict[str, Grid]:
    """The last weeks against those before."""
    out: dict[str, Grid] = {}
    rep_noise = np.full_like(noise, ONE_REP)
    for name, series, error, bend in (
        ("shown", lifts.shown, noise, curve),
        ("bare", lifts.bare, bare_noise, curve),
        ("reserve", lifts.reserve, rep_noise, None),
    ):
        for weeks in COMPARED[name]:
            change = fit_change(series, error, weeks, bend)
            out[f"{name}_change_{weeks}"] = 100 * change.mean
            out[f"{name}_z_{weeks}"] = np.clip(change.z, -6, 6)
            out[f"{name}_breadth_{weeks}"] = change.breadth
            out[f"{name}_lifts_{weeks}"] = change.lifts
    return out


def strength_signals(
    lifts: LiftGrids, expected: Grid, told: Grid, strain: Grid, answers: Grid
) -> dict[str, Grid]:
    """Every signal of the lifts, clients × weeks.

    `expected` is the usual weekly gain of each client's training age (clients), `told` 1 where a week is
    trained and not quiet, `strain` how tired the check-ins sound in standard deviations and `answers` how many
    were given (clients × weeks).
    """
    light = own_light_weeks(lifts)
    lifts = lifts.without(light)
    noise, bare_noise = fit_noise(lifts.shown), fit_noise(lifts.bare)
    curve = fit_curve(lifts.shown)
    tired = tired_ratio(strain, answers)
    regimes = follow_regimes(lifts.shown, noise, expected, told * (1.0 - light), curve, tired)
    out: dict[str, Grid] = {
        "own_light": light,
        "stall_chance": log_odds(regimes.stall),
        "slump_chance": log_odds(regimes.slump),
        "own_rate": 100 * regimes.own_rate,
        "rate_now": 100 * regimes.rate_now,
        "surprise": np.clip(regimes.surprise, -4, 4),
    }
    out.update(_slopes(lifts, noise, curve))
    out.update(_changes(lifts, noise, bare_noise, curve))
    for name, series in (("shown", lifts.shown), ("top", lifts.top)):
        bests, could = fit_bests(series)
        for weeks in (3, 6):
            out[f"{name}_bests_{weeks}"] = (trailing_sum(bests, weeks) + 0.6) / (
                trailing_sum(could, weeks) + 2.0
            )
        out[f"{name}_best_age"] = np.minimum(weeks_since(bests >= np.maximum(0.34 * could, 1)), 20)
    active = lifts.shown.by_client((lifts.shown.weight > 0).astype(float))
    out["new_share"] = lifts.shown.by_client(lifts.is_new) / np.maximum(active, 1)
    failed, sets = lifts.shown.by_client(lifts.n_failed), lifts.shown.by_client(lifts.n_lift_sets)
    out["failed_share"] = trailing_sum(failed, 2) / np.maximum(trailing_sum(sets + failed, 2), 1)
    return out

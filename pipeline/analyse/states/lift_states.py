"""`lift_week`: the state of one lift, leaning on the client's other lifts where it says little itself."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.analyse.states.context import read_axis
from pipeline.analyse.states.decision import RULE_CONFIDENCE, run_lengths
from pipeline.analyse.states.lift_signals import spread_lifts
from pipeline.analyse.states.panel import Axis, Grid, in_chunks, plain, weeks_since
from pipeline.analyse.states.phrases import count, signed
from pipeline.analyse.states.score import latch
from pipeline.analyse.states.strength import Lifts, fit_change, fit_noise, fit_trend

WINDOW_WEEKS = 12
LEAST_POINTS = 5
OWN_SPREAD = 0.0025
"""Spread of a lift's weekly slope around the client's pooled one (log units) [P]."""
FOLLOW_WEEKS = 3
"""Weeks a lift stays listed after it was last done."""
FALL_PCT = -2.0
CLIENT_WIDE = ("planned_deload", "returning", "no_recent_log", "off_plan")
"""States of the client that hold for each lift as well."""


def _chunk_states(
    observed: pl.DataFrame, axis: Axis, quiet: Grid, client: dict[str, Grid], client_state: np.ndarray
) -> pl.DataFrame:
    grids = spread_lifts(observed, axis, quiet)
    lift_row = (
        observed.select(pl.struct("client_id", "exercise_id").rle_id()).to_series().cast(pl.Int64).to_numpy()
    )
    series = observed.select(pl.struct("client_id", "exercise_id", "stretch").rle_id()).to_series().to_numpy()
    first = np.flatnonzero(np.r_[True, series[1:] != series[:-1]])
    n_lifts = int(lift_row[-1]) + 1
    lifts = Lifts(
        grids.shown.y, grids.shown.weight, grids.shown.bend, lift_row[first], lift_row[first], n_lifts
    )
    heads = np.flatnonzero(np.r_[True, lift_row[1:] != lift_row[:-1]])
    owner = axis.rows(observed["client_id"][heads])
    noise = fit_noise(grids.shown)
    trend = fit_trend(lifts, noise, WINDOW_WEEKS)
    change = fit_change(lifts, noise, 2)
    prior = client["slope_raw"][owner] / 100
    prior_precision = 1 / (OWN_SPREAD**2 + (client["slope_se"][owner] / 100) ** 2)
    precision = trend.precision + prior_precision
    slope = (trend.slope * trend.precision + prior * prior_precision) / precision
    se = 1 / np.sqrt(precision)
    done = lifts.by_client((~np.isnan(lifts.y)).astype(float)) > 0
    since = weeks_since(done)
    enough = trend.n >= LEAST_POINTS
    rate = np.maximum(client["own_rate"][owner] / 100, 0.001)
    stall = (rate / 2 - slope) / se
    context = client_state[owner]
    held = (quiet[owner] > 0) | ~done
    plateau = latch(np.where(enough, stall, -9.0), 0.7, 0.0, held)
    state = np.full(done.shape, "steady", dtype="U16")
    confidence = np.full(done.shape, 0.55)
    rules: tuple[tuple[str, Any, Any], ...] = (
        ("progressing", slope > 1.04 * se, 1 / (1 + np.exp(-1.702 * slope / se))),
        ("plateau", plateau, 1 / (1 + np.exp(-1.702 * stall))),
        ("not_enough_data", ~enough, RULE_CONFIDENCE),
        ("over_reaching", (context == "over_reaching") & (100 * change.mean <= FALL_PCT), 0.6),
        *((name, context == name, RULE_CONFIDENCE) for name in CLIENT_WIDE),
    )
    for name, where, sure in rules:
        state = np.where(where, name, state)
        confidence = np.where(where, sure, confidence)
    keep = np.isfinite(since) & (since <= FOLLOW_WEEKS) & (client["weeks_known"][owner] > 0)
    runs = run_lengths(state, keep)
    row, col = np.nonzero(keep)
    weeks = pl.Series("week_start", [axis.week(i) for i in range(axis.n_weeks)], dtype=pl.Date)
    names = observed.select("client_id", "exercise_id")[heads]
    return names[row].with_columns(
        weeks.gather(col),
        state=pl.Series(state[keep].astype(str).tolist(), dtype=pl.String),
        confidence=pl.Series(np.round(np.clip(confidence[keep], 0.05, 0.99), 3)),
        weeks_in_state=pl.Series(runs[keep]),
        slope=pl.Series(plain(100 * slope[keep])),
        se=pl.Series(plain(100 * se[keep])),
        change=pl.Series(plain(100 * change.mean[keep])),
        n_points=pl.Series(trend.n[keep]),
        weeks_since=pl.Series(since[keep]),
    )


_INTERVAL = pl.format(
    "{} % a week over twelve weeks, leaning on the other lifts (90 % interval {} to {})",
    signed(pl.col("slope"), 2),
    signed(pl.col("slope") - 1.645 * pl.col("se"), 2),
    signed(pl.col("slope") + 1.645 * pl.col("se"), 2),
)
_CHANGE = pl.format("last two weeks {} % against the six before", signed(pl.col("change")))
# what a reason says before its figure, and after it
_REASON = {
    "progressing": ("Rising: ", "."),
    "plateau": ("No progress beyond measurement error: ", "."),
    "steady": ("Neither clear progress nor a clear standstill: ", "."),
    "over_reaching": ("Part of a pattern consistent with accumulated fatigue: ", "."),
    "off_plan": ("The plan as a whole is not being done; see the client.", ""),
    "planned_deload": ("A lighter stretch or a break is planned this week.", ""),
    "returning": ("Back after a pause; figures below the old level are expected for a while.", ""),
    "no_recent_log": ("Nothing logged lately.", ""),
    "not_enough_data": ("", " in twelve weeks: too few to tell a trend."),
}
_CHANGES = {
    "progressing": "Several exposures without a gain.",
    "plateau": "A best that beats measurement error, or a new range or lift.",
    "steady": "A slope that clearly leaves zero.",
    "over_reaching": "Two weeks back at the usual level.",
    "off_plan": "Two weeks close to the plan.",
    "planned_deload": "The end of the lighter stretch.",
    "returning": "Two to four weeks of sessions.",
    "no_recent_log": "A new log.",
    "not_enough_data": "Five weeks with a useful set of this lift.",
}


def _by_state(texts: dict[str, str]) -> pl.Expr:
    return pl.col("state").replace_strict(texts, default="", return_dtype=pl.String)


def _reason() -> pl.Expr:
    """The reason in a sentence; columns `interval` and `recent_change` are worded already."""
    state = pl.col("state")
    figure = (
        pl.when(state.is_in(["progressing", "plateau", "steady"]))
        .then("interval")
        .when(state == "over_reaching")
        .then("recent_change")
        .when(state == "not_enough_data")
        .then(count(pl.col("n_points"), "useful week", "useful weeks"))
        .otherwise(pl.lit(""))
    )
    before = _by_state({name: text for name, (text, _) in _REASON.items()})
    after = _by_state({name: text for name, (_, text) in _REASON.items()})
    return pl.concat_str(before, figure, after)


def _evidence() -> pl.Expr:
    for_slope = (
        pl.when((pl.col("state") == "progressing") == (pl.col("slope") > 0))
        .then(pl.lit("for"))
        .otherwise(pl.lit("against"))
    )
    for_change = (
        pl.when((pl.col("state") == "over_reaching") == (pl.col("change") < -1))
        .then(pl.lit("for"))
        .otherwise(pl.lit("against"))
    )
    return pl.concat_str(
        pl.lit('[{"signal": "lift_slope", "figure": '),
        pl.col("slope").round(3).cast(pl.String),
        pl.lit(', "unit": "% a week", "speaks": "'),
        for_slope,
        pl.lit('", "text": "'),
        pl.col("interval"),
        pl.lit('"}, {"signal": "recent_level", "figure": '),
        pl.col("change").round(2).cast(pl.String),
        pl.lit(', "unit": "%", "speaks": "'),
        for_change,
        pl.lit('", "text": "'),
        pl.col("recent_change"),
        pl.lit('"}]'),
    )


def build_lift_week(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """One row a client, exercise and week, while the lift is done and three weeks beyond."""
    axis = read_axis(con)
    empty = pl.DataFrame(
        schema={
            "client_id": pl.String,
            "exercise_id": pl.String,
            "week_start": pl.Date,
            "state": pl.String,
            "reasons": pl.String,
            "evidence": pl.String,
        }
    )
    observed = con.sql(
        "select * from state_lift_week order by client_id, exercise_id, stretch, week_start"
    ).pl()
    signals = con.sql("""
        select s.client_id, s.week_start, s.weeks_known, s.slope_raw, s.slope_se, s.own_rate,
          greatest(s.planned_light, s.is_returning) as quiet
        from client_signal as s
    """).pl()
    states = con.sql("select client_id, week_start, state from client_week").pl()
    if observed.is_empty() or signals.is_empty():
        return empty
    parts = []
    n_rows = observed.select("client_id", "exercise_id", "stretch").n_unique()
    for _, part in in_chunks(axis, n_rows):
        chosen = observed.filter(pl.col("client_id").is_in(part.clients))
        if chosen.is_empty():
            continue
        mine = signals.filter(pl.col("client_id").is_in(part.clients))
        spread = part.spread_all(mine, ("weeks_known", "slope_raw", "slope_se", "own_rate", "quiet"))
        grids = {name: np.nan_to_num(grid) for name, grid in spread.items()}
        state = np.full(part.shape, "", dtype="U16")
        here = states.filter(pl.col("client_id").is_in(part.clients))
        state[part.rows(here["client_id"]), part.columns(here["week_start"])] = here["state"].to_numpy()
        parts.append(_chunk_states(chosen, part, grids["quiet"], grids, state))
    if not parts:
        return empty
    names = con.sql(
        "select exercise_id, any_value(exercise_name) as exercise_name from logged_set group by exercise_id"
    ).pl()
    return (
        pl.concat(parts)
        .join(names, on="exercise_id", how="left")
        .with_columns(interval=_INTERVAL, recent_change=_CHANGE)
        .with_columns(
            since_week=pl.col("week_start") - pl.duration(days=7 * (pl.col("weeks_in_state") - 1)),
            reasons=_reason(),
            evidence=_evidence(),
            would_change=_by_state(_CHANGES),
        )
        .select(
            "client_id",
            "exercise_id",
            "exercise_name",
            "week_start",
            "state",
            "since_week",
            "weeks_in_state",
            "confidence",
            "reasons",
            "evidence",
            "would_change",
        )
    )

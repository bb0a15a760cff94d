"""The tables `strength_trend` and `client_strength_week`: the filters of trend and pooled_trend as tables."""

from __future__ import annotations

from dataclasses import dataclass, fields

import duckdb
import numpy as np
import polars as pl

from pipeline.analyse.pooled_trend import ClientWeeks, LiftWeekMarks, pool_lifts
from pipeline.analyse.trend import Z_90, LiftSessions, LiftWeeks, ReadSessions, filter_lifts

TOO_FEW_SESSIONS = 4
TOO_FEW_WEEKS = 3
# competing lifters gain 0.2 to 0.3 % a week (REFERENCE 7): a rate surely within this is as good as none [P]
FLAT_PCT_PER_WEEK = 0.35
LIFT_SPEAKS_FROM = 3
RECENT_WEEKS = 6


@dataclass(frozen=True)
class Observed:
    """The sessions of every lift as arrays, and what their numbers stand for.

    `lifts` has a row a series (lift, client_id, exercise_id, e1rm_basis, client), `weeks` one a week.
    """

    sessions: LiftSessions
    lifts: pl.DataFrame
    weeks: pl.DataFrame


def read_observed(con: duckdb.DuckDBPyConnection) -> Observed:
    """`lift_observation` as arrays, lifts and weeks numbered from 0."""
    weeks = con.sql("select distinct week_start from calendar order by week_start").pl()
    weeks = weeks.with_row_index("week").with_columns(pl.col("week").cast(pl.Int64))
    seen = con.sql(
        "select client_id, exercise_id, session_date, week_start, e1rm_basis, is_lower_bound, e1rm_se_pct,"
        " share_per_rep, ln_load, ln_factor, is_deload from lift_observation"
    ).pl()
    seen = seen.join(weeks, on="week_start").sort("client_id", "exercise_id", "session_date")
    lifts = (
        seen.select("client_id", "exercise_id", "e1rm_basis")
        .unique(["client_id", "exercise_id"], keep="first", maintain_order=True)
        .with_row_index("lift")
        .with_columns(
            pl.col("lift").cast(pl.Int64),
            (pl.col("client_id").rank("dense") - 1).cast(pl.Int64).alias("client"),
        )
    )
    seen = seen.join(
        lifts.select("client_id", "exercise_id", "lift"), on=["client_id", "exercise_id"]
    ).sort("lift", "session_date")
    sessions = LiftSessions(
        lift=seen["lift"].to_numpy(), week=seen["week"].to_numpy(), ln_load=seen["ln_load"].to_numpy(),
        ln_factor=seen["ln_factor"].to_numpy(), se=seen["e1rm_se_pct"].to_numpy() / 100,
        share_per_rep=seen["share_per_rep"].to_numpy(), is_lower_bound=seen["is_lower_bound"].to_numpy(),
        is_deload=seen["is_deload"].to_numpy(),
    )
    return Observed(sessions, lifts, weeks)


def build_strength_trend(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`strength_trend` from `lift_observation`, `calendar` and `exercise`."""
    observed = read_observed(con)
    result, _ = filter_lifts(observed.sessions, observed.weeks.height, recent_weeks=RECENT_WEEKS)
    names = con.sql("select exercise_id, exercise_name from exercise").pl()
    frame = pl.DataFrame({f.name: getattr(result, f.name) for f in fields(LiftWeeks)}).with_columns(
        pl.col("lift", "week", "n_sessions", "n_recent", "first_week").cast(pl.Int64),
        pl.col("has_point").cast(pl.Boolean),
    )
    frame = frame.join(observed.lifts, on="lift").join(observed.weeks, on="week")
    frame = frame.join(names, on="exercise_id", how="left")
    level = pl.when("has_point").then("level").otherwise("bound")
    level_sd = pl.when("has_point").then("level_sd").otherwise("bound_sd")
    slope_low = 100 * (pl.col("slope") - Z_90 * pl.col("slope_sd"))
    slope_high = 100 * (pl.col("slope") + Z_90 * pl.col("slope_sd"))
    weeks_running = pl.col("week") - pl.col("first_week")
    too_few = (pl.col("n_sessions") < TOO_FEW_SESSIONS) | (weeks_running < TOO_FEW_WEEKS)
    return frame.select(
        "client_id", "exercise_id", "exercise_name", "week_start",
        pl.col("n_sessions").alias("n_exposures"),
        "e1rm_basis",
        level.exp().alias("level_kg"),
        (level - Z_90 * level_sd).exp().alias("level_low_kg"),
        pl.when("has_point").then((level + Z_90 * level_sd).exp()).alias("level_high_kg"),
        (100 * pl.col("slope")).alias("slope_pct_per_week"),
        slope_low.alias("slope_low_pct_per_week"),
        slope_high.alias("slope_high_pct_per_week"),
        pl.when(too_few).then(pl.lit("too_few"))
        .when(slope_low > 0).then(pl.lit("rising"))
        .when(slope_high < 0).then(pl.lit("falling"))
        .when((slope_low > -FLAT_PCT_PER_WEEK) & (slope_high < FLAT_PCT_PER_WEEK)).then(pl.lit("flat"))
        .otherwise(pl.lit("unclear")).alias("status"),
        pl.when("has_point").then(pl.lit("point")).otherwise(pl.lit("lower_bound")).alias("level_kind"),
        pl.col("n_recent").alias("n_exposures_recent"),
        (100 * level_sd).alias("level_se_pct"),
        (100 * pl.col("slope_sd")).alias("slope_se_pct_per_week"),
        "curve",
        (pl.col("curve") - Z_90 * pl.col("curve_sd")).alias("curve_low"),
        (pl.col("curve") + Z_90 * pl.col("curve_sd")).alias("curve_high"),
    ).sort("client_id", "exercise_id", "week_start")


def build_client_strength_week(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`client_strength_week` from `lift_observation`, `calendar` and `strength_trend` (for the counts)."""
    observed = read_observed(con)
    _, read = filter_lifts(observed.sessions, observed.weeks.height)
    pooled = pool_lifts(_weekly_marks(observed, read), observed.weeks.height)
    frame = pl.DataFrame({f.name: getattr(pooled, f.name) for f in fields(ClientWeeks)})
    clients = observed.lifts.select("client", "client_id").unique()
    trend = con.sql("select client_id, week_start, n_exposures, n_exposures_recent from strength_trend").pl()
    speaks = (pl.col("n_exposures") >= LIFT_SPEAKS_FROM) & (pl.col("n_exposures_recent") > 0)
    counts = trend.group_by("client_id", "week_start").agg(
        speaks.sum().cast(pl.Int64).alias("n_lifts"), pl.col("n_exposures_recent").sum().alias("n_exposures")
    )
    frame = frame.join(clients, on="client").join(observed.weeks, on="week")
    frame = frame.join(counts, on=["client_id", "week_start"], how="left")
    index = 100 * pl.col("level").exp()
    return frame.select(
        "client_id", "week_start",
        index.alias("strength_index"),
        (index * (-Z_90 * pl.col("level_sd")).exp()).alias("index_low"),
        (index * (Z_90 * pl.col("level_sd")).exp()).alias("index_high"),
        (100 * pl.col("slope")).alias("slope_pct_per_week"),
        (100 * (pl.col("slope") - Z_90 * pl.col("slope_sd"))).alias("slope_low_pct_per_week"),
        (100 * (pl.col("slope") + Z_90 * pl.col("slope_sd"))).alias("slope_high_pct_per_week"),
        "n_lifts", "n_exposures",
    ).sort("client_id", "week_start")


def _weekly_marks(observed: Observed, read: ReadSessions) -> LiftWeekMarks:
    """The sessions of a lift in one week as one mark: the precision-weighted mean, sorted by week."""
    sessions = observed.sessions
    order = np.lexsort((sessions.lift, sessions.week))
    lift, week = sessions.lift[order], sessions.week[order]
    weight = 1 / read.sd[order] ** 2
    if not len(lift):
        return LiftWeekMarks(lift, lift, week, read.level, read.sd)
    starts = np.flatnonzero(np.r_[True, (np.diff(lift) != 0) | (np.diff(week) != 0)])
    total = np.add.reduceat(weight, starts)
    client = observed.lifts["client"].to_numpy()[lift[starts]]
    return LiftWeekMarks(
        client, lift[starts], week[starts],
        np.add.reduceat(weight * read.level[order], starts) / total, 1 / np.sqrt(total),
    )

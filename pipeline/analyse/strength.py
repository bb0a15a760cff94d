"""The filters of trend and pooled_trend as tables: `lift_reading`, `strength_trend`, `client_strength_week`.

`lift_reading` is a step between: what each session of a lift said of its level (log scale).
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import duckdb
import polars as pl

from pipeline.analyse.pooled_trend import ClientWeeks, LiftWeekMarks, pool_lifts
from pipeline.analyse.trend import Z_90, LiftSessions, LiftWeeks, filter_lifts

TOO_FEW_SESSIONS = 4
TOO_FEW_WEEKS = 3
# competing lifters gain 0.2 to 0.3 % a week (REFERENCE 7): a rate surely within this is as good as none [P]
FLAT_PCT_PER_WEEK = 0.35
LIFT_SPEAKS_FROM = 3
RECENT_WEEKS = 6


@dataclass(frozen=True)
class Observed:
    """The sessions of every lift as arrays, and what their numbers stand for.

    `lifts` has a row a series (lift, client_id, exercise_id, e1rm_basis), `weeks` one a week (week,
    week_start), `keys` one a session in the order of the arrays.
    """

    sessions: LiftSessions
    keys: pl.DataFrame
    lifts: pl.DataFrame
    weeks: pl.DataFrame


def numbered_weeks(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Every week of the calendar (week_start), numbered from 0 (week)."""
    weeks: pl.DataFrame = con.sql("select distinct week_start from calendar order by week_start").pl()
    return weeks.with_row_index("week").with_columns(pl.col("week").cast(pl.Int64))


def read_observed(con: duckdb.DuckDBPyConnection) -> Observed:
    """`lift_observation` as arrays, lifts and weeks numbered from 0."""
    weeks = numbered_weeks(con)
    seen = con.sql(
        "select client_id, exercise_id, session_date, week_start, e1rm_basis, is_lower_bound, e1rm_se_pct,"
        " share_per_rep, ln_load, ln_factor, is_deload from lift_observation"
        " order by client_id, exercise_id, session_date"
    ).pl()
    seen = seen.join(weeks, on="week_start", maintain_order="left").with_columns(
        pl.struct("client_id", "exercise_id").rle_id().cast(pl.Int64).alias("lift")
    )
    is_first = pl.col("lift") != pl.col("lift").shift(1)
    lifts = seen.filter(is_first.fill_null(value=True)).select(
        "lift", "client_id", "exercise_id", "e1rm_basis"
    )
    sessions = LiftSessions(
        lift=seen["lift"].to_numpy(),
        week=seen["week"].to_numpy(),
        ln_load=seen["ln_load"].to_numpy(),
        ln_factor=seen["ln_factor"].to_numpy(),
        se=seen["e1rm_se_pct"].to_numpy() / 100,
        share_per_rep=seen["share_per_rep"].to_numpy(),
        is_lower_bound=seen["is_lower_bound"].to_numpy(),
        is_deload=seen["is_deload"].to_numpy(),
    )
    keys = seen.select("client_id", "exercise_id", "session_date", "week_start")
    return Observed(sessions, keys, lifts, weeks)


def build_lift_reading(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """What each session of a lift said: level, sd and surprise (log scale) by client, exercise and date."""
    observed = read_observed(con)
    _, read = filter_lifts(observed.sessions, observed.weeks.height)
    return observed.keys.with_columns(
        pl.Series("level", read.level),
        pl.Series("sd", read.sd),
        pl.Series("surprise", read.surprise).fill_nan(None),
    )


def build_strength_trend(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`strength_trend` from `lift_observation`, `calendar` and `exercise`."""
    observed = read_observed(con)
    result, _ = filter_lifts(observed.sessions, observed.weeks.height, recent_weeks=RECENT_WEEKS)
    names = con.sql("select exercise_id, exercise_name from exercise").pl()
    lifts = observed.lifts.drop("lift").join(names, on="exercise_id", how="left", maintain_order="left")
    frame = (
        pl.DataFrame({f.name: getattr(result, f.name) for f in fields(LiftWeeks)})
        .with_columns(
            pl.col("lift", "week", "n_sessions", "n_recent", "first_week").cast(pl.Int64),
            pl.col("has_point").cast(pl.Boolean),
        )
        .sort("lift", "week")  # lifts are numbered by client and exercise
    )
    frame = frame.hstack(lifts[frame["lift"]]).hstack(observed.weeks.select("week_start")[frame["week"]])
    level = pl.when("has_point").then("level").otherwise("bound")
    level_sd = pl.when("has_point").then("level_sd").otherwise("bound_sd")
    slope_low = 100 * (pl.col("slope") - Z_90 * pl.col("slope_sd"))
    slope_high = 100 * (pl.col("slope") + Z_90 * pl.col("slope_sd"))
    weeks_running = pl.col("week") - pl.col("first_week")
    too_few = (pl.col("n_sessions") < TOO_FEW_SESSIONS) | (weeks_running < TOO_FEW_WEEKS)
    return frame.select(
        "client_id",
        "exercise_id",
        "exercise_name",
        "week_start",
        pl.col("n_sessions").alias("n_exposures"),
        "e1rm_basis",
        level.exp().alias("level_kg"),
        (level - Z_90 * level_sd).exp().alias("level_low_kg"),
        pl.when("has_point").then((level + Z_90 * level_sd).exp()).alias("level_high_kg"),
        (100 * pl.col("slope")).alias("slope_pct_per_week"),
        slope_low.alias("slope_low_pct_per_week"),
        slope_high.alias("slope_high_pct_per_week"),
        pl.when(too_few)
        .then(pl.lit("too_few"))
        .when(slope_low > 0)
        .then(pl.lit("rising"))
        .when(slope_high < 0)
        .then(pl.lit("falling"))
        .when((slope_low > -FLAT_PCT_PER_WEEK) & (slope_high < FLAT_PCT_PER_WEEK))
        .then(pl.lit("flat"))
        .otherwise(pl.lit("unclear"))
        .alias("status"),
        pl.when("has_point").then(pl.lit("point")).otherwise(pl.lit("lower_bound")).alias("level_kind"),
        pl.col("n_recent").alias("n_exposures_recent"),
        (100 * level_sd).alias("level_se_pct"),
        (100 * pl.col("slope_sd")).alias("slope_se_pct_per_week"),
        "curve",
        (pl.col("curve") - Z_90 * pl.col("curve_sd")).alias("curve_low"),
        (pl.col("curve") + Z_90 * pl.col("curve_sd")).alias("curve_high"),
    )


def build_client_strength_week(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`client_strength_week` from `lift_reading`, `calendar` and `strength_trend` (for the counts)."""
    weeks = numbered_weeks(con)
    readings = con.sql(
        "select client_id, exercise_id, week_start, level, sd from lift_reading"
        " order by client_id, exercise_id, session_date"
    ).pl()
    readings = readings.join(weeks, on="week_start", maintain_order="left").with_columns(
        pl.col("client_id").rle_id().cast(pl.Int64).alias("client"),
        pl.struct("client_id", "exercise_id").rle_id().cast(pl.Int64).alias("lift"),
        (1 / pl.col("sd") ** 2).alias("weight"),
    )
    # the sessions of a lift in one week are one mark: their precision-weighted mean
    weekly = (
        readings.group_by("client", "lift", "week")
        .agg(
            level=(pl.col("weight") * pl.col("level")).sum() / pl.col("weight").sum(),
            sd=1 / pl.col("weight").sum().sqrt(),
        )
        .sort("week", "lift")
    )
    marks = LiftWeekMarks(*(weekly[f.name].to_numpy() for f in fields(LiftWeekMarks)))
    pooled = pool_lifts(marks, weeks.height)
    frame = pl.DataFrame({f.name: getattr(pooled, f.name) for f in fields(ClientWeeks)})
    clients = readings.select("client", "client_id").unique("client")
    trend = con.sql("select client_id, week_start, n_exposures, n_exposures_recent from strength_trend").pl()
    speaks = (pl.col("n_exposures") >= LIFT_SPEAKS_FROM) & (pl.col("n_exposures_recent") > 0)
    counts = trend.group_by("client_id", "week_start").agg(
        speaks.sum().cast(pl.Int64).alias("n_lifts"), pl.col("n_exposures_recent").sum().alias("n_exposures")
    )
    frame = frame.join(clients, on="client").join(weeks, on="week")
    frame = frame.join(counts, on=["client_id", "week_start"], how="left")
    index = 100 * pl.col("level").exp()
    return frame.select(
        "client_id",
        "week_start",
        index.alias("strength_index"),
        (index * (-Z_90 * pl.col("level_sd")).exp()).alias("index_low"),
        (index * (Z_90 * pl.col("level_sd")).exp()).alias("index_high"),
        (100 * pl.col("slope")).alias("slope_pct_per_week"),
        (100 * (pl.col("slope") - Z_90 * pl.col("slope_sd"))).alias("slope_low_pct_per_week"),
        (100 * (pl.col("slope") + Z_90 * pl.col("slope_sd"))).alias("slope_high_pct_per_week"),
        "n_lifts",
        "n_exposures",
    ).sort("client_id", "week_start")

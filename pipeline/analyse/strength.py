"""The tables `strength_trend` and `client_strength_week`, made from the filter of every lift."""

from __future__ import annotations

import duckdb
import polars as pl

from pipeline.analyse.trend import Z_90, LiftSessions, filter_lifts

TOO_FEW_SESSIONS = 4
FLAT_PCT_PER_WEEK = 0.35


def build_strength_trend(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`strength_trend` from `lift_observation`, `calendar` and `exercise`."""
    weeks = con.sql("select distinct week_start from calendar order by week_start").pl()
    weeks = weeks.with_row_index("week").with_columns(pl.col("week").cast(pl.Int64))
    seen = con.sql(
        "select client_id, exercise_id, session_date, week_start, e1rm_basis, is_lower_bound, e1rm_se_pct,"
        " share_per_rep, ln_load, ln_factor, is_deload from lift_observation"
    ).pl()
    seen = seen.join(weeks, on="week_start").sort("client_id", "exercise_id", "session_date")
    lifts = seen.select("client_id", "exercise_id", "e1rm_basis").unique(
        ["client_id", "exercise_id"], keep="first", maintain_order=True
    ).with_row_index("lift").with_columns(pl.col("lift").cast(pl.Int64))
    seen = seen.join(lifts.select("client_id", "exercise_id", "lift"), on=["client_id", "exercise_id"]).sort(
        "lift", "session_date"
    )
    result = filter_lifts(
        LiftSessions(
            lift=seen["lift"].to_numpy(), week=seen["week"].to_numpy(), ln_load=seen["ln_load"].to_numpy(),
            ln_factor=seen["ln_factor"].to_numpy(), se=seen["e1rm_se_pct"].to_numpy() / 100,
            share_per_rep=seen["share_per_rep"].to_numpy(),
            is_lower_bound=seen["is_lower_bound"].to_numpy(), is_deload=seen["is_deload"].to_numpy(),
        ),
        n_weeks=weeks.height,
    )
    names = con.sql("select exercise_id, exercise_name from exercise").pl()
    frame = pl.DataFrame({name: getattr(result, name) for name in result.__dataclass_fields__})
    frame = frame.with_columns(pl.col("lift", "week").cast(pl.Int64))
    frame = frame.join(lifts, on="lift").join(weeks, on="week").join(names, on="exercise_id", how="left")
    level_low = (pl.col("level") - Z_90 * pl.col("level_sd")).exp()
    slope_low = 100 * (pl.col("slope") - Z_90 * pl.col("slope_sd"))
    slope_high = 100 * (pl.col("slope") + Z_90 * pl.col("slope_sd"))
    too_few = (pl.col("n_sessions") < TOO_FEW_SESSIONS) | (pl.col("week") - pl.col("first_week") < 3)
    return frame.select(
        "client_id", "exercise_id", "exercise_name", "week_start",
        pl.col("n_sessions").alias("n_exposures"),
        "e1rm_basis",
        pl.col("level").exp().alias("level_kg"),
        level_low.alias("level_low_kg"),
        pl.when("has_point").then((pl.col("level") + Z_90 * pl.col("level_sd")).exp()).alias("level_high_kg"),
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
        (100 * pl.col("level_sd")).alias("level_se_pct"),
        (100 * pl.col("slope_sd")).alias("slope_se_pct_per_week"),
        "curve",
        (pl.col("curve") - Z_90 * pl.col("curve_sd")).alias("curve_low"),
        (pl.col("curve") + Z_90 * pl.col("curve_sd")).alias("curve_high"),
    ).sort("client_id", "exercise_id", "week_start")


def build_client_strength_week(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """`client_strength_week`: the lifts of a client pooled on the log scale, from `strength_trend`."""
    trend = con.sql(
        "select client_id, exercise_id, week_start, n_exposures, n_exposures_recent, level_kg, level_se_pct,"
        " slope_pct_per_week, slope_se_pct_per_week from strength_trend where n_exposures_recent > 0"
        " order by client_id, exercise_id, week_start"
    ).pl()
    lift = ["client_id", "exercise_id"]
    week = ["client_id", "week_start"]
    trend = trend.with_columns(
        pl.when(pl.col("week_start").diff().over(lift) == pl.duration(days=7))
        .then(100 * pl.col("level_kg").log().diff().over(lift)).alias("change_pct"),
    )
    speaks = pl.col("n_exposures") >= 3
    trend = trend.filter(speaks).with_columns((1 / pl.col("slope_se_pct_per_week") ** 2).alias("weight"))
    first = trend.group_by(week).agg(
        ((pl.col("weight") * pl.col("slope_pct_per_week")).sum() / pl.col("weight").sum()).alias("fixed_mean")
    )
    spread = trend.join(first, on=week).group_by(week).agg(
        q=(pl.col("weight") * (pl.col("slope_pct_per_week") - pl.col("fixed_mean")) ** 2).sum(),
        w1=pl.col("weight").sum(), w2=(pl.col("weight") ** 2).sum(), k=pl.len(),
    ).with_columns(
        ((pl.col("q") - (pl.col("k") - 1)) / (pl.col("w1") - pl.col("w2") / pl.col("w1")))
        .fill_nan(0.0).clip(0.0, 0.25).alias("between")
    )
    trend = trend.join(spread.select(*week, "between"), on=week).with_columns(
        (1 / (pl.col("slope_se_pct_per_week") ** 2 + pl.col("between"))).alias("weight")
    )
    changing = pl.col("change_pct").is_not_null()
    pooled = trend.group_by(week).agg(
        slope=(pl.col("weight") * pl.col("slope_pct_per_week")).sum() / pl.col("weight").sum(),
        slope_se=1 / pl.col("weight").sum().sqrt(),
        change=(pl.col("weight") * pl.col("change_pct")).filter(changing).sum()
        / pl.col("weight").filter(changing).sum(),
        level_se=((pl.col("weight") * pl.col("level_se_pct")) ** 2).sum().sqrt() / pl.col("weight").sum(),
        n_lifts=pl.len(),
        n_exposures=pl.col("n_exposures_recent").sum(),
    ).sort(week)
    index = 100 * (pl.col("change").fill_nan(0.0).fill_null(0.0).cum_sum().over("client_id") / 100).exp()
    return pooled.with_columns(index.alias("strength_index")).select(
        *week, "strength_index",
        (pl.col("strength_index") * (-Z_90 * pl.col("level_se") / 100).exp()).alias("index_low"),
        (pl.col("strength_index") * (Z_90 * pl.col("level_se") / 100).exp()).alias("index_high"),
        pl.col("slope").alias("slope_pct_per_week"),
        (pl.col("slope") - Z_90 * pl.col("slope_se")).alias("slope_low_pct_per_week"),
        (pl.col("slope") + Z_90 * pl.col("slope_se")).alias("slope_high_pct_per_week"),
        "n_lifts", "n_exposures",
    )



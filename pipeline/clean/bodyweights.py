"""What is moved in exercises that move the body: bodyweight share + load.

Bodyweight is the dated value nearest before the session (check-ins), else the nearest after it within four
weeks, else what clients.csv says [common practice]. Dumbbell lifts stay per hand.
"""

from __future__ import annotations

import polars as pl

_DAYS_AHEAD = "28d"


def with_system_kg(
    sets: pl.DataFrame, check_in: pl.DataFrame, client: pl.DataFrame, exercise: pl.DataFrame
) -> pl.DataFrame:
    """`sets` with `system_kg`; empty where the load or a bodyweight that matters is unknown, never below zero."""
    if not sets.height:
        return sets.with_columns(pl.lit(None, dtype=pl.Float64).alias("system_kg"))
    weighed = check_in.filter(pl.col("bodyweight_kg").is_not_null()).select(
        "client_id", pl.col("check_in_date").alias("session_date"), "bodyweight_kg"
    )
    weighed = (
        weighed.group_by("client_id", "session_date").agg(pl.col("bodyweight_kg").mean()).sort("session_date")
    )
    frame = sets.with_row_index("row").sort("session_date", maintain_order=True)
    before = frame.join_asof(
        weighed, on="session_date", by="client_id", strategy="backward", check_sortedness=False
    )
    after = (
        frame.select("row", "client_id", "session_date")
        .join_asof(
            weighed.rename({"bodyweight_kg": "later_kg"}),
            on="session_date",
            by="client_id",
            strategy="forward",
            tolerance=_DAYS_AHEAD,
            check_sortedness=False,
        )
        .select("row", "later_kg")
    )
    profile = client.select("client_id", pl.col("bodyweight_kg").alias("profile_kg"))
    share = exercise.select("exercise_id", pl.col("bodyweight_share").fill_null(0.0))
    frame = (
        before.join(after, on="row", how="left")
        .join(profile, on="client_id", how="left")
        .join(share, on="exercise_id", how="left")
        .sort("row")
    )
    bodyweight = pl.coalesce("bodyweight_kg", "later_kg", "profile_kg")
    moved = (
        pl.when(pl.col("bodyweight_share") > 0)
        .then(bodyweight * pl.col("bodyweight_share") + pl.col("load_kg"))
        .otherwise(pl.col("load_kg"))
    )
    return frame.with_columns(moved.clip(lower_bound=0).alias("system_kg")).drop(
        "row", "bodyweight_kg", "later_kg", "profile_kg", "bodyweight_share"
    )

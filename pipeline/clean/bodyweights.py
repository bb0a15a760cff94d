"""What is moved in exercises that move the body: bodyweight share + load.

Bodyweight is the newest dated value up to the session's day (check-ins, or a column of the log), else what
clients.csv says [common practice]; never a later one, which nobody knew that day. Dumbbell lifts stay per hand.
"""

from __future__ import annotations

import polars as pl

from pipeline.clean.cells.loads import KG_PER_LB

LIGHTEST_KG, HEAVIEST_KG = 25.0, 350.0


def bodyweight_kg() -> pl.Expr:
    """Kilograms of `bodyweight_text`, in the unit it names, else that of the set's load; empty where none is known."""
    text = pl.col("bodyweight_text").str.to_lowercase()
    number = (
        text.str.extract(r"(\d{2,3}(?:[.,]\d+)?)", 1).str.replace(",", ".").cast(pl.Float64, strict=False)
    )
    unit = (
        pl.when(text.str.contains("lb|pound|#"))
        .then(pl.lit("lb"))
        .when(text.str.contains("k"))
        .then(pl.lit("kg"))
        .otherwise(pl.col("a_load_unit"))
    )
    kg = pl.when(unit == "kg").then(number).when(unit == "lb").then(number * KG_PER_LB)
    return pl.when(kg.is_between(LIGHTEST_KG, HEAVIEST_KG)).then(kg)


def with_system_kg(
    sets: pl.DataFrame, check_in: pl.DataFrame, client: pl.DataFrame, exercise: pl.DataFrame
) -> pl.DataFrame:
    """`sets` with `system_kg`; empty where the load or a bodyweight that matters is unknown, never below zero."""
    if not sets.height:
        return sets.with_columns(pl.lit(None, dtype=pl.Float64).alias("system_kg"))
    weighed = pl.concat(
        [
            check_in.select(
                "client_id",
                pl.col("check_in_date").alias("session_date"),
                pl.col("bodyweight_kg").alias("dated_kg"),
            ),
            sets.select("client_id", "session_date", pl.col("bodyweight_kg").alias("dated_kg")),
        ]
    ).drop_nulls("dated_kg")
    weighed = (
        weighed.group_by("client_id", "session_date").agg(pl.col("dated_kg").mean()).sort("session_date")
    )
    frame = sets.with_row_index("row").sort("session_date", maintain_order=True)
    before = frame.join_asof(
        weighed, on="session_date", by="client_id", strategy="backward", check_sortedness=False
    )
    profile = client.select("client_id", pl.col("bodyweight_kg").alias("profile_kg"))
    share = exercise.select("exercise_id", pl.col("bodyweight_share").fill_null(0.0))
    frame = (
        before.join(profile, on="client_id", how="left").join(share, on="exercise_id", how="left").sort("row")
    )
    bodyweight = pl.coalesce("dated_kg", "profile_kg")
    moved = (
        pl.when(pl.col("bodyweight_share") > 0)
        .then(bodyweight * pl.col("bodyweight_share") + pl.col("load_kg"))
        .otherwise(pl.col("load_kg"))
    )
    return frame.with_columns(moved.clip(lower_bound=0).alias("system_kg")).drop(
        "row", "dated_kg", "profile_kg", "bodyweight_share"
    )

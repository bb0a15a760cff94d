"""Left and right written as two records: one set, with both sides' repetitions."""

from __future__ import annotations

import polars as pl

from pipeline.clean.exercise_texts import parse_side


def join_sides(frame: pl.DataFrame) -> pl.DataFrame:
    """The left record of a pair carries both sides, the right one gets the status `other_side`.

    Paired are the nth left and the nth right set of an exercise on a day at the same load. A side without its
    other stays a set of its own, its side noted in `a_reps_left` or `a_reps_right`.
    """
    sides = {text: parse_side(text) for text in frame["side_text"].drop_nulls().unique().to_list()}
    side = (
        pl.when(pl.col("cell_side").fill_null("") != "")
        .then(pl.col("cell_side"))
        .otherwise(pl.col("side_text").replace_strict(sides, default="", return_dtype=pl.String))
    )
    frame = frame.with_columns(side.alias("side"))
    one_sided = frame.filter(pl.col("side").is_in(["left", "right"]) & (pl.col("status") == "set"))
    if not one_sided.height:
        return frame
    keys = ["client_id", "session_date", "exercise_id", "a_load_kg"]
    numbered = one_sided.with_columns(pl.int_range(pl.len()).over([*keys, "side"]).alias("nth")).select(
        *keys, "nth", "side", "source_sheet", "source_row", "part_index", "a_reps"
    )
    left = numbered.filter(pl.col("side") == "left")
    right = numbered.filter(pl.col("side") == "right").select(
        *keys,
        "nth",
        pl.col("a_reps").alias("right_reps"),
        pl.col("source_sheet").alias("right_sheet"),
        pl.col("source_row").alias("right_row"),
        pl.col("part_index").alias("right_part"),
    )
    pairs = left.join(right, on=[*keys, "nth"], how="inner", nulls_equal=True)
    place = ["source_sheet", "source_row", "part_index"]
    frame = frame.join(pairs.select(*place, "right_reps"), on=place, how="left", maintain_order="left")
    others = pairs.select(
        pl.col("right_sheet").alias("source_sheet"),
        pl.col("right_row").alias("source_row"),
        pl.col("right_part").alias("part_index"),
        pl.lit(value=True).alias("is_other_side"),
    )
    frame = frame.join(others, on=place, how="left", maintain_order="left")
    differ = pl.col("right_reps").is_not_null() & (pl.col("right_reps") != pl.col("a_reps"))
    return frame.with_columns(
        pl.when(differ).then(pl.col("a_reps")).otherwise(pl.col("a_reps_left")).alias("a_reps_left"),
        pl.when(differ).then(pl.col("right_reps")).otherwise(pl.col("a_reps_right")).alias("a_reps_right"),
        pl.when(differ)
        .then(pl.min_horizontal("a_reps", "right_reps"))
        .otherwise(pl.col("a_reps"))
        .alias("a_reps"),
        pl.when(pl.col("is_other_side"))
        .then(pl.lit("other_side"))
        .otherwise(pl.col("status"))
        .alias("status"),
    ).drop("right_reps", "is_other_side")

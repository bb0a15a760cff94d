"""The order of sets within an exercise and session; the loads of a drop set share one number."""

from __future__ import annotations

import polars as pl


def with_set_order(sets: pl.DataFrame) -> pl.DataFrame:
    """`set_index` and `drop_index` for sets in reading order (`entry`).

    A row written as a drop belongs to the set before it when that set's load is higher; the first row of a drop
    set begins it. Notations that hold a whole drop set bring their `drop_index` along. Where every set of a file's
    session has a number of its own, the numbers order them, wherever their rows stand.
    """
    group = ["client_id", "session_date", "exercise_id"]
    ordered = _by_number(sets.sort("entry"), [*group, "source_file"])
    is_drop = pl.col("a_set_kind") == "drop"
    before = pl.col("a_load_kg").shift(1).over(group)
    follows = is_drop & (
        (pl.col("drop_index").fill_null(1) > 1)
        | (
            before.is_not_null()
            & (pl.col("a_load_kg") < before)
            & ~pl.col("is_counted").fill_null(value=False)
        )
    )
    ordered = ordered.with_columns(follows.fill_null(value=False).alias("follows"))
    ordered = ordered.with_columns(
        (~pl.col("follows")).cum_sum().over(group).clip(lower_bound=1).alias("set_index")
    )
    return (
        ordered.with_columns(
            (pl.int_range(pl.len()).over([*group, "set_index"]) + 1).alias("drop_index"),
            pl.col("set_index").cast(pl.Int64),
        )
        .drop("follows")
        .sort("entry")
    )


def _by_number(sets: pl.DataFrame, group: list[str]) -> pl.DataFrame:
    """Sets in reading order, but those of a group whose numbers all differ in the order of the numbers."""
    number = pl.col("set_number_text").str.strip_chars().str.extract(r"^(\d{1,2})(?:\.0)?$").cast(pl.Int64)
    is_numbered = (number.is_not_null().all() & (number.n_unique() == pl.len())).over(group)
    begins = pl.col("entry").min().over(group)
    place = pl.when(is_numbered).then(number).otherwise(pl.col("entry"))
    return sets.sort(begins, place, maintain_order=True)

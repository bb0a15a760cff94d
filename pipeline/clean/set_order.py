"""The order of sets within an exercise and session; the loads of a drop set share one number."""

from __future__ import annotations

import polars as pl

from pipeline.contract.group_numbers import group_numbers

_NEEDED = ("entry", "a_set_kind", "a_load_kg", "drop_index", "is_counted", "set_number_text")


def with_set_order(sets: pl.DataFrame) -> pl.DataFrame:
    """`set_index` and `drop_index` for sets in reading order (`entry`).

    A row written as a drop belongs to the set before it when that set's load is higher; the first row of a drop
    set begins it. Notations that hold a whole drop set bring their `drop_index` along. Where every set of a file's
    session has a number of its own, the numbers order them, wherever their rows stand.
    """
    sets = sets.sort("entry")
    keys = ["client_id", "session_date", "exercise_id"]
    narrow = sets.select(
        *_NEEDED,
        group_numbers(sets, keys, "session_lift"),
        group_numbers(sets, [*keys, "source_file"], "in_file"),
    )
    order = _orders(narrow)
    return sets.with_columns(order["set_index"], order["drop_index"])


def _orders(sets: pl.DataFrame) -> pl.DataFrame:
    group = "session_lift"
    ordered = _by_number(sets)
    is_drop = pl.col("a_set_kind") == "drop"
    if not sets.select(is_drop.any()).item():
        place = _place_within(ordered, group)
        in_order = ordered.select("entry", place.alias("set_index"), pl.lit(1, pl.Int64).alias("drop_index"))
        return in_order if ordered["entry"].is_sorted() else in_order.sort("entry")
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
            (pl.int_range(pl.len()).over([group, "set_index"]) + 1).alias("drop_index"),
            pl.col("set_index").cast(pl.Int64),
        )
        .sort("entry")
        .select("entry", "set_index", "drop_index")
    )


def _place_within(ordered: pl.DataFrame, group: str) -> pl.Expr:
    """1, 2, 3 … within each group, by the row its run begins with where groups stand whole."""
    row = pl.int_range(pl.len(), dtype=pl.Int64)
    begins = pl.col(group).ne_missing(pl.col(group).shift(1))
    if not ordered.select(begins.sum() == pl.col(group).n_unique()).item():
        return row.over(group) + 1
    return row - pl.when(begins).then(row).forward_fill() + 1


def _by_number(sets: pl.DataFrame) -> pl.DataFrame:
    """Sets in reading order, but those of a group whose numbers all differ in the order of the numbers."""
    texts = sets.select(pl.col("set_number_text").unique())
    number = pl.col("set_number_text").str.strip_chars().str.extract(r"^(\d{1,2})(?:\.0)?$").cast(pl.Int64)
    sets = sets.join(
        texts.with_columns(number.alias("number")),
        on="set_number_text",
        how="left",
        nulls_equal=True,
        maintain_order="left",
    )
    # nothing to sort where the numbers of every group rise in reading order, each but once
    if sets.select(_rises()).item():
        return sets
    number = pl.col("number")
    is_numbered = (number.is_not_null().all() & (number.n_unique() == pl.len())).over("in_file")
    begins = pl.col("entry").min().over("in_file")
    place = pl.when(is_numbered).then(number).otherwise(pl.col("entry"))
    return sets.sort(begins, place, maintain_order=True)


def _rises() -> pl.Expr:
    """True where groups stand whole, and the numbers of each rise from row to row."""
    same = pl.col("in_file") == pl.col("in_file").shift(1)
    stands_whole = (~same).fill_null(value=True).sum() == pl.col("in_file").n_unique()
    return stands_whole & (~same | (pl.col("number") > pl.col("number").shift(1))).fill_null(value=True).all()

"""Groups told apart by one number instead of several texts, so that windows and joins compare numbers.

The rows of a group mostly stand together (the sets of an exercise, the records of a file). So texts are compared
with the row above only, and groups are looked for among the first rows of these runs.
"""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl


def group_numbers(frame: pl.DataFrame, keys: Sequence[str], name: str = "group") -> pl.Series:
    """A number for each row, the same for rows equal in all `keys` (nothing equals nothing); from 0, in order of
    first appearance.
    """
    return distinct_rows(frame, keys, name)[0]


def distinct_rows(
    frame: pl.DataFrame, keys: Sequence[str], name: str = "group"
) -> tuple[pl.Series, pl.DataFrame]:
    """The `group_numbers`, and the keys of each group in the order of the numbers."""
    if not frame.height:
        return pl.Series(name, [], dtype=pl.UInt32), frame.select(keys)
    begins = frame.select(_begins(keys).alias("begins"))["begins"]
    runs = frame.select(keys).filter(begins)
    groups = runs.unique(maintain_order=True).with_row_index(name)
    of_run = runs.join(groups, on=list(keys), how="left", nulls_equal=True, maintain_order="left")[name]
    return of_run.gather(begins.cum_sum() - 1), groups.drop(name)


def with_found(frame: pl.DataFrame, numbers: pl.Series, found: pl.DataFrame) -> pl.DataFrame:
    """`frame` with the columns of `found`, which has a row for each group, beside its rows."""
    return frame.with_columns(found[numbers] if frame.height else found.head(0))


def run_numbers(frame: pl.DataFrame, keys: Sequence[str], name: str = "run") -> pl.Series:
    """A number for each row, the same for rows that stand together and are equal in all `keys`; from 0."""
    return frame.select((_begins(keys).cum_sum() - 1).alias(name)).to_series()


def _begins(keys: Sequence[str]) -> pl.Expr:
    """True where a row differs from the one above it, and in the first."""
    differs = (pl.col(key).ne_missing(pl.col(key).shift(1)) for key in keys)
    return pl.any_horizontal(*differs, pl.int_range(pl.len()) == 0)

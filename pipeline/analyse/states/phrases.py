"""Figures in words: numbers with their signs and nouns, and what each signal says in half a sentence.

All of it is polars expressions over columns of signals, so that a large roster's history is worded in seconds.
"""

from __future__ import annotations

import polars as pl


def signed(column: pl.Expr, digits: int = 1) -> pl.Expr:
    """A number with its sign, true minus sign, fixed rounding."""
    size = column.abs().round(digits)
    size = size.cast(pl.Int64).cast(pl.String) if digits == 0 else size.cast(pl.String)
    return pl.when(column.round(digits) < 0).then(pl.lit("−")).otherwise(pl.lit("+")) + size


def whole(column: pl.Expr) -> pl.Expr:
    """A number without decimals."""
    return column.round(0).cast(pl.Int64).cast(pl.String)


def count(column: pl.Expr, one: str, many: str) -> pl.Expr:
    """A count with its noun."""
    return whole(column) + pl.when(column.round(0) == 1).then(pl.lit(f" {one}")).otherwise(pl.lit(f" {many}"))


def by_state(choices: dict[str, pl.Expr]) -> pl.Expr:
    """The expression of the row's state; empty text for a state without one."""
    out = pl.lit("")
    for state, expression in choices.items():
        out = pl.when(pl.col("state") == state).then(expression).otherwise(out)
    return out


SLOPE_LOW = pl.col("slope_raw") - 1.645 * pl.col("slope_se")
SLOPE_HIGH = pl.col("slope_raw") + 1.645 * pl.col("slope_se")
SLOPE_TEXT = pl.format(
    "{} % a week over eight weeks, {} pooled (90 % interval {} to {})",
    signed(pl.col("slope_raw"), 2),
    count(pl.col("n_lifts"), "lift", "lifts"),
    signed(SLOPE_LOW, 2),
    signed(SLOPE_HIGH, 2),
)
STALL_PCT = (100 / (1 + (-pl.col("stall_chance")).exp())).clip(1, 99)
SLUMP_PCT = (100 / (1 + (-pl.col("slump_chance")).exp())).clip(1, 99)
STALL_TEXT = pl.format(
    "by all lifts together a standstill of two weeks and more is {} % likely; while getting on this client "
    "gains about {} % a week",
    whole(STALL_PCT),
    pl.col("own_rate").round(2).cast(pl.String),
)
SLUMP_TEXT = pl.format(
    "by all lifts and check-ins together it is {} % likely that strength is below the client's own line",
    whole(SLUMP_PCT),
)
CHANGE_TEXT = pl.format(
    "strength of the last two weeks {} % against the six before, {} % of it falling by more than 2 %",
    signed(pl.col("shown_change_2")),
    whole(100 * pl.col("shown_breadth_2")),
)
STRAIN_TEXT = pl.format(
    "check-ins {} standard deviations {} tired than usual",
    pl.col("strain_2").abs().round(1).cast(pl.String),
    pl.when(pl.col("strain_2") >= 0).then(pl.lit("more")).otherwise(pl.lit("less")),
)
DOSE_TEXT = pl.format(
    "sets of the last three weeks {} % against the eight before",
    signed(100 * (pl.col("dose_3").exp() - 1), 0),
)
ATTENDANCE_TEXT = pl.format(
    "{} of {} planned sessions missed in four weeks, {} % of the planned sets done",
    whole(pl.col("missed_4").fill_null(0)),
    whole(pl.col("planned_4").fill_null(0)),
    whole(100 * pl.col("sets_done_4").fill_null(pl.col("attendance_4")).fill_null(0)),
)

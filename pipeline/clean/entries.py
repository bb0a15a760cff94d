"""Entries: every layout unfolded to one row a set, still as text; and the records that are no set.

What arrives: a sheet and its layouts. What leaves: an `Unfolded`: entries with the texts of each set, the rule
by which other records are ignored, and the records whose notation nobody can read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import polars as pl

ENTRY_SCHEMA: dict[str, pl.DataType] = {
    "source_row": pl.Int64(),
    "part_index": pl.Int64(),
    "client_text": pl.String(),
    "date_text": pl.String(),
    "exercise_text": pl.String(),
    "set_number_text": pl.String(),
    "kind_text": pl.String(),
    "load_text": pl.String(),
    "header_unit": pl.String(),
    "unit_text": pl.String(),
    "is_per_hand": pl.Boolean(),
    "reps_text": pl.String(),
    "left_text": pl.String(),
    "right_text": pl.String(),
    "duration_text": pl.String(),
    "duration_unit": pl.String(),
    "rpe_text": pl.String(),
    "rir_text": pl.String(),
    "effort_text": pl.String(),
    "note": pl.String(),
    "superset_text": pl.String(),
    "side_text": pl.String(),
    "session_minutes_text": pl.String(),
    "session_rpe_text": pl.String(),
    "bodyweight_text": pl.String(),
    "taken_back": pl.String(),  # the words of a line that takes the load back
    "drop_index": pl.Int64(),
    "is_counted": pl.Boolean(),
    "problem": pl.String(),
    "problem_column": pl.String(),
    "problem_text": pl.String(),
}


@dataclass
class Unfolded:
    """The entries of one sheet and the fate of its other records (record number → rule).

    `question`: "columns" where a table holds sets but nobody knows its columns. `remarks` are lines of words among
    the sets, with the texts of client, date and exercise above them (record, client, date, exercise, words).
    """

    entries: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=ENTRY_SCHEMA))
    ignored: dict[int, str] = field(default_factory=dict)
    layout: str = ""
    question: str = ""
    remarks: list[tuple[int, str, str, str, str]] = field(default_factory=list)


def with_schema(frame: pl.DataFrame) -> pl.DataFrame:
    """The frame with all entry columns in order, missing ones empty."""
    missing = [
        pl.lit(None, dtype=kind).alias(name)
        for name, kind in ENTRY_SCHEMA.items()
        if name not in frame.columns
    ]
    return frame.with_columns(missing).select(
        pl.col(name).cast(kind, strict=False) for name, kind in ENTRY_SCHEMA.items()
    )


def join_entries(frames: list[pl.DataFrame]) -> pl.DataFrame:
    """Entries of several layouts as one frame, parts of a record numbered in order."""
    frames = [frame for frame in frames if frame.height]
    if not frames:
        return pl.DataFrame(schema=ENTRY_SCHEMA)
    joined = pl.concat(frames)
    if joined.select((pl.col("source_row").diff() > 0).all()).item():
        return joined.with_columns(pl.lit(1, dtype=pl.Int64).alias("part_index"))
    joined = joined.sort("source_row", "part_index", maintain_order=True)
    return joined.with_columns((pl.int_range(pl.len()).over("source_row") + 1).alias("part_index"))


def with_refused(entries: pl.DataFrame, refused: Mapping[int, tuple[str, str, str]]) -> pl.DataFrame:
    """Entries with the reason code, column and text for which their records are refused."""
    if not refused:
        return entries
    is_refused = pl.col("source_row").is_in(list(refused))
    return entries.with_columns(
        pl.when(is_refused)
        .then(
            pl.col("source_row").replace_strict(
                {row: reason[index] for row, reason in refused.items()}, default=None, return_dtype=pl.String
            )
        )
        .otherwise(pl.col(name))
        .alias(name)
        for index, name in enumerate(("problem", "problem_column", "problem_text"))
    )

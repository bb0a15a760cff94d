"""Polars frames with exactly the columns and types of a contract table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import polars as pl

from pipeline.contract.column import ColumnType, Table

POLARS_TYPE: dict[ColumnType, pl.DataType] = {
    "text": pl.String(),
    "whole": pl.Int64(),
    "real": pl.Float64(),
    "yes_no": pl.Boolean(),
    "date": pl.Date(),
    "time": pl.Datetime(),
}


def polars_schema(table: Table) -> dict[str, pl.DataType]:
    """Column name → polars type, in the table's order."""
    return {column.name: POLARS_TYPE[column.type] for column in table.columns}


def frame_of(
    table: Table, rows: Sequence[Mapping[str, object]] | Sequence[tuple[object, ...]]
) -> pl.DataFrame:
    """Rows (mappings by column name, or tuples in the table's order) as a frame of the table."""
    if rows and isinstance(rows[0], tuple):
        return pl.DataFrame(rows, orient="row", schema=polars_schema(table), strict=False)
    return pl.DataFrame(rows, schema=polars_schema(table), strict=False)


def as_table(table: Table, frame: pl.DataFrame) -> pl.DataFrame:
    """`frame` with exactly the table's columns and types; missing ones are empty, others are left out."""
    schema = polars_schema(table)
    if frame.width == 0:
        return pl.DataFrame(schema=schema)
    return frame.select(
        (pl.col(name) if name in frame.columns else pl.lit(None)).cast(kind, strict=False).alias(name)
        for name, kind in schema.items()
    )

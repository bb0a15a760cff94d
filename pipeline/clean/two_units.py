"""A column for kilograms and one for pounds: one load, said in one unit or in both."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from pipeline.clean.headers import HeaderCell
from pipeline.clean.layout import Layout


def join_units(body: pl.DataFrame, layout: Layout) -> tuple[pl.DataFrame, Layout]:
    """The records with both columns' texts in the first one, each with its unit: `70 kg (154 lb)`, `155 lb`.

    Where both are filled and do not say the same, the load is a contradiction like any other cell that says two.
    """
    loads = [
        (column, cell)
        for column, cell in layout.columns.items()
        if cell.role == "load" and not cell.set_number and not cell.exercise_text and column in body.columns
    ]
    if len(loads) != 2 or {cell.unit for _, cell in loads} != {"kg", "lb"}:
        return body, layout
    (first, one), (second, other) = loads
    kept, further = pl.col(first).str.strip_chars(), pl.col(second).str.strip_chars()
    is_there, is_further = kept.str.contains(r"\d"), further.str.contains(r"\d")
    text = (
        pl.when(is_there & is_further)
        .then(pl.concat_str(kept, pl.lit(f" {one.unit} ("), further, pl.lit(f" {other.unit})")))
        .when(is_further)
        .then(pl.concat_str(further, pl.lit(f" {other.unit}")))
        .otherwise(pl.col(first))
    )
    columns = {**layout.columns, second: HeaderCell("ignored")}
    return body.with_columns(text.alias(first)), replace(layout, columns=columns)

"""The same word for amounts at the head of several columns of one table: sets in order, or nobody knows what."""

from __future__ import annotations

import polars as pl

from pipeline.clean.cells.folding import fold
from pipeline.clean.layout import AMOUNTS, Layout


def repeated_amounts(body: pl.DataFrame, layout: Layout) -> dict[int, tuple[str, str, str]]:
    """Records with figures in a second column of the same name: reason code, column and the name.

    `kg, Reps, kg, Reps` may be two sets, or planned and done, or two lifts; the first alone is not the record.
    """
    if layout.kind != "set_rows":
        return {}
    refused: dict[int, tuple[str, str, str]] = {}
    seen: set[tuple[str, str]] = set()
    for column, cell in layout.columns.items():
        header = layout.header_texts.get(column, "").strip()
        key = cell.role, fold(header)
        if cell.role not in AMOUNTS or cell.set_number or not header or column not in body.columns:
            continue
        if key in seen:
            rows = body.filter(pl.col(column).is_not_null())["source_row"].to_list()
            refused |= dict.fromkeys(rows, ("columns_repeated", "record", header))
        seen.add(key)
    return refused

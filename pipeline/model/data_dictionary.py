"""The data dictionary: every column of every published table with its unit and meaning."""

from __future__ import annotations

import polars as pl

from pipeline.contract import TABLES


def data_dictionary() -> pl.DataFrame:
    """The contract as the table `data_dictionary`, one row a column, in published order."""
    return pl.DataFrame(
        [
            {
                "table_name": table.name,
                "grain": table.grain,
                "column_name": column.name,
                "type": column.type,
                "unit": column.unit or None,
                "meaning": column.meaning,
            }
            for table in TABLES.values()
            for column in table.columns
        ],
        schema={
            "table_name": pl.String,
            "grain": pl.String,
            "column_name": pl.String,
            "type": pl.String,
            "unit": pl.String,
            "meaning": pl.String,
        },
    )

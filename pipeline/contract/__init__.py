"""The contract: every published table with its grain, key, columns, units and meaning.

Stages hand these tables to each other; dashboards, report, exports and scripts read them. A column is
added here first. `TABLES` maps name to table, in the order they are filled.
"""

from __future__ import annotations

from pipeline.contract import inputs, records, training, verdicts
from pipeline.contract.column import DUCKDB_TYPE, Column, Table

TABLES: dict[str, Table] = {
    table.name: table for group in (inputs, records, training, verdicts) for table in group.TABLES
}

__all__ = ["DUCKDB_TYPE", "TABLES", "Column", "Table", "inputs", "records", "training", "verdicts"]

"""Reads rows of the published history."""

from __future__ import annotations

from typing import Any

import duckdb

Rows = list[dict[str, Any]]


def rows(con: duckdb.DuckDBPyConnection, sql: str, *values: object) -> Rows:
    """The query's rows as dictionaries."""
    result = con.execute(sql, list(values))
    names = [column[0] for column in result.description or ()]
    return [dict(zip(names, row, strict=True)) for row in result.fetchall()]

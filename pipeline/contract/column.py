"""The shape of the contract: a table is a grain, a key and columns with type, unit and meaning."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

ColumnType = Literal["text", "whole", "real", "yes_no", "date", "time"]

DUCKDB_TYPE: dict[ColumnType, str] = {
    "text": "varchar",
    "whole": "bigint",
    "real": "double",
    "yes_no": "boolean",
    "date": "date",
    "time": "timestamp",
}


@dataclass(frozen=True)
class Column:
    """One column: what it holds, in which unit, within which bounds.

    `low` and `high` bound what is possible at all (a row outside is refused), not what is usual.
    """

    name: str
    type: ColumnType
    meaning: str
    unit: str = ""
    required: bool = False
    low: float | None = None
    high: float | None = None
    allowed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Table:
    """One table: `grain` says what a row is, `key` which columns make it unique (empty: none)."""

    name: str
    grain: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = field(default=())

    @property
    def column_names(self) -> list[str]:
        """Column names in published order."""
        return [column.name for column in self.columns]

    def column(self, name: str) -> Column:
        """The column called `name`; KeyError if the contract has none."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(f"{self.name} has no column {name!r}")

    def create_sql(self, schema: str = "", types: Mapping[str, str] | None = None) -> str:
        """`create table` in DuckDB's types, columns in order; `types` has other types for some columns."""
        prefix = f"{schema}." if schema else ""
        other = types or {}
        body = ",\n  ".join(f"{c.name} {other.get(c.name, DUCKDB_TYPE[c.type])}" for c in self.columns)
        return f"create table {prefix}{self.name} (\n  {body}\n)"


def text(name: str, meaning: str, *, required: bool = False, allowed: tuple[str, ...] = ()) -> Column:
    """A text column."""
    return Column(name, "text", meaning, required=required, allowed=allowed)


def whole(
    name: str,
    meaning: str,
    unit: str = "",
    *,
    required: bool = False,
    low: float | None = None,
    high: float | None = None,
) -> Column:
    """A column of whole numbers."""
    return Column(name, "whole", meaning, unit, required, low, high)


def real(
    name: str,
    meaning: str,
    unit: str = "",
    *,
    required: bool = False,
    low: float | None = None,
    high: float | None = None,
) -> Column:
    """A column of real numbers (double)."""
    return Column(name, "real", meaning, unit, required, low, high)


def yes_no(name: str, meaning: str, *, required: bool = False) -> Column:
    """A yes/no column."""
    return Column(name, "yes_no", meaning, required=required)


def date(name: str, meaning: str, *, required: bool = False) -> Column:
    """A calendar-day column (the client's local day)."""
    return Column(name, "date", meaning, required=required)


def time(name: str, meaning: str) -> Column:
    """A moment, UTC."""
    return Column(name, "time", meaning)

"""Runs the models of sql/ (and those that need statistics in Python) in dependency order.

What arrives: a DuckDB connection that holds the input and record tables of the contract.
What leaves: the same connection with every model's table. A model whose name is in the contract becomes a
table of exactly the contract's columns and types; any other is a temporary table, gone when the
connection closes.

A model's header comment names what it reads (`-- reads: a, b`); a test holds that against the SQL itself.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import duckdb
import polars as pl

from pipeline.contract import TABLES

SQL_FOLDER = Path(__file__).resolve().parents[2] / "sql"
MODEL_FOLDERS = ("staging", "marts", "published")

_HEADER = re.compile(r"^--\s*(grain|reads|severity)\s*:\s*(.*)$", re.MULTILINE)


@dataclass(frozen=True)
class Model:
    """A table and how it is made: `sql` for a model of sql/, `build` for one that needs Python.

    `build` gets the connection, reads with it, and returns a frame with the table's columns.
    """

    name: str
    reads: tuple[str, ...]
    sql: str = ""
    build: Callable[[duckdb.DuckDBPyConnection], pl.DataFrame] | None = None


def read_header(sql: str) -> dict[str, str]:
    """The `key: value` lines of a model's header comment."""
    return {key: value.strip() for key, value in _HEADER.findall(sql)}


def read_models(folder: Path = SQL_FOLDER) -> list[Model]:
    """The models of sql/; ValueError for a file without a `reads:` line or a name used twice."""
    models: list[Model] = []
    for layer in MODEL_FOLDERS:
        for path in sorted((folder / layer).glob("*.sql")):
            sql = path.read_text(encoding="utf-8")
            header = read_header(sql)
            if "reads" not in header or "grain" not in header:
                raise ValueError(f"{path.name} needs '-- grain:' and '-- reads:' lines in its header")
            reads = tuple(name.strip() for name in header["reads"].split(",") if name.strip())
            models.append(Model(path.stem, reads, sql.strip().rstrip(";")))
    names = [model.name for model in models]
    twice = {name for name in names if names.count(name) > 1}
    if twice:
        raise ValueError(f"model names used twice: {sorted(twice)}")
    return models


def in_order(models: Sequence[Model]) -> list[Model]:
    """The models so that each comes after those it reads; ValueError when they read in a circle."""
    by_name = {model.name: model for model in models}
    sorter: TopologicalSorter[str] = TopologicalSorter()
    for model in models:
        sorter.add(model.name, *(name for name in model.reads if name in by_name))
    try:
        return [by_name[name] for name in sorter.static_order()]
    except CycleError as err:
        raise ValueError(f"models read each other in a circle: {err.args[1]}") from err


def write_table(
    con: duckdb.DuckDBPyConnection, name: str, frame: pl.DataFrame, types: Mapping[str, str] | None = None
) -> None:
    """Make table `name` from `frame`; a contract table gets the contract's columns, missing ones empty.

    `types` has other types than the contract's for columns of some names.
    """
    columns = ", ".join(
        f"cast({column} as {types[column]}) as {column}" if types and column in types else f'"{column}"'
        for column in frame.columns
    )
    con.register("incoming_frame", frame.to_arrow())
    try:
        _create(con, name, f"select {columns} from incoming_frame", types)  # noqa: S608 - names of models
    finally:
        con.unregister("incoming_frame")


def run_models(
    con: duckdb.DuckDBPyConnection,
    models: Iterable[Model],
    on_model: Callable[[str], None] = lambda name: None,
    types: Mapping[str, str] | None = None,
) -> None:
    """Make every model's table, in dependency order; `on_model` is told each name before it is made.

    `types` as in `write_table`.
    """
    for model in in_order(list(models)):
        on_model(model.name)
        if model.build is not None:
            write_table(con, model.name, model.build(con), types)
        else:
            _create(con, model.name, model.sql, types)


def _create(
    con: duckdb.DuckDBPyConnection, name: str, select: str, types: Mapping[str, str] | None = None
) -> None:
    if name not in TABLES:
        con.execute(f"create or replace temp table {name} as {select}")
        return
    con.execute(f"drop table if exists {name}")
    con.execute(TABLES[name].create_sql(types=types))
    con.execute(f"insert into {name} by name {select}")

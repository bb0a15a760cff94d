"""The tables of a history under construction: filled part by part, parts taken out to be redone.

A part is some clients and the files that hold their records. The history stands as database `out` beside the
connection's own memory, where models are run on one part after the other.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

import duckdb
import polars as pl

from pipeline.contract import TABLES, training, verdicts

RECORD_TABLES = (
    "logged_set",
    "rejected_row",
    "duplicate_row",
    "waiting_row",
    "ignored_row",
    "open_question",
    "name_resolution",
    "session_note",
    "pain_note",
)
_BY_FILE = ("rejected_row", "duplicate_row", "waiting_row", "ignored_row")


@contextmanager
def open_history_tables(path: Path, memory_limit: str = "2GB") -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to work in, with the database at `path` (made where there is none) attached as `out`."""
    with duckdb.connect() as con:
        con.execute(f"set memory_limit = '{memory_limit}'")
        con.execute("set preserve_insertion_order = true")
        spill = path.with_name(f"{path.name}.tmp")
        con.execute("set temp_directory = ?", [str(spill)])
        con.execute(f"attach '{_quoted(path)}' as out")
        yield con
        con.execute("detach out")


def _quoted(path: Path) -> str:
    return str(path).replace("'", "''")


def make_tables(con: duckdb.DuckDBPyConnection) -> None:
    """Every table of the contract in `out` that is not there yet, empty."""
    there = set(_tables_of(con, "out"))
    for name, table in TABLES.items():
        if name not in there:
            con.execute(table.create_sql("out"))


def _tables_of(con: duckdb.DuckDBPyConnection, database: str) -> list[str]:
    rows = con.execute("select table_name from duckdb_tables() where database_name = ?", [database])
    return [name for (name,) in rows.fetchall()]


def append(con: duckdb.DuckDBPyConnection, name: str, frame: pl.DataFrame) -> None:
    """Rows for a table of `out`; columns the frame lacks stay empty."""
    if frame.height:
        con.register("incoming_frame", frame.to_arrow(compat_level=pl.CompatLevel.newest()))
        try:
            con.execute(f"insert into out.{name} by name select * from incoming_frame")  # noqa: S608
        finally:
            con.unregister("incoming_frame")


def replace(con: duckdb.DuckDBPyConnection, name: str, frame: pl.DataFrame) -> None:
    """The rows of a table of `out`, whatever it held before."""
    con.execute(f"delete from out.{name}")  # noqa: S608 - names of the contract
    append(con, name, frame)


def retract_records(con: duckdb.DuckDBPyConnection, clients: Collection[str], files: Collection[str]) -> None:
    """Take out what was recorded of these clients from these files of the inbox."""
    with _named(con, clients, files):
        con.execute(
            "delete from out.open_question where question_id in (select question_id from out.waiting_row"
            " where source_area = 'inbox' and source_file in (select source_file from its_files))"
        )
        for name in RECORD_TABLES:
            if name in _BY_FILE:
                con.execute(
                    f"delete from out.{name} where source_area = 'inbox'"  # noqa: S608
                    " and source_file in (select source_file from its_files)"
                )
            elif name != "open_question":
                inbox = " and source_area = 'inbox'" if name == "pain_note" else ""
                con.execute(
                    f"delete from out.{name} where coalesce(client_id, '') in"  # noqa: S608
                    f" (select client_id from its_clients){inbox}"
                )


def retract_models(con: duckdb.DuckDBPyConnection, tables: Collection[str], clients: Collection[str]) -> None:
    """Take out what models made of these clients."""
    with _named(con, clients, ()):
        for name in tables:
            con.execute(
                f"delete from out.{name} where client_id in (select client_id from its_clients)"  # noqa: S608
            )


def empty_models(con: duckdb.DuckDBPyConnection) -> None:
    """Take out what models made of anyone."""
    for table in (*training.TABLES, *verdicts.TABLES):
        con.execute(f"delete from out.{table.name}")  # noqa: S608 - names of the contract


@contextmanager
def _named(
    con: duckdb.DuckDBPyConnection, clients: Collection[str], files: Collection[str]
) -> Iterator[None]:
    for name, column, values in (
        ("its_clients", "client_id", clients),
        ("its_files", "source_file", files),
    ):
        con.register(name, pl.DataFrame({column: pl.Series(sorted(values), dtype=pl.String)}).to_arrow())
    try:
        yield
    finally:
        con.unregister("its_clients")
        con.unregister("its_files")


def make_key_types(
    con: duckdb.DuckDBPyConnection, names: Sequence[str], clients: Collection[str] | None
) -> dict[str, str]:
    """Types for the clients (all, or those named), exercises and muscles of these tables of `out`, by column
    name.

    They are few and stand in every row of every model: as a type of their own they are joined and grouped as
    small numbers, and still read, sorted and printed as the texts they are.
    """
    its_clients = "" if clients is None else " where client_id in (select client_id from its_clients)"
    with _named(con, clients or (), ()):
        for column, kind, part in (
            ("client_id", "client_key", its_clients),
            ("exercise_id", "exercise_key", ""),
            ("muscle", "muscle_key", ""),
        ):
            tables = [name for name in names if column in TABLES[name].column_names]
            found = " union ".join(f"select {column} from out.{name}{part}" for name in tables)  # noqa: S608
            con.execute(
                f"create type {kind} as enum (select {column} from ({found})"  # noqa: S608
                f" where {column} is not null order by {column})"
            )
    return {
        "client_id": "client_key",
        "exercise_id": "exercise_key",
        "done_exercise_id": "exercise_key",
        "muscle": "muscle_key",
    }


def take_part(
    con: duckdb.DuckDBPyConnection,
    names: Sequence[str],
    clients: Collection[str] | None,
    types: Mapping[str, str] | None = None,
    left_out: Mapping[str, Collection[str]] | None = None,
) -> None:
    """Copies of tables of `out` in the connection's own memory: of these clients only, where a table has
    such. `types`: see `make_key_types`; `left_out`: columns of tables that stay empty."""
    with _named(con, clients or (), ()):
        for name in names:
            has_client = any(column.name == "client_id" for column in TABLES[name].columns)
            part = (
                " where client_id in (select client_id from its_clients)"
                if has_client and clients is not None
                else ""
            )
            con.execute(f"drop table if exists {name}")
            con.execute(TABLES[name].create_sql(types=types))
            unread = (left_out or {}).get(name, ())
            columns = ", ".join(f'"{c}"' for c in TABLES[name].column_names if c not in unread)
            con.execute(f"insert into {name} by name select {columns} from out.{name}{part}")  # noqa: S608


def give_part(con: duckdb.DuckDBPyConnection, names: Sequence[str]) -> None:
    """Append what models made in memory to the tables of `out`."""
    for name in names:
        con.execute(f"insert into out.{name} by name select * from {name}")  # noqa: S608


@contextmanager
def inside(con: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """Have plain table names mean those of `out` while the block runs."""
    con.execute("use out")
    try:
        yield
    finally:
        con.execute("use memory")


def first_day(con: duckdb.DuckDBPyConnection) -> object:
    """The first day of any set or plan; None where there is neither."""
    row = con.execute(
        "select min(day) from (select min(session_date) as day from out.logged_set"
        " union all select min(valid_from) from out.plan_slot)"
    ).fetchall()[0]
    return row[0]


def clients_by_size(con: duckdb.DuckDBPyConnection, clients: Collection[str] | None) -> list[tuple[str, int]]:
    """Clients of the roster, plans, check-ins and logs (all, or of those named) with their number of sets, by
    id."""
    with _named(con, clients or (), ()):
        part = "where client_id in (select client_id from its_clients)" if clients is not None else ""
        rows = con.execute(
            "select client_id, sum(n)::bigint from ("  # noqa: S608
            "select client_id, count(*) as n from out.logged_set group by client_id"
            " union all select client_id, 0 from out.client union all select client_id, 0 from out.plan_slot"
            f" union all select client_id, 0 from out.check_in) {part} group by client_id order by client_id"
        ).fetchall()
    return [(client_id, n) for client_id, n in rows if client_id is not None]

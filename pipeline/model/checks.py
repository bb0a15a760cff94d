"""Checks on the models' tables: what the contract says of each column, and the queries of sql/checks.

What arrives: the connection in which every model has been run. What leaves: one `Finding` a rule, kept as
`validation_result`. Nothing is raised here: the module that runs the stages decides with `refusals` whether
the history may be published.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import duckdb
import polars as pl

from pipeline.contract import TABLES, Column, Table, training, verdicts
from pipeline.model.sql_models import SQL_FOLDER

_HEADER = re.compile(r"^--\s*(severity|meaning|reads)\s*:\s*(.*)$", re.MULTILINE)
SEVERITIES = ("stop", "warn")


class Answers(Protocol):
    """What a query gave: the names of its columns, each the first of a tuple, and its rows."""

    @property
    def description(self) -> list[Any]: ...

    def fetchall(self) -> list[tuple[Any, ...]]: ...


class Queries(Protocol):
    """Where checks are asked: a connection of DuckDB's, or whatever else answers its SQL."""

    def execute(self, query: str, /) -> Answers: ...


@dataclass(frozen=True)
class Check:
    """A query that returns the bad rows of a rule; `condition` is true for them, where one row alone tells."""

    rule_id: str
    checked_table: str
    column_name: str
    severity: str
    meaning: str
    bad_rows: str
    condition: str = ""


@dataclass(frozen=True)
class Finding:
    """A rule as checked in this run; `example` is the first bad row as text, empty when there is none."""

    check: Check
    n_checked: int
    n_failed: int
    example: str


def read_checks(folder: Path = SQL_FOLDER / "checks") -> list[Check]:
    """The checks of sql/checks; ValueError for one whose header lacks severity, meaning or reads."""
    checks: list[Check] = []
    for path in sorted(folder.glob("*.sql")):
        text = path.read_text(encoding="utf-8")
        header = {key: value.strip() for key, value in _HEADER.findall(text)}
        if set(header) != {"severity", "meaning", "reads"} or header["severity"] not in SEVERITIES:
            raise ValueError(f"{path.name} needs '-- severity: stop|warn', '-- meaning:', '-- reads:' lines")
        first_read = header["reads"].split(",")[0].strip()
        checks.append(
            Check(path.stem, first_read, "", header["severity"], header["meaning"], text.strip().rstrip(";"))
        )
    return checks


def contract_checks(tables: Iterable[Table]) -> list[Check]:
    """The contract's key, required values, allowed words and bounds of each table, as checks that stop."""
    checks: list[Check] = []
    for table in tables:
        if table.key:
            keys = ", ".join(table.key)
            checks.append(
                Check(
                    f"{table.name}.key",
                    table.name,
                    "",
                    "stop",
                    f"One row a {keys.replace('_', ' ')}.",
                    f"select {keys}, count(*) as n_rows from {table.name} group by {keys} having count(*) > 1",  # noqa: S608
                )
            )
        for column in table.columns:
            checks.extend(_column_checks(table, column))
    return checks


def _column_checks(table: Table, column: Column) -> list[Check]:
    shown = ", ".join(dict.fromkeys((*table.key, column.name)))
    wrong: list[tuple[str, str, str]] = []
    if column.required:
        wrong.append(("required", f"{column.name} is never empty.", f"{column.name} is null"))
    if column.allowed:
        words = ", ".join("'" + word.replace("'", "''") + "'" for word in column.allowed)
        wrong.append(
            (
                "allowed",
                f"{column.name} is one of {', '.join(column.allowed)}.",
                f"{column.name} not in ({words})",
            )
        )
    if column.low is not None:
        wrong.append(("low", f"{column.name} is at least {column.low:g}.", f"{column.name} < {column.low!r}"))
    if column.high is not None:
        wrong.append(
            ("high", f"{column.name} is at most {column.high:g}.", f"{column.name} > {column.high!r}")
        )
    if column.type == "real":
        wrong.append(
            ("finite", f"{column.name} is a number.", f"isnan({column.name}) or isinf({column.name})")
        )
    return [
        Check(
            f"{table.name}.{column.name}.{rule}",
            table.name,
            column.name,
            "stop",
            meaning,
            f"select {shown} from {table.name} where {condition}",  # noqa: S608 - names of the contract
            condition,
        )
        for rule, meaning, condition in wrong
    ]


def run_checks(con: Queries, checks: Sequence[Check]) -> list[Finding]:
    """Run every check; a check whose table does not exist in the connection is a programmer's mistake.

    The checks of columns are counted in one pass over their table; the others are queries of their own.
    """
    counted: dict[str, tuple[int, ...]] = {}
    tables: dict[str, list[Check]] = {}
    for check in checks:
        tables.setdefault(check.checked_table, []).append(check)
    for table, its_checks in tables.items():
        conditions = [check.condition for check in its_checks if check.condition]
        counts = ["count(*)", *(f"count(*) filter (where {condition})" for condition in conditions)]
        counted[table] = con.execute(f"select {', '.join(counts)} from {table}").fetchall()[0]  # noqa: S608
    place = dict.fromkeys(tables, 1)
    findings: list[Finding] = []
    for check in checks:
        size = int(counted[check.checked_table][0])
        if check.condition:
            n_failed = int(counted[check.checked_table][place[check.checked_table]])
            place[check.checked_table] += 1
        else:
            n_failed = int(con.execute(f"select count(*) from ({check.bad_rows})").fetchall()[0][0])  # noqa: S608
        findings.append(Finding(check, size, n_failed, _example(con, check) if n_failed else ""))
    return findings


def _example(con: Queries, check: Check) -> str:
    bad = con.execute(f"select * from ({check.bad_rows}) limit 1")  # noqa: S608
    names = [column[0] for column in bad.description]
    return ", ".join(f"{name} {value}" for name, value in zip(names, bad.fetchall()[0], strict=True))


def check_models(con: duckdb.DuckDBPyConnection) -> list[Finding]:
    """Every check of the contract and of sql/checks on the models' tables that are there.

    Inputs and records are validated row by row before the models run; here only what was computed is held.
    """
    return check_tables(con, _tables_in_use(con))


def check_tables(con: Queries, names: Iterable[str]) -> list[Finding]:
    """The checks of these tables, steps between included."""
    there = set(names)
    computed = (*training.TABLES, *verdicts.TABLES)
    checks = contract_checks(table for table in computed if table.name in there)
    return run_checks(con, [*checks, *(check for check in read_checks() if check.checked_table in there)])


def count_rows(con: duckdb.DuckDBPyConnection) -> dict[str, int]:
    """Rows of every table of the database in use."""
    return {
        name: int(con.execute(f"select count(*) from {name}").fetchall()[0][0])  # noqa: S608
        for name in _tables_in_use(con)
        if name in TABLES
    }


def _tables_in_use(con: duckdb.DuckDBPyConnection) -> list[str]:
    rows = con.execute(
        "select table_name from duckdb_tables() where database_name in (current_database(), 'temp')"
    )
    return [name for (name,) in rows.fetchall()]


def refusals(findings: Iterable[Finding]) -> list[str]:
    """One sentence for each stopping check that failed; empty: the history may be published."""
    return [
        f"{f.check.checked_table}: {f.check.meaning} {f.n_failed} of {f.n_checked} rows break this"
        f" ({f.check.rule_id}), the first: {f.example}."
        for f in findings
        if f.n_failed and f.check.severity == "stop"
    ]


def validation_rows(findings: Iterable[Finding]) -> pl.DataFrame:
    """The findings as rows of `validation_result`."""
    rows = [
        {
            "rule_id": f.check.rule_id,
            "checked_table": f.check.checked_table,
            "column_name": f.check.column_name or None,
            "severity": f.check.severity,
            "meaning": f.check.meaning,
            "n_checked": f.n_checked,
            "n_failed": f.n_failed,
        }
        for f in findings
    ]
    words = ("rule_id", "checked_table", "column_name", "severity", "meaning")
    schema = dict.fromkeys(words, pl.String) | {"n_checked": pl.Int64, "n_failed": pl.Int64}
    return pl.DataFrame(rows, schema=schema)

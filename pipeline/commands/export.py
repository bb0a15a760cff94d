"""`setwright export`."""

from __future__ import annotations

import difflib
from pathlib import Path
from typing import Any

import click

from pipeline.commands.arguments import workspace_argument
from pipeline.contract import TABLES
from pipeline.errors import SetwrightError
from pipeline.spreadsheet_text import STARTS
from pipeline.workspace import open_workspace

MOST_XLSX_ROWS = 1_048_575


@click.command(
    "export",
    epilog="\b\nExample:\n  setwright export my_clients roster_review --out review.xlsx\n"
    "  setwright export my_clients logged_set --out sets.parquet\n  setwright export my_clients --list",
)
@workspace_argument
@click.argument("table", required=False)
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), help="File to write: .csv, .parquet or .xlsx."
)
@click.option("--list", "list_tables", is_flag=True, help="List the tables and what a row of each is.")
def command(workspace: str, table: str | None, out: Path | None, list_tables: bool) -> None:
    """Write a published TABLE of WORKSPACE to a file."""
    if list_tables or table is None:
        for known in TABLES.values():
            click.echo(f"{known.name:22} {known.grain}")
        return
    if table not in TABLES:
        near = difflib.get_close_matches(table, TABLES, n=1)
        raise SetwrightError(
            f"There is no table {table!r}.",
            f"Did you mean {near[0]}?" if near else "List them with: setwright export WORKSPACE --list",
        )
    if out is None or out.suffix.lower() not in (".csv", ".parquet", ".xlsx"):
        raise SetwrightError("Name the file with --out, ending in .csv, .parquet or .xlsx.")
    place = open_workspace(workspace)
    with place.open_history():
        pass  # says so where the history is damaged
    n_rows = write_export(place.published_history(), table, out)
    click.echo(f"{out}: {n_rows:,} rows of {table}.")


def write_export(history: Path, table: str, out: Path) -> int:
    """Write a table of a published history; the number of rows. SetwrightError where the file cannot be written."""
    import duckdb

    draft = out.with_name(f".{out.name}.new")
    try:
        with duckdb.connect(str(history), read_only=True) as con:
            n_rows = int(con.execute(f"select count(*) from {table}").fetchall()[0][0])  # noqa: S608
            if out.suffix.lower() == ".parquet":
                con.execute(f"copy {table} to '{_quoted(draft)}' (format parquet)")
            elif out.suffix.lower() == ".csv":
                con.execute(
                    f"copy (select {_defused(table)} from {table}) to '{_quoted(draft)}' (format csv, header)"  # noqa: S608 - a table of the contract
                )
            else:
                _write_xlsx(con, table, draft, n_rows)
        draft.replace(out)
    except (OSError, duckdb.IOException) as err:
        draft.unlink(missing_ok=True)
        raise SetwrightError(f"{out} cannot be written: {err}.") from err
    return n_rows


def _quoted(path: Path) -> str:
    return str(path).replace("'", "''")


def _defused(table: str) -> str:
    """Text columns with a quote before what a spreadsheet would run as a formula."""
    columns, starts = [], STARTS.replace("'", "''")
    for column in TABLES[table].columns:
        if column.type == "text":
            columns.append(
                f"case when contains('{starts}', left({column.name}, 1)) and {column.name} <> ''"
                f" and try_cast({column.name} as double) is null"
                f" then '''' || {column.name} else {column.name} end as {column.name}"
            )
        else:
            columns.append(column.name)
    return ", ".join(columns)


def _write_xlsx(con: Any, table: str, path: Path, n_rows: int) -> None:
    import xlsxwriter

    if n_rows > MOST_XLSX_ROWS:
        raise SetwrightError(
            f"{table} has {n_rows:,} rows, more than a worksheet holds.", "Export it as .parquet."
        )
    book = xlsxwriter.Workbook(
        str(path),
        {
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
            "constant_memory": True,
            "nan_inf_to_errors": True,
        },
    )
    sheet = book.add_worksheet(table[:31])
    bold, day = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})
    for c, column in enumerate(TABLES[table].columns):
        sheet.write_string(0, c, column.name, bold)
        sheet.set_column(c, c, 24 if column.type == "text" else 12)
    sheet.freeze_panes(1, 0)
    reader = con.execute(f"select * from {table}")  # noqa: S608 - a table of the contract
    row_number = 0
    while rows := reader.fetchmany(10_000):
        for row in rows:
            row_number += 1
            for c, (value, column) in enumerate(zip(row, TABLES[table].columns, strict=True)):
                if value is None:
                    continue
                if column.type in ("date", "time"):
                    sheet.write_datetime(row_number, c, value, day)
                elif column.type == "text":
                    sheet.write_string(row_number, c, value[:32_767])
                else:
                    sheet.write(row_number, c, value)
    book.close()

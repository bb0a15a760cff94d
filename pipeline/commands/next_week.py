"""`setwright next-week`."""

from __future__ import annotations

import json
from pathlib import Path

import click

from pipeline.commands.arguments import workspace_argument
from pipeline.errors import SetwrightError, UnknownClient
from pipeline.workspace import client_file_stem, open_workspace


@click.command(
    "next-week",
    epilog="\b\nExample:\n  setwright next-week my_clients --client amara --out amara.xlsx\n"
    "  setwright next-week my_clients --all --out next_week --format csv",
)
@workspace_argument
@click.option("--client", "client_id", help="The client's id.")
@click.option("--all", "everyone", is_flag=True, help="Every client with a plan in force next week.")
@click.option(
    "--format", "file_format", type=click.Choice(["xlsx", "csv"]), default="xlsx", show_default=True
)
@click.option(
    "--out", type=click.Path(path_type=Path), help="File (one client) or folder. [default: WORKSPACE/reports]"
)
@click.option("--json", "as_json", is_flag=True, help="Print the targets as JSON instead of writing sheets.")
def command(
    workspace: str, client_id: str | None, everyone: bool, file_format: str, out: Path | None, as_json: bool
) -> None:
    """Write next week's sheet: every planned set with its target and reason, and cells for what was done.

    Filled in and put into the inbox, the sheet is read by update like any log. The targets are what the
    progression rule proposes; look at them before you send them. Where pain was noted there is none.
    """
    from pipeline.publish.week_sheet import read_week_sheet, write_week_sheet

    if bool(client_id) == everyone:
        raise SetwrightError("Say whose sheet: --client ID or --all.")
    place = open_workspace(workspace)
    with place.open_history() as con:
        planned = [
            row[0] for row in con.execute("select distinct client_id from next_target order by 1").fetchall()
        ]
        if client_id and client_id not in planned:
            raise _why_nothing(con, client_id)
        wanted = planned if everyone else [str(client_id)]
        if as_json:
            reader = con.execute("select * from next_target where list_contains(?, client_id)", [wanted])
            names = [column[0] for column in reader.description]
            click.echo(
                json.dumps(
                    [dict(zip(names, row, strict=True)) for row in reader.fetchall()],
                    default=str,
                    ensure_ascii=False,
                    indent=1,
                )
            )
            return
        sheets = [read_week_sheet(con, one) for one in wanted]
    folder = out or place.reports / "next week"
    for sheet in sheets:
        path = _path(folder, sheet.client_id, file_format, is_one=not everyone)
        try:
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            write_week_sheet(sheet, path)
        except OSError as err:
            raise SetwrightError(f"{path} cannot be written: {err.strerror or err}.") from err
        click.echo(f"{path}: {len(sheet.rows)} sets for {sheet.name}.")


def _path(out: Path, client_id: str, file_format: str, *, is_one: bool) -> Path:
    if is_one and out.suffix.lower() in (".csv", ".xlsx"):
        return out
    return out / f"{client_file_stem(client_id)}_next_week.{file_format}"


def _why_nothing(con: object, client_id: str) -> SetwrightError:
    """Why a client has no targets: not in the history, or no plan in force next week."""
    import duckdb

    if not isinstance(con, duckdb.DuckDBPyConnection):
        raise TypeError("con is no DuckDB connection")
    known = {one[0] for one in con.execute("select client_id from client").fetchall()}
    if client_id not in known:
        return UnknownClient(client_id, known)
    row = con.execute(
        "select max(valid_from), max(valid_to) from plan_slot where client_id = ?", [client_id]
    ).fetchone()
    if row is None or row[0] is None:
        return SetwrightError(f"No plan of {client_id} has been read.", "Put one into plans/ and run update.")
    ends = f"; the last one runs from {row[0]} to {row[1]}" if row[1] else ""
    return SetwrightError(
        f"{client_id} has no plan in force next week{ends}.", "Add the next version to plans/ and run update."
    )

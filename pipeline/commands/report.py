"""`setwright report`."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import click

from pipeline.commands.arguments import workspace_argument
from pipeline.errors import SetwrightError
from pipeline.workspace import Workspace, open_workspace


@click.command(
    "report",
    epilog="\b\nExample:\n  setwright report my_clients --client amara --month 2026-06\n"
    "  setwright report my_clients --all --month 2026-06 --format html\n"
    "  setwright report my_clients --roster --month 2026-06",
)
@workspace_argument
@click.option("--client", "client_id", help="The client's id.")
@click.option("--all", "everyone", is_flag=True, help="Every client with a history.")
@click.option("--roster", is_flag=True, help="One page on the whole roster, for the team.")
@click.option("--month", required=True, metavar="YYYY-MM", help="The month, as 2026-06.")
@click.option(
    "--format", "file_format", type=click.Choice(["pdf", "html", "xlsx"]), default="pdf", show_default=True
)
@click.option(
    "--language",
    help="Language of the report; WORKSPACE/messages may hold catalogues of your own. "
    "[default: from workspace.toml]",
)
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), help="Paper size. [default: from workspace.toml]"
)
@click.option(
    "--state/--no-state",
    "show_state",
    default=False,
    show_default=True,
    help="Tell the client the state the roster shows.",
)
@click.option(
    "--out", type=click.Path(path_type=Path), help="File (one client) or folder. [default: WORKSPACE/reports]"
)
def command(
    workspace: str,
    client_id: str | None,
    everyone: bool,
    roster: bool,
    month: str,
    file_format: str,
    language: str | None,
    paper: str | None,
    show_state: bool,
    out: Path | None,
) -> None:
    """Write monthly progress reports from the published history of WORKSPACE."""
    if sum((bool(client_id), everyone, roster)) != 1:
        raise SetwrightError("Say whose report: --client ID, --all, or --roster.")
    place = open_workspace(workspace)
    from dashboards.report import parse_month

    month = parse_month(month).key  # before a folder is named for it
    options: dict[str, Any] = {
        "file_format": file_format,
        "language": language or place.settings.report_language,
        "paper": paper or place.settings.paper,
        "messages_folder": place.messages,
    }
    history = place.published_history()
    folder = out or place.reports / month
    if roster:
        from dashboards.report import write_roster_summary

        path = _file(folder, f"roster-{month}.{file_format}")
        click.echo(write_roster_summary(history, month, path, **options))
    elif client_id:
        from dashboards.report import report_file_name, write_report

        path = _file(folder, report_file_name(client_id, month, file_format))  # type: ignore[arg-type]
        click.echo(
            write_report(history, place.notes_db, client_id, month, path, show_state=show_state, **options)
        )
    else:
        _write_all(place, month, folder, show_state=show_state, options=options)


def _file(folder: Path, name: str) -> Path:
    if folder.suffix.lower() in (".pdf", ".html", ".xlsx"):
        folder.parent.mkdir(parents=True, exist_ok=True)
        return folder
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return folder / name


def _write_all(
    place: Workspace, month: str, folder: Path, *, show_state: bool, options: dict[str, Any]
) -> None:
    from dashboards.report import ReportResult, write_reports

    history = place.published_history()
    with place.open_history() as con:
        clients = [
            row[0] for row in con.execute("select client_id from roster_review order by client_id").fetchall()
        ]
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    failed: list[ReportResult] = []
    with click.progressbar(length=len(clients), label=f"Reports of {month}") as bar:

        def done(result: ReportResult) -> None:
            bar.update(1)
            if result.error:
                failed.append(result)

        write_reports(
            history,
            place.notes_db,
            clients,
            month,
            folder,
            show_state=show_state,
            processes=os.cpu_count() or 1,
            on_done=done,
            **options,
        )
    click.echo(f"{len(clients) - len(failed)} of {len(clients)} reports in {folder}")
    for result in failed:
        click.echo(f"  {result.client_id}: {result.error}", err=True)
    if failed:
        raise SetwrightError(f"{len(failed)} reports could not be written.")

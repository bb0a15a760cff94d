"""`setwright forget`."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

import click

from pipeline.commands.arguments import workspace_argument
from pipeline.commands.terminal_text import without_controls
from pipeline.workspace import open_workspace


@click.command(
    "forget",
    epilog="\b\nExample:\n  setwright forget my_clients amara\n  setwright forget my_clients amara --yes --json",
)
@workspace_argument
@click.argument("client_id")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.option(
    "--backup",
    "backups",
    multiple=True,
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="A backup elsewhere, to be written anew without the client. May be given several times.",
)
@click.option("--json", "as_json", is_flag=True, help="Print what was removed as JSON.")
def command(workspace: str, client_id: str, yes: bool, backups: tuple[Path, ...], as_json: bool) -> None:
    """Remove the client CLIENT_ID from WORKSPACE: logs, plans, check-ins, roster, answers, notes, reports, caches,
    every history, and the backups in WORKSPACE/backups. It cannot be undone.

    Of files shared with others only the client's rows go; nobody else loses a record. Copies you made elsewhere
    (mails, other disks, exports) are yours to remove; backups elsewhere go with --backup.
    """
    from pipeline.keep.forget import forget, plan_removal

    place = open_workspace(workspace)

    def say(what: str) -> None:
        if not as_json:
            click.echo(f"{what} …", err=True)

    held = plan_removal(place, client_id, say)
    if not yes:
        click.echo(f"To be removed for good: {without_controls(held.name)} ({without_controls(client_id)})")
        for place_held in held.whole_files:
            click.echo(f"  the file {without_controls('/'.join(place_held))}")
        for shared, rows in held.rows.items():
            n_rows = sum(map(len, rows.values()))
            click.echo(f"  {n_rows} rows of {without_controls('/'.join(shared))}; the others' rows stay")
        click.echo("  roster row, answers, notes, reports, caches, histories, backups")
        click.confirm("Remove all of it?", abort=True)
    done = forget(place, held, say, backups)
    if as_json:
        click.echo(
            json.dumps(
                {"removed": [vars(one) for one in done.removed], "left": done.left}, ensure_ascii=False
            )
        )
        return
    totals: Counter[str] = Counter()
    for one in done.removed:
        totals[one.what] += one.n
    click.echo("Removed: " + ", ".join(f"{what}: {n:,}" for what, n in totals.items()) + ".")
    for line in done.left:
        click.echo(f"  look yourself: {without_controls(line)}")
    click.echo("Copies elsewhere (mails, other disks, exports, snapshots of the disk) are yours to remove.")

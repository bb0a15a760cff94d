"""`setwright backup`."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from pipeline.commands.arguments import workspace_argument
from pipeline.workspace import open_workspace


@click.command(
    "backup",
    epilog="\b\nExample:\n  setwright backup my_clients\n  setwright backup my_clients --out disk/june.zip",
)
@workspace_argument
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File to write. [default: WORKSPACE/backups/DAY TIME.zip]",
)
def command(workspace: str, out: Path | None) -> None:
    """Write everything in WORKSPACE into one file, read it back and compare: logs, plans, answers, notes, reports.

    A copy in the same folder does not survive the disk: keep one elsewhere. It is not encrypted.
    """
    from pipeline.keep.backup import write_backup

    place = open_workspace(workspace)
    now = dt.datetime.now(dt.UTC)
    with place.lock():
        made = write_backup(place, out or place.backups / f"{now:%Y-%m-%d %H%M%S}.zip", now)
    click.echo(
        f"{made.file}: {len(made.parts):,} files, {made.n_bytes / 1e6:,.1f} MB, each read back and compared."
    )
    for line in made.left_out[:20]:
        click.echo(f"  left out: {line}")
    click.echo(f"Restore it with: setwright restore '{made.file}' NEW_FOLDER")

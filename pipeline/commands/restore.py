"""`setwright restore`."""

from __future__ import annotations

from pathlib import Path

import click

from pipeline.errors import SetwrightError


@click.command(
    "restore",
    epilog="\b\nExample:\n  setwright restore june.zip my_clients_again\n  setwright restore june.zip --check",
)
@click.argument("backup", type=click.Path(path_type=Path))
@click.argument("workspace", type=click.Path(path_type=Path), required=False)
@click.option("--check", is_flag=True, help="Only read the backup and compare every file.")
def command(backup: Path, workspace: Path | None, check: bool) -> None:
    """Restore the file BACKUP into WORKSPACE, a folder that does not exist or is empty. Every file is compared."""
    from pipeline.keep.backup import check_backup, restore_backup

    if check or workspace is None:
        if not check:
            raise SetwrightError(
                "Say where to: a folder that does not exist yet.", "Or only --check the backup."
            )
        found = check_backup(backup)
        click.echo(f"{backup}: whole, {len(found.parts):,} files of {found.made_at}.")
        return
    found, place = restore_backup(backup, workspace)
    click.echo(f"{workspace}: {len(found.parts):,} files of {found.made_at}, each compared.")
    click.echo(f"Next: setwright doctor {place.root}")

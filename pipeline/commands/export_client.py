"""`setwright export-client`."""

from __future__ import annotations

from pathlib import Path

import click

from pipeline.commands.arguments import workspace_argument
from pipeline.workspace import open_workspace


@click.command(
    "export-client", epilog="\b\nExample:\n  setwright export-client my_clients amara --out amara.zip"
)
@workspace_argument
@click.argument("client_id")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    help="Archive to write, a .zip file.",
)
def command(workspace: str, client_id: str, out: Path) -> None:
    """Write all that WORKSPACE holds on the client CLIENT_ID into one archive, to hand over to them."""
    from pipeline.keep.client_file import write_client_file

    counts = write_client_file(open_workspace(workspace), client_id, out)
    click.echo(f"{out}: " + ", ".join(f"{n:,} {what}" for what, n in counts.items()) + ".")

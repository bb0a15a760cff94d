"""`setwright init`."""

from __future__ import annotations

from pathlib import Path

import click

from pipeline.errors import WorkspaceError

TEMPLATES = Path(__file__).resolve().parents[1] / "reference" / "templates"


@click.command("init", epilog="\b\nExample:\n  setwright init my_clients")
@click.argument("workspace", type=click.Path(path_type=Path))
def command(workspace: Path) -> None:
    """Make an empty workspace: folders, settings with comments, templates for roster, plans and check-ins.

    Files that are there already are left as they are.
    """
    make_workspace(workspace)
    click.echo(f"{workspace} is ready.")
    click.echo("  1. Write your clients into clients.csv, a row each below its header.")
    click.echo("  2. Put the logs they send into inbox/, best in a folder with the client's id or name.")
    click.echo("  3. Plans go into plans/, check-ins into check_ins/; their templates show the columns.")
    click.echo(f"Next: setwright update {workspace}")


def make_workspace(workspace: Path) -> None:
    """Folders and templates of a workspace; WorkspaceError where the path is a file or cannot be written."""
    if workspace.exists() and not workspace.is_dir():
        raise WorkspaceError(f"{workspace} is a file.", "Choose another name.")
    try:
        workspace.mkdir(mode=0o700, parents=True, exist_ok=True)
        for folder in ("inbox", "plans", "check_ins", "reports"):
            (workspace / folder).mkdir(mode=0o700, exist_ok=True)
        for template in sorted(TEMPLATES.rglob("*")):
            target = workspace / template.relative_to(TEMPLATES)
            if template.is_file() and not target.exists():
                target.write_bytes(template.read_bytes())
                target.chmod(0o600)
    except OSError as err:
        raise WorkspaceError(
            f"{workspace} cannot be written: {err.strerror}.", "Choose another place."
        ) from err

"""`setwright dashboard`."""

from __future__ import annotations

import click

from pipeline.commands.arguments import workspace_argument
from pipeline.workspace import open_workspace


@click.command(
    "dashboard",
    epilog="\b\nExample:\n  setwright dashboard my_clients\n  setwright dashboard my_clients --port 8600",
)
@workspace_argument
@click.option(
    "--port", type=click.IntRange(1, 65535), default=8501, show_default=True, help="Port to serve on."
)
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Address to serve on; this machine only unless told.",
)
def command(workspace: str, port: int, host: str) -> None:
    """Serve the dashboard of WORKSPACE in the browser. Stop it with Ctrl+C.

    Only this machine can reach it, unless workspace.toml has [sign_in]: then people sign in, and --host may be
    another address (dashboards/deployment.md says how).
    """
    place = open_workspace(workspace)
    from dashboards.launch import serve

    serve(place.root, port, host)

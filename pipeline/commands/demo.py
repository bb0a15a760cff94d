"""`setwright demo`."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import click

from pipeline.errors import WorkspaceError

DEMO_DATA = Path(__file__).resolve().parents[2] / "demo_data" / "workspace"
DEMO_DAY = date(2026, 6, 28)


@click.command("demo", epilog="\b\nExample:\n  setwright demo\n  setwright demo my_demo --no-report")
@click.argument("workspace", type=click.Path(path_type=Path), default=Path("demo"))
@click.option("--report/--no-report", default=True, help="Write one client's monthly report, too.")
def command(workspace: Path, report: bool) -> None:
    """Make a demo workspace (./demo unless told otherwise), run everything on it, and show the roster.

    The demo's clients are invented; its last day is 2026-06-28.
    """
    from pipeline.commands.review import command as review
    from pipeline.commands.update import print_result, run_update

    make_demo(workspace)
    result, seconds = run_update(str(workspace), DEMO_DAY, quiet=False)
    print_result(result, str(workspace), seconds)
    click.echo()
    review.main(args=[str(workspace)], standalone_mode=False)
    if report:
        from pipeline.commands.report import command as write

        click.echo()
        write.main(args=[str(workspace), "--client", "amara", "--month", "2026-06"], standalone_mode=False)
    click.echo(f"\nLook at it in the browser: setwright dashboard {workspace}")


def make_demo(workspace: Path) -> None:
    """Copy the demo's files; WorkspaceError where something else stands in that place."""
    if workspace.exists() and any(workspace.iterdir()) and not (workspace / "workspace.toml").exists():
        raise WorkspaceError(f"{workspace} holds other files.", "Name another folder: setwright demo my_demo")
    shutil.copytree(DEMO_DATA, workspace, dirs_exist_ok=True, copy_function=shutil.copyfile)
    workspace.chmod(0o700)

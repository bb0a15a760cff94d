"""`setwright doctor`."""

from __future__ import annotations

import datetime as dt
import json

import click

from pipeline.commands.arguments import workspace_argument
from pipeline.commands.terminal_text import without_controls
from pipeline.errors import SetwrightError
from pipeline.workspace import open_workspace

_MARKS = {"fine": "ok   ", "look": "look ", "wrong": "WRONG"}


@click.command(
    "doctor", epilog="\b\nExample:\n  setwright doctor my_clients\n  setwright doctor my_clients --mend"
)
@workspace_argument
@click.option("--mend", is_flag=True, help="Mend what can be mended without touching your files.")
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
def command(workspace: str, mend: bool, as_json: bool) -> None:
    """Check WORKSPACE: what is wrong, and what to do about it. Exit code 1 where something is wrong."""
    from pipeline.keep.doctor import examine

    place = open_workspace(workspace)
    findings = examine(place, dt.datetime.now(dt.UTC))
    if mend:
        mended = [finding for finding in findings if finding.mend is not None]
        for finding in mended:
            if finding.mend is not None:
                finding.mend()
            if not as_json:
                click.echo(f"mended: {without_controls(finding.what)}")
        if mended:
            findings = examine(place, dt.datetime.now(dt.UTC))
    n_wrong = sum(finding.grade == "wrong" for finding in findings)
    if as_json:
        rows = [{"grade": one.grade, "what": one.what, "do_next": one.do_next} for one in findings]
        click.echo(json.dumps(rows, ensure_ascii=False, indent=1))
    else:
        for one in findings:
            click.echo(f"{_MARKS[one.grade]}  {without_controls(one.what)}")
            if one.do_next:
                click.echo(f"       {one.do_next}")
    if n_wrong:
        raise SetwrightError(f"{n_wrong} thing{'s are' if n_wrong > 1 else ' is'} wrong.", "See above.")

"""`setwright questions`."""

from __future__ import annotations

import json
import shutil
import textwrap

import click

from pipeline.commands.arguments import workspace_argument
from pipeline.commands.terminal_text import without_controls
from pipeline.workspace import open_workspace

_COLUMNS = (
    "question_id",
    "kind",
    "client_id",
    "source_file",
    "raw_text",
    "question",
    "choices",
    "suggested",
    "n_rows_waiting",
)


@click.command("questions", epilog="\b\nExample:\n  setwright questions my_clients")
@workspace_argument
@click.option("--json", "as_json", is_flag=True, help="Print the questions as JSON.")
def command(workspace: str, as_json: bool) -> None:
    """List what the files of WORKSPACE leave open and only you can decide."""
    with open_workspace(workspace).open_history() as con:
        found = con.execute(
            f"select {', '.join(_COLUMNS)} from open_question order by n_rows_waiting desc, question_id"  # noqa: S608 - own columns
        ).fetchall()
    rows = [dict(zip(_COLUMNS, row, strict=True)) for row in found]
    for row in rows:
        row["choices"] = json.loads(row["choices"] or "[]")
    if not as_json:
        rows = without_controls(rows)
    if as_json:
        click.echo(json.dumps(rows, ensure_ascii=False, indent=1))
        return
    if not rows:
        click.echo("Nothing is open: every record that could be read is in the history.")
        return
    width = min(shutil.get_terminal_size((100, 24)).columns, 120)
    click.echo(f"{len(rows)} questions, {sum(row['n_rows_waiting'] for row in rows)} records wait.")
    for row in rows:
        click.echo()
        n = row["n_rows_waiting"]
        click.echo(textwrap.fill(f"{row['question']}  ({n} record{'s' if n != 1 else ''})", width))
        for choice in row["choices"]:
            mark = "  ← looks likeliest" if choice["value"] == row["suggested"] else ""
            said = choice["label"] if choice["label"] != choice["value"] else ""
            click.echo(f"    {choice['value']}" + (f"  ({said})" if said else "") + mark)
        click.echo(f"    setwright answer {workspace} {row['question_id']} ANSWER")
    click.echo(
        "\nAn exercise that is none of the choices: answer with its name, or `ignore` if it is no exercise."
    )

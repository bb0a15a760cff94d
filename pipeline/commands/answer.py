"""`setwright answer`."""

from __future__ import annotations

import click

from pipeline.answers import write_answer
from pipeline.commands.arguments import workspace_argument
from pipeline.workspace import open_workspace


@click.command("answer", epilog="\b\nExample:\n  setwright answer my_clients unit-4b24ce8f7f kg")
@workspace_argument
@click.argument("question_id")
@click.argument("answer")
def command(workspace: str, question_id: str, answer: str) -> None:
    """Answer the open question QUESTION_ID of WORKSPACE; it is kept in answers.csv and never asked again.

    The records that wait for it load on the next update.
    """
    question, kept = write_answer(open_workspace(workspace), question_id, answer)
    click.echo(f"Kept: {question.kind} {question.raw_text or question.source_file} = {kept}.")
    click.echo(f"It takes effect with: setwright update {workspace}")

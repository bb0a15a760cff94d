"""`setwright update`."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Sequence
from datetime import date

import click

from pipeline.commands.arguments import as_of_option, workspace_argument
from pipeline.commands.progress import Progress
from pipeline.commands.terminal_text import first_of
from pipeline.spark_settings import SparkSettings, with_options
from pipeline.workspace import open_workspace

if False:  # for the type checker only: importing the pipeline takes time that --help must not pay
    from pipeline.update import UpdateResult


@click.command(
    "update",
    epilog="\b\nExample:\n  setwright update my_clients\n  setwright update my_clients --as-of 2026-06-28\n"
    "  setwright update my_clients --engine spark --spark master=spark://head:7077",
)
@workspace_argument
@as_of_option
@click.option("--json", "as_json", is_flag=True, help="Print the result as JSON.")
@click.option("--quiet", is_flag=True, help="Print nothing but errors.")
@click.option(
    "--engine",
    type=click.Choice(["duckdb", "spark"]),
    default="duckdb",
    help="What computes the tables: this program, or a Spark that stands. The tables are the same.",
)
@click.option(
    "--spark",
    "spark_options",
    metavar="KEY=VALUE",
    multiple=True,
    help="A setting of [spark] in workspace.toml for this run, or one of Spark's own; may be repeated.",
)
def command(
    workspace: str,
    as_of: date | None,
    as_json: bool,
    quiet: bool,
    engine: str,
    spark_options: tuple[str, ...],
) -> None:
    """Read everything in WORKSPACE, check it, and publish a new history.

    Safe to run again at any moment: the same files give the same result. Nothing is published unless every
    record of every file is accounted for.
    """
    spark = None
    if engine == "spark":
        spark = with_options(open_workspace(workspace).settings.spark, spark_options)
    elif spark_options:
        raise click.UsageError("--spark is for --engine spark.")
    result, seconds = run_update(workspace, as_of, quiet=quiet or as_json, spark=spark)
    if as_json:
        click.echo(
            json.dumps(
                {
                    "as_of": result.as_of.isoformat(),
                    "files": result.n_files,
                    "refused_files": result.n_refused_files,
                    "sets": result.n_sets,
                    "questions": result.n_questions,
                    **result.counts,
                    "seconds": round(seconds, 2),
                }
            )
        )
    elif not quiet:
        print_result(result, workspace, seconds)


def run_update(
    workspace: str, as_of: date | None, *, quiet: bool, spark: SparkSettings | None = None
) -> tuple[UpdateResult, float]:
    """Run the pipeline with a progress line on stderr; what it did and how long it took."""
    started = time.perf_counter()
    place = open_workspace(workspace)
    with Progress(enabled=not quiet, is_terminal=sys.stderr.isatty()) as progress:
        progress.show("start", "loading")
        from pipeline.update import update

        result = update(place, as_of or place.settings.today(), progress.show, spark)
    return result, time.perf_counter() - started


def print_result(result: UpdateResult, workspace: str, seconds: float) -> None:
    """The accounts of a run, as a coach reads them."""
    c = result.counts
    click.echo(
        f"Read {result.n_files} files as of {result.as_of.isoformat()}: {result.n_sets:,} sets "
        f"({seconds:.1f} s)."
    )
    click.echo(
        f"  {c['n_records']:,} records = {c['n_loaded']:,} loaded + {c['n_duplicate']:,} already known "
        f"+ {c['n_rejected']:,} refused + {c['n_waiting']:,} waiting + {c['n_ignored']:,} no set "
        "(headers, blanks, totals)"
    )
    if result.n_refused_files:
        click.echo(f"  {_refused(result.n_refused_files, result.some_refused_files)}")
    if result.n_questions:
        click.echo(f"  {result.n_questions} questions wait for you: setwright questions {workspace}")
    click.echo(f"  What was refused and why: {workspace}/reports/what came in.html")
    click.echo(f"Next: setwright review {workspace}")


def _refused(n: int, some: Sequence[str]) -> str:
    """`2 files could not be read at all: a.png, b.png.`"""
    named = f": {first_of(some, n)}" if some else ""
    return f"{n:,} file{'' if n == 1 else 's'} could not be read at all{named}."

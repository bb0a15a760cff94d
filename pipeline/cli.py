"""The `setwright` command: one line of help each, everything else in pipeline/commands, imported when it
runs."""

from __future__ import annotations

import importlib
import os
import sys
from collections.abc import Sequence

import click

import pipeline

COMMANDS = {
    "demo": "Make a demo workspace and run everything on it.",
    "init": "Make an empty workspace.",
    "update": "Read what came in and publish a new history.",
    "review": "Show the roster, most urgent first.",
    "plan-check": "Check plans against the rules of the craft.",
    "next-week": "Write next week's sheet for a client.",
    "questions": "List what only you can decide.",
    "answer": "Answer an open question.",
    "report": "Write monthly progress reports.",
    "export": "Write a published table to a file.",
    "dashboard": "Open the dashboard.",
    "doctor": "Check a workspace and say what to do.",
    "backup": "Write a verified backup.",
    "restore": "Verify a backup, or restore it.",
    "export-client": "Write all that is held on one client.",
    "forget": "Remove a client everywhere.",
    "licences": "List what this program is built from.",
}


class _LazyGroup(click.Group):
    """Imports a command's module only when it is asked for, so that `--help` is quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"pipeline.commands.{cmd_name.replace('-', '_')}")
        command = module.command
        if not isinstance(command, click.Command):
            raise TypeError(f"pipeline.commands.{cmd_name}.command is no command")
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=_LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--traceback", is_flag=True, help="Show where an error arose (for developers).")
@click.version_option(pipeline.__version__, prog_name="setwright")
def setwright(traceback: bool) -> None:
    """From the training logs your clients send to a reviewed roster.

    \b
    Start here:
      setwright demo                 a demo roster, read and reviewed
      setwright init my_clients      a workspace of your own
    """
    click.get_current_context().obj = {"traceback": traceback}


def main(arguments: Sequence[str] | None = None) -> None:
    """Entry point: whatever goes wrong is one line on stderr and exit code 1.

    Everything a command writes is for its owner alone.
    """
    given = list(sys.argv[1:] if arguments is None else arguments)
    os.umask(0o077)
    try:
        setwright.main(args=given, standalone_mode=False)
    except click.ClickException as err:
        err.show()
        sys.exit(err.exit_code)
    except click.Abort:
        click.echo("setwright: Stopped; nothing is half-written.", err=True)
        sys.exit(130)
    except BrokenPipeError:
        # whoever read the output has gone (`setwright review … | head`)
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
    except Exception as err:
        if "--traceback" in given:
            raise
        from pipeline.faults import in_a_sentence

        click.echo(f"setwright: {in_a_sentence(err)}", err=True)
        sys.exit(1)


if __name__ == "__main__":
    main()

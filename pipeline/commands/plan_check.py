"""`setwright plan-check`: findings, layouts and changes of plan versions, for a workspace or one plan
file."""

from __future__ import annotations

import json
import shutil
import textwrap
from datetime import date
from pathlib import Path
from typing import Any

import click

from pipeline.commands.arguments import DayType
from pipeline.errors import SetwrightError

_MARKS = {"look": "LOOK", "consider": "consider", "fine": "fine"}


@click.command(
    "plan-check",
    epilog="\b\nExample:\n  setwright plan-check my_clients --client amara\n"
    "  setwright plan-check my_clients/plans/amara.csv\n  setwright plan-check my_clients --all --json\n"
    "  setwright plan-check --rules my_clients",
)
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--client", "client_id", help="Only this client.")
@click.option(
    "--version",
    "valid_from",
    type=DayType(),
    help="The version that begins on this day. [default: the latest]",
)
@click.option("--against", type=DayType(), help="Compare with the version that begins on this day.")
@click.option("--all", "every_version", is_flag=True, help="Every version, not only the latest training one.")
@click.option("--fine", "show_fine", is_flag=True, help="Show what was found fine, too.")
@click.option("--days", metavar="mon,wed,fri …", help="Weekdays that can be trained on, for the layouts.")
@click.option(
    "--rules", "list_rules", is_flag=True, help="List the rules in force with their figures and sources."
)
@click.option("--json", "as_json", is_flag=True, help="Print everything as JSON.")
def command(
    path: Path,
    client_id: str | None,
    valid_from: date | None,
    against: date | None,
    every_version: bool,
    show_fine: bool,
    days: str | None,
    list_rules: bool,
    as_json: bool,
) -> None:
    """Check plans before they go out: PATH is a workspace, or a plan file (csv, xlsx) on its own.

    A file inside a workspace's plans folder is read with that workspace's roster, exercises and rules.
    Nothing is written. What is found is for the coach to weigh, with the practice or publication each rule
    rests on.
    """
    from pipeline.run.plan_check import check_plans

    checked = check_plans(path, client_id, valid_from, against, every_version=every_version, weekdays=days)
    if list_rules:
        _print_rules(checked.rules, as_json=as_json)
    elif as_json:
        click.echo(json.dumps(checked.as_data(), default=str, ensure_ascii=False, indent=1))
    else:
        _print_checked(checked, show_fine=show_fine)


def _print_rules(rules: Any, *, as_json: bool) -> None:
    if as_json:
        click.echo(
            json.dumps(
                {
                    name: {
                        "on": rule.is_on,
                        "severity": rule.severity,
                        "question": rule.question,
                        "figures": dict(rule.figures),
                        "source": rule.source,
                    }
                    for name, rule in rules.items()
                },
                ensure_ascii=False,
                indent=1,
            )
        )
        return
    for name, rule in rules.items():
        click.echo(click.style(f"{name}{'' if rule.is_on else ' (off)'}", bold=True) + f"  {rule.question}")
        figures = ", ".join(f"{key} = {value}" for key, value in rule.figures.items())
        for line in (f"severity {rule.severity}; rests on: {rule.source}", figures):
            if line:
                click.echo(_wrapped(line, "    "))
    click.echo(
        "\nSwitch off or change in workspace.toml, for instance:\n  [plan_rules]\n  superset_chance = false\n"
        "  frequency = { least_days = 3 }"
    )


def _print_checked(checked: Any, *, show_fine: bool) -> None:
    for row in checked.rejected:
        click.echo(
            _wrapped(f"{row['source_file']}{_row(row)}: {row['message']} {row['suggestion'] or ''}", "  ")
        )
    if not checked.versions:
        raise SetwrightError("No plan was found to check.", "Name a client with a plan, or a plan file.")
    for number, version in enumerate(checked.versions):
        if number or checked.rejected:
            click.echo()
        _print_version(version, show_fine=show_fine, show_all=len(checked.versions) == 1)
    n_look = sum(f["severity"] == "look" for v in checked.versions for f in v["findings"])
    n_consider = sum(f["severity"] == "consider" for v in checked.versions for f in v["findings"])
    n_versions = len(checked.versions)
    click.echo(
        f"\n{n_versions} plan version{'s' if n_versions != 1 else ''}: {n_look} to look at,"
        f" {n_consider} to consider."
        "  Sources and figures of the rules: --rules"
    )
    if n_versions > 1:
        click.echo("Layouts and changes of one client's plan: --client ID")


def _print_version(version: dict[str, Any], *, show_fine: bool, show_all: bool) -> None:
    """One version; layouts and changes of many versions at once only where a better layout was found."""
    end = f" to {version['valid_to']}" if version["valid_to"] else " on"
    title = f"{version['name']} — {version['plan'] or 'plan'}, {version['phase'] or 'no phase'}"
    click.echo(click.style(f"{title}, from {version['valid_from']}{end}", bold=True))
    click.echo(_wrapped("; ".join(version["days"]), "  "))
    shown = [f for f in version["findings"] if show_fine or f["severity"] != "fine"]
    n_fine = sum(f["severity"] == "fine" for f in version["findings"])
    for finding in shown:
        mark = f"{_MARKS[finding['severity']]:>9}  "
        text = textwrap.fill(finding["sentence"], _width(), initial_indent=mark, subsequent_indent=" " * 11)
        click.echo(click.style(text, bold=finding["severity"] == "look"))
    if n_fine and not show_fine:
        rules = len({f["rule"] for f in version["findings"] if f["severity"] == "fine"})
        click.echo(f"     fine  {n_fine} findings of {rules} rules (--fine shows them)")
    has_better = any(f["rule"] == "layout" and f["severity"] != "fine" for f in version["findings"])
    layouts = version["layouts"] if show_all or has_better else []
    if layouts:
        click.echo("  Layouts over the week, best first:")
    for layout in layouts:
        mark = "now" if layout["is_current"] else f"{layout['place']}."
        click.echo(
            textwrap.fill(
                layout["sentence"], _width(), initial_indent=f"    {mark:>4} ", subsequent_indent=" " * 9
            )
        )
    if not show_all:
        return
    if version["changes"]:
        click.echo(f"  Changed since the version of {version['compared_with']}:")
    for line in _changes(version["changes"]):
        click.echo(_wrapped(line, "    "))


def _changes(changes: list[dict[str, Any]]) -> list[str]:
    """The changes, one line an exercise, and one for the weekly sets of all muscles."""
    lines: dict[str, list[str]] = {}
    muscles = []
    for change in changes:
        if change["kind"] == "muscle":
            muscles.append(f"{change['place'].replace('_', ' ')} {change['before']} → {change['after']}")
        elif change["kind"] in ("sets", "repetitions", "effort", "rest"):
            said = change["sentence"].removeprefix(f"{change['place']}: ").rstrip(".")
            lines.setdefault(change["place"], []).append(said)
        else:
            lines.setdefault(change["sentence"], [])
    found = [f"{place}: {', '.join(said)}." if said else place for place, said in lines.items()]
    return [*found, f"Weekly sets: {', '.join(muscles)}."] if muscles else found


def _row(row: dict[str, Any]) -> str:
    sheet = f", sheet {row['source_sheet']}" if row["source_sheet"] else ""
    return f"{sheet}, row {row['source_row']}" if row["source_row"] else sheet


def _width() -> int:
    return min(shutil.get_terminal_size((100, 24)).columns, 120)


def _wrapped(text: str, indent: str) -> str:
    return textwrap.fill(text, _width(), initial_indent=indent, subsequent_indent=indent + "  ")

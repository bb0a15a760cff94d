"""`setwright review`: the roster in a terminal."""

from __future__ import annotations

import json
import shutil
import textwrap
from collections import Counter
from datetime import date
from typing import Any

import click

from pipeline.commands.arguments import workspace_argument
from pipeline.commands.terminal_text import first_of, without_controls
from pipeline.contract.records import RECENT_PAIN_DAYS
from pipeline.errors import SetwrightError
from pipeline.run.result import MOST_REFUSED_FILES_NAMED
from pipeline.workspace import open_workspace

STATE_WORDS = {
    "progressing": "progressing",
    "plateau": "plateau",
    "over_reaching": "over-reaching",
    "off_plan": "off plan",
    "planned_deload": "planned deload",
    "returning": "returning",
    "steady": "steady",
    "not_enough_data": "not enough data",
    "no_recent_log": "no recent log",
}
_COLUMNS = (
    "place",
    "client_id",
    "name",
    "state",
    "since_week",
    "weeks_in_state",
    "confidence",
    "reason",
    "needs_a_look",
    "what_changed",
    "last_log_date",
    "days_since_log",
    "n_waiting",
    "n_pain_notes",
    "attendance_pct",
    "week_start",
    "urgency",
)


# of the notes that roster_review counts the newest two, warning signs first
_PAIN = f"""
  select note, session_date, coalesce(is_warning_sign, false)
  from pain_note, setting
  where client_id = ? and session_date > as_of - {RECENT_PAIN_DAYS} and session_date <= as_of
  order by 3 desc, session_date desc, note
  limit 2
"""  # noqa: S608 a constant
_PAIN_FIRST = {
    True: "Licensed medical care comes first.",
    False: "Ask before adding load.",
}


@click.command(
    "review", epilog="\b\nExample:\n  setwright review my_clients\n  setwright review my_clients --all --json"
)
@workspace_argument
@click.option(
    "--all",
    "show_all",
    is_flag=True,
    help="Show the clients that need no look in full, too, and every client's id.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the review as JSON.")
def command(workspace: str, show_all: bool, as_json: bool) -> None:
    """Show the roster of WORKSPACE, most urgent first: state, since when, why, last log."""
    rows, run = _read(workspace)
    if as_json:
        click.echo(json.dumps(rows, default=str, ensure_ascii=False, indent=1))
        return
    if not rows:
        raise SetwrightError(
            "The history holds no clients yet.", "Add clients.csv and logs, then run update."
        )
    rows = without_controls(rows)
    width = min(shutil.get_terminal_size((100, 24)).columns, 120)
    _print_heading(rows, run, workspace)
    urgent = [row for row in rows if row["needs_a_look"]]
    others = [row for row in rows if not row["needs_a_look"]]
    for row in urgent:
        _print_client(row, width, show_id=show_all)
    if others:
        click.echo(f"\nNo look needed ({len(others)}):")
    for row in others:
        if show_all:
            _print_client(row, width, show_id=True)
        else:
            click.echo(
                _shortened(
                    f"  {row['place']:>3}  {row['name']} — {STATE_WORDS[row['state']]}"
                    f"{_since(row)} · last log {_last_log(row)}",
                    width,
                )
            )
    click.echo(
        "\nStates describe patterns in training logs. They are no medical advice; pain comes before progress."
    )


def _read(workspace: str) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    with open_workspace(workspace).open_history() as con:
        result = con.execute(f"select {', '.join(_COLUMNS)} from roster_review order by place")  # noqa: S608
        rows = [dict(zip(_COLUMNS, row, strict=True)) for row in result.fetchall()]
        for row in rows:
            row["pain_notes"] = [
                dict(zip(("note", "session_date", "is_warning_sign"), note, strict=True))
                for note in con.execute(_PAIN, [row["client_id"]]).fetchall()
            ]
        as_of, n_questions, n_waiting = con.execute(
            "select (select max(as_of) from pipeline_run), (select count(*) from open_question),"
            " (select coalesce(sum(n_rows_waiting), 0) from open_question)"
        ).fetchall()[0]
        refused = con.execute(
            "select source_file from file_ledger where is_current and outcome = 'refused' order by source_file"
        ).fetchall()
    run = {"as_of": as_of, "n_questions": n_questions, "n_waiting": n_waiting}
    return rows, {**run, "refused": [name for (name,) in refused]}


def _print_heading(rows: list[dict[str, Any]], run: dict[str, Any], workspace: str) -> None:
    week = max((row["week_start"] for row in rows if row["week_start"]), default=None)
    n_look = sum(1 for row in rows if row["needs_a_look"])
    counts = Counter(STATE_WORDS[row["state"]] for row in rows)
    click.echo(
        f"Roster as of {run['as_of']}"
        + (f" (week of {week})" if week else "")
        + f": {len(rows)} clients, {n_look} need a look."
    )
    click.echo("  " + " · ".join(f"{n} {state}" for state, n in counts.most_common()))
    if run["n_questions"]:
        click.echo(
            f"  {run['n_waiting']} records wait for {run['n_questions']} answers: setwright questions {workspace}"
        )
    refused = run["refused"]
    if refused:
        click.echo(f"  Could not be read: {first_of(refused[:MOST_REFUSED_FILES_NAMED], len(refused))}")


def _print_client(row: dict[str, Any], width: int, *, show_id: bool) -> None:
    sure = f" · {row['confidence']:.0%} sure" if row["confidence"] is not None else ""
    shown_id = f" ({row['client_id']})" if show_id else ""
    named = f"  {row['place']:>3}  {row['name']}"
    # the id is for copying: what follows gives way to it, not the other way round
    room = max(width - len(shown_id), len(named) + 1) if show_id else width
    line = _shortened(f"{named} — {STATE_WORDS[row['state']]}{_since(row)}{sure}", room)
    click.echo()
    click.echo(
        click.style(line[: len(named)], bold=True)
        + (click.style(shown_id, dim=True) if show_id else "")
        + click.style(line[len(named) :], bold=True)
    )
    lines = [row["reason"] or "", row["what_changed"] or ""]
    for note in row["pain_notes"]:
        said = "A warning sign is named" if note["is_warning_sign"] else "Pain is mentioned"
        lines.insert(
            0, f"{said}: “{note['note']}” ({note['session_date']}). {_PAIN_FIRST[note['is_warning_sign']]}"
        )
    if row["n_waiting"] and "wait for an answer" not in (row["reason"] or ""):
        lines.append(f"{row['n_waiting']} of this client's records wait for an answer.")
    attended = (
        f" · attendance of four weeks {row['attendance_pct']:.0f} %"
        if row["attendance_pct"] is not None
        else ""
    )
    lines.append(f"Last log {_last_log(row)}{attended}")
    for line in filter(None, lines):
        click.echo(textwrap.fill(line, width, initial_indent=" " * 7, subsequent_indent=" " * 7))


def _since(row: dict[str, Any]) -> str:
    since, weeks = row["since_week"], row["weeks_in_state"]
    if not isinstance(since, date):
        return ""
    return f" since {since.isoformat()} ({weeks} week{'s' if weeks != 1 else ''})" if weeks else ""


def _last_log(row: dict[str, Any]) -> str:
    if row["last_log_date"] is None:
        return "none"
    days = row["days_since_log"]
    return f"{row['last_log_date']} ({'today' if days == 0 else f'{days} day' + ('s' if days != 1 else '') + ' ago'})"


def _shortened(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 1] + "…"

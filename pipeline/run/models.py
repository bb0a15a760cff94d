"""Models and their checks, for some clients at a time: each client's figures rest on that client's rows
alone.

What draws on the whole roster (`volume_response`, the order of `roster_review`) is made at the end, from what
the clients' own models left.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection
from datetime import date

import duckdb
import polars as pl

from pipeline.contract import TABLES
from pipeline.model import history_tables
from pipeline.model.checks import Finding, check_models, check_tables, count_rows, refusals, run_checks
from pipeline.model.load_tables import calendar_frame
from pipeline.model.sql_models import Model, read_models, run_models, write_table
from pipeline.workspace import Settings

SETS_AT_A_TIME = 1_000_000
_CLIENT_WEIGHT = 500  # a client without sets costs about as much as one with so many
OF_THE_ROSTER = ("volume_response",)
GIVEN = (
    "client",
    "exercise",
    "exercise_muscle",
    "muscle_target",
    "plan_slot",
    "check_in",
    "excused_span",
    "setting",
    "logged_set",
    "pain_note",
    "session_note",
    "open_question",
    "waiting_row",
    "calendar",
)


# what a client wrote is for people to read; no model looks at it
_UNREAD = {"logged_set": ("exercise_text", "load_text", "note")}


def make_calendar(con: duckdb.DuckDBPyConnection, settings: Settings, as_of: date) -> bool:
    """The calendar from the first day of any set or plan on; True where it is no longer what it was."""
    first = history_tables.first_day(con)
    start = min(first, as_of) if isinstance(first, date) else as_of
    frame = calendar_frame(start, as_of, settings.first_weekday)
    before = con.sql("select * from out.calendar order by day").pl()
    if before.height == frame.height and before["day"].to_list() == frame["day"].to_list():
        return False
    history_tables.replace(con, "calendar", frame)
    return True


def run_all_models(
    con: duckdb.DuckDBPyConnection,
    clients: Collection[str] | None,
    progress: Callable[[str, str], None],
) -> list[Finding]:
    """Run every model for these clients (all), and what is the roster's; the findings of all checks.

    Nothing is raised for a failed check: `refusals` tells which forbid publishing.
    """
    models = _models()
    own = [model for model in models if model.name not in OF_THE_ROSTER]
    made = [model.name for model in own if model.name in TABLES]
    if clients is not None:
        history_tables.retract_models(con, made, clients)
    findings: list[list[Finding]] = []
    types = history_tables.make_key_types(con, GIVEN, clients)
    for part in _parts(con, clients):
        history_tables.take_part(con, GIVEN, part, types, _UNREAD)
        run_models(con, own, lambda name: progress("model", name), types)
        progress("model", "checking what was computed")
        found = check_models(con)
        findings.append(found)
        history_tables.give_part(con, made)
        if refusals(found):
            return found
    make_the_rosters(con)
    return _sum(con, findings)


def _models() -> list[Model]:
    from pipeline.analyse import PYTHON_MODELS

    return [*read_models(), *(Model(name, reads, build=build) for name, reads, build in PYTHON_MODELS)]


def _parts(con: duckdb.DuckDBPyConnection, clients: Collection[str] | None) -> list[set[str]]:
    """Clients in portions of about `SETS_AT_A_TIME` sets; one empty portion where there are none."""
    parts: list[set[str]] = [set()]
    size = 0
    for client_id, n_sets in history_tables.clients_by_size(con, clients):
        weight = n_sets + _CLIENT_WEIGHT
        if parts[-1] and size + weight > SETS_AT_A_TIME:
            parts.append(set())
            size = 0
        parts[-1].add(client_id)
        size += weight
    return parts


def make_the_rosters(con: duckdb.DuckDBPyConnection) -> None:
    """Make what draws on the whole roster in `out`, from what the clients' own models left there."""
    from pipeline.analyse.states.roster import in_order_of_urgency

    with history_tables.inside(con):
        run_models(con, [model for model in _models() if model.name in OF_THE_ROSTER])
        roster: pl.DataFrame = con.sql("select * from roster_review").pl()
        write_table(con, "roster_review", in_order_of_urgency(roster))


def _sum(con: duckdb.DuckDBPyConnection, findings: list[list[Finding]]) -> list[Finding]:
    """One finding a check over all parts; how many rows were checked is what the history now holds."""
    failed: Counter[str] = Counter()
    examples: dict[str, str] = {}
    for found in findings:
        for one in found:
            failed[one.check.rule_id] += one.n_failed
            examples.setdefault(one.check.rule_id, one.example)
    with history_tables.inside(con):
        roster_wide = check_tables(con, OF_THE_ROSTER)
        rows = count_rows(con)
        own = [
            run_checks(con, [one.check])[0]
            if one.check.severity == "warn"  # one that stops has failed nowhere else
            else Finding(
                one.check,
                # a table that is gone with the run has a row a set
                rows.get(one.check.checked_table, rows["logged_set"]),
                failed[one.check.rule_id],
                examples[one.check.rule_id],
            )
            for one in findings[-1]
        ]
    return [*own, *roster_wide]

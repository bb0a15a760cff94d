"""A history built from the files: the only module that knows the order of the stages.

ingest → clean → validate → model → analyse → publish. Each stage hands tables to the next; nothing is
published unless every file adds up and every check that stops holds. Where only the inbox has changed since
the last run, that run's history is gone on with: what is tied to the changed files is taken out and made
again, and the result is the same as if all were made again.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

import pipeline
from pipeline.contract import TABLES
from pipeline.contract.frames import as_table, frame_of
from pipeline.contract.records import LOGGED_SET
from pipeline.errors import PublishRefused
from pipeline.folder_files import list_files
from pipeline.ingest.read_files import shown_name
from pipeline.model import history_tables
from pipeline.model.checks import refusals, validation_rows
from pipeline.model.data_dictionary import data_dictionary
from pipeline.publish.replace_history import building, replace_history
from pipeline.publish.result_page import write_result_page
from pipeline.run.inbox import InboxRun, InboxState
from pipeline.run.inputs import RunInputs, read_inputs
from pipeline.run.last_run import InputFiles, LastRun, history_stamp, keep_last_run
from pipeline.run.models import make_calendar, run_all_models
from pipeline.run.result import MOST_REFUSED_FILES_NAMED, RULES_VERSION, UpdateResult
from pipeline.spark_settings import SparkSettings
from pipeline.validate.accounts import add_earlier
from pipeline.validate.gate import gate_results
from pipeline.validate.judge import Judge
from pipeline.workspace import Workspace

_MOST_GROWTH = 1.5  # rows taken out leave room in the file; beyond this it is built from nothing again


def build_history(
    workspace: Workspace,
    as_of: date,
    now: InputFiles,
    last: LastRun | None,
    progress: Callable[[str, str], None],
    spark: SparkSettings | None = None,
) -> UpdateResult:
    """Read what is new and publish; PublishRefused where something does not add up.

    With `spark` every model runs there, for all clients.
    """
    progress("ingest", "reading plans and check-ins")
    with Judge(LOGGED_SET, workspace.store / "verdicts") as judge, building(workspace) as path:
        inputs = read_inputs(workspace, as_of)
        if inputs.accounts.faults:
            raise PublishRefused(
                f"Nothing was published: {inputs.accounts.faults[0]}", "Please report this file's layout."
            )
        earlier = _earlier_ledger(workspace)
        if last is not None and not _can_go_on(workspace, now, last):
            last = None
        if last is not None:
            shutil.copyfile(workspace.history_db.resolve(), path)
        with history_tables.open_history_tables(path) as con:
            state = _read_inbox(con, workspace, as_of, now, last, inputs, judge, progress)
            result = _compute(con, workspace, as_of, last, state, inputs, earlier, progress, spark)
        progress("publish", "replacing the history")
        published = replace_history(workspace, path)
    # the page speaks of what is published, so it comes after
    with workspace.open_history() as con:
        write_result_page(con, workspace, as_of)
        unsettled = _unsettled(con, now)
    _keep(workspace, now, last, state, result, published, unsettled)
    return UpdateResult(**result, published=published)


def _can_go_on(workspace: Workspace, now: InputFiles, last: LastRun) -> bool:
    """True where only the inbox has changed, and the last history can be opened and has not swollen."""
    if last.rest != now.rest or last.history[1] > _MOST_GROWTH * max(last.full_size, 1):
        return False
    try:
        with duckdb.connect(str(workspace.history_db.resolve()), read_only=True) as con:
            con.execute("select as_of from pipeline_run").fetchall()
    except duckdb.Error:
        return False
    return True


def _read_inbox(
    con: duckdb.DuckDBPyConnection,
    workspace: Workspace,
    as_of: date,
    now: InputFiles,
    last: LastRun | None,
    inputs: RunInputs,
    judge: Judge,
    progress: Callable[[str, str], None],
) -> InboxState:
    history_tables.make_tables(con)
    files = {shown_name(path, workspace.inbox): path for path in list_files(workspace.inbox)}
    state = InboxState()
    changed, gone = set(files), set[str]()
    if last is None:
        for name, frame in inputs.tables.items():
            history_tables.append(con, name, frame)
    else:
        state.clients = {name: frozenset(clients) for name, clients in last.clients.items()}
        state.n_checked, state.n_failed = dict(last.n_checked), dict(last.n_failed)
        changed = {name for name in files if last.inbox.get(name) != now.inbox.get(name)}
        gone = set(last.clients) - set(files)
    run = InboxRun(con, workspace.inbox, files, inputs, judge, as_of, state, progress)
    run.read(changed, gone)
    return state


def _compute(
    con: duckdb.DuckDBPyConnection,
    workspace: Workspace,
    as_of: date,
    last: LastRun | None,
    state: InboxState,
    inputs: RunInputs,
    earlier: pl.DataFrame,
    progress: Callable[[str, str], None],
    spark: SparkSettings | None,
) -> dict[str, Any]:
    """Models, checks, the run's own tables; what it reports. PublishRefused where a check forbids it."""
    history_tables.replace(con, "client", _clients(con, inputs))
    calendar_is_new = make_calendar(con, workspace.settings, as_of)
    clients = None if last is None or calendar_is_new or spark else state.touched - {""}
    if last is not None and clients is None:
        history_tables.empty_models(con)
    if spark is None:
        findings = run_all_models(con, clients, progress)
    else:
        from pipeline.run.spark.models import run_all_models_on_spark

        findings = run_all_models_on_spark(con, spark, workspace.store, progress)
    forbidding = refusals(findings)
    if forbidding:
        raise PublishRefused(f"Nothing was published: {forbidding[0]}", "The last published history stays.")
    ledger = _ledger(state, inputs, earlier)
    current = ledger.filter((pl.col("source_area") == "inbox") & pl.col("is_current"))
    n_failed = {
        rule: sum(its.get(rule, 0) for its in state.n_failed.values())
        for rule in {rule for its in state.n_failed.values() for rule in its}
    }
    gate = gate_results(LOGGED_SET, sum(state.n_checked.values()), n_failed)
    results = [
        frame_of(TABLES["validation_result"], gate),
        as_table(TABLES["validation_result"], validation_rows(findings)),
    ]
    run = {
        "as_of": as_of,
        "version": pipeline.__version__,
        "rules_version": RULES_VERSION,
        "n_files": current.height,
        "n_records": int(current["n_records"].sum()),
        "n_sets": int(current["n_sets"].sum()),
    }
    for name, frame in (
        ("validation_result", pl.concat(results)),
        ("data_dictionary", data_dictionary()),
        ("file_ledger", ledger),
        ("pipeline_run", pl.DataFrame([run])),
    ):
        history_tables.replace(con, name, frame)
    counts = ("n_records", "n_loaded", "n_duplicate", "n_rejected", "n_waiting", "n_ignored")
    refused = current.filter(pl.col("outcome") == "refused")["source_file"].sort()
    n_questions = con.execute("select count(*) from out.open_question").fetchall()[0][0]
    return {
        "as_of": as_of,
        "n_files": current.height,
        "counts": {name: int(current[name].sum()) for name in counts},
        "n_sets": run["n_sets"],
        "n_questions": int(n_questions),
        "n_refused_files": refused.len(),
        "some_refused_files": refused.head(MOST_REFUSED_FILES_NAMED).to_list(),
    }


def _clients(con: duckdb.DuckDBPyConnection, inputs: RunInputs) -> pl.DataFrame:
    """The roster, and the clients that logs name and the roster does not."""
    roster = inputs.tables["client"]
    logged = con.sql("select distinct client_id from out.logged_set order by client_id").pl()
    strangers = logged.join(roster, on="client_id", how="anti", maintain_order="left").with_columns(
        pl.col("client_id").alias("name"), pl.lit(value=False).alias("is_in_roster")
    )
    return pl.concat([roster, as_table(TABLES["client"], strangers)])


def _ledger(state: InboxState, inputs: RunInputs, earlier: pl.DataFrame) -> pl.DataFrame:
    """The ledger of all files: those read now, those known to be unchanged, and what earlier runs saw."""
    read = frame_of(TABLES["file_ledger"], [state.ledger[name] for name in sorted(state.ledger)])
    rows = [inputs.accounts.ledger, read]
    unread = sorted(set(state.clients) - set(state.ledger))
    if unread and earlier.height:
        rows.append(
            earlier.filter(
                pl.col("is_current")
                & (pl.col("source_area") == "inbox")
                & pl.col("source_file").is_in(unread)
            )
        )
    return add_earlier(pl.concat(rows), earlier)


def _earlier_ledger(workspace: Workspace) -> pl.DataFrame:
    """The ledger of the last history that can be read, so that a file's earlier contents are remembered."""
    kept = sorted((workspace.store / "history").glob("history-*.duckdb"), reverse=True)
    published = [workspace.history_db.resolve()] if workspace.history_db.exists() else []
    for path in dict.fromkeys([*published, *kept]):
        try:
            with duckdb.connect(str(path), read_only=True) as con:
                return as_table(TABLES["file_ledger"], con.sql("select * from file_ledger").pl())
        except duckdb.Error:
            continue
    return pl.DataFrame()


def _unsettled(con: duckdb.DuckDBPyConnection, now: InputFiles) -> set[str]:
    """Files that were not read as they were when looked at: gone in between, changed, or still being written.

    Their stamps say nothing of what was published, so the next run reads them again.
    """
    found = con.execute(
        "select source_area || '/' || source_file, content_hash from file_ledger where is_current"
    ).fetchall()
    lost = con.execute(
        "select source_area || '/' || source_file from rejected_row "
        "where reason_code in ('file_changing', 'file_unreadable')"
    ).fetchall()
    hashes, not_read = dict(found), {name for (name,) in lost}
    unsettled = set()
    for name, stamp in now.stamps.items():
        if "/" not in name:
            continue  # the coach's own tables are read after they were looked at: a change shows at once
        read_hash = hashes.get(name)
        was_lost = stamp.is_readable and (read_hash is None or name in not_read)
        if was_lost or (read_hash and read_hash != stamp.content_hash):
            unsettled.add(name)
    return unsettled


def _keep(
    workspace: Workspace,
    now: InputFiles,
    last: LastRun | None,
    state: InboxState,
    result: dict[str, Any],
    published: Path,
    unsettled: set[str],
) -> None:
    stamp = history_stamp(published)
    kept = LastRun(
        now.rest if all(name.startswith("inbox/") for name in unsettled) else "",
        {name: one for name, one in now.stamps.items() if name not in unsettled},
        stamp,
        last.full_size if last is not None else stamp[1],
        {**result, "as_of": str(result["as_of"])},
        {name: sorted(clients) for name, clients in state.clients.items()},
        state.n_checked,
        state.n_failed,
    )
    keep_last_run(workspace, kept)

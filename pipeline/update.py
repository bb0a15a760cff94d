"""One run of the pipeline on a workspace: the only module that knows the order of the stages.

ingest → clean → validate → model → analyse → publish. Each stage hands tables to the next; nothing is published
unless every file adds up and every check that stops holds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import duckdb
import polars as pl

import pipeline
from pipeline.answers import read_answers
from pipeline.clean.bodyweights import with_system_kg
from pipeline.clean.check_in_rows import excused_spans, read_check_ins
from pipeline.clean.clean_inbox import clean_inbox
from pipeline.clean.coach_tables import CoachTable
from pipeline.clean.knowledge import Knowledge, gather_knowledge, names_by_client
from pipeline.clean.pain import pain_notes
from pipeline.clean.people import Roster
from pipeline.clean.plan_rows import break_spans, read_plans
from pipeline.clean.roster_rows import read_roster
from pipeline.contract import TABLES
from pipeline.contract.frames import as_table, frame_of
from pipeline.contract.records import LOGGED_SET
from pipeline.contract.sheets import SourceFile
from pipeline.errors import PublishRefused
from pipeline.ingest import read_folder
from pipeline.ingest.read_files import read_file
from pipeline.model.load_tables import calendar_frame, load_tables, setting_frame
from pipeline.reference import Catalogue, load_catalogue
from pipeline.validate.accounts import Accounts, add_earlier, balance
from pipeline.validate.gate import GateResult, pass_gate
from pipeline.validate.judge import Judge
from pipeline.workspace import Settings, Workspace

if TYPE_CHECKING:
    from pathlib import Path

RULES_VERSION = "1"
Progress = Callable[[str, str], None]


@dataclass(frozen=True)
class UpdateResult:
    """What a run did: counts over the inbox, and the file that was published."""

    as_of: date
    n_files: int
    counts: dict[str, int]
    n_sets: int
    n_questions: int
    n_refused_files: int
    published: Path


def update(workspace: Workspace, as_of: date, progress: Progress = lambda stage, what: None) -> UpdateResult:
    """Read everything, publish a new history. PublishRefused where something does not add up; the last
    published history then stays as it was."""
    from pipeline.keep.versions import bring_up_to_date

    with workspace.lock():
        bring_up_to_date(workspace)
        return _update(workspace, as_of, progress)


def _update(workspace: Workspace, as_of: date, progress: Progress) -> UpdateResult:
    from pipeline.publish.replace_history import building, replace_history
    from pipeline.publish.result_page import write_result_page

    progress("ingest", "reading the files")
    with Judge(LOGGED_SET, workspace.store / "verdicts") as judge:
        inbox = list(read_folder(workspace.inbox, "inbox", lambda name: progress("ingest", name)))
        plans = list(read_folder(workspace.plans, "plans"))
        check_in_files = list(read_folder(workspace.check_ins, "check_ins"))
        tables, accounts = read_records(workspace, inbox, plans, check_in_files, as_of, judge, progress)
    if accounts.faults:
        raise PublishRefused(
            f"Nothing was published: {accounts.faults[0]}", "Please report this file's layout."
        )
    with building(workspace) as path:
        with duckdb.connect(str(path)) as con:
            refusals = model_and_analyse(con, tables, workspace.settings, as_of, progress)
            if refusals:
                raise PublishRefused(
                    f"Nothing was published: {refusals[0]}", "The last published history stays."
                )
            ledger = tables["file_ledger"].filter((pl.col("source_area") == "inbox") & pl.col("is_current"))
            n_questions = tables["open_question"].height
            con.execute("checkpoint")
        progress("publish", "replacing the history")
        published = replace_history(workspace, path)
    # the page speaks of what is published, so it comes after
    with workspace.open_history() as con:
        write_result_page(con, workspace, as_of)
    counts = {
        name: int(ledger[name].sum())
        for name in ("n_records", "n_loaded", "n_duplicate", "n_rejected", "n_waiting", "n_ignored")
    }
    refused = ledger.filter(pl.col("outcome") == "refused").height
    return UpdateResult(
        as_of, ledger.height, counts, int(ledger["n_sets"].sum()), n_questions, refused, published
    )


def read_records(
    workspace: Workspace,
    inbox: Sequence[SourceFile],
    plans: Sequence[SourceFile],
    check_in_files: Sequence[SourceFile],
    as_of: date,
    judge: Judge,
    progress: Progress,
) -> tuple[dict[str, pl.DataFrame], Accounts]:
    """Input and record tables of the contract from the files, and their accounts."""
    own = {area: CoachTable(area) for area in ("workspace", "plans", "check_ins")}
    roster_file = _roster_file(workspace)
    clients = read_roster(roster_file, own["workspace"]) if roster_file else []
    catalogue = load_catalogue(workspace.exercises_csv)
    known = _knowledge(workspace, clients, catalogue, as_of)
    slots = [slot for source in plans for slot in read_plans(source, known, own["plans"])]
    check_ins = [row for source in check_in_files for row in read_check_ins(source, known, own["check_ins"])]
    progress("clean", "reading the records")
    cleaned = clean_inbox(inbox, known, lambda name: progress("clean", name))
    tables = {
        "client": frame_of(TABLES["client"], [*clients, *_strangers(clients, cleaned.tables.logged_set)]),
        "exercise": catalogue.exercise,
        "exercise_muscle": catalogue.exercise_muscle,
        "muscle_target": _targets(catalogue, workspace.settings),
        "plan_slot": frame_of(TABLES["plan_slot"], slots),
        "check_in": frame_of(TABLES["check_in"], check_ins),
        "excused_span": frame_of(TABLES["excused_span"], [*break_spans(slots), *excused_spans(check_ins)]),
        "setting": setting_frame(workspace.settings, as_of),
    }
    progress("validate", "checking the contract's rules")
    sets = with_system_kg(cleaned.tables.logged_set, tables["check_in"], tables["client"], tables["exercise"])
    gate = pass_gate(sets, judge) if sets.height else GateResult(sets, pl.DataFrame(), [])
    rejected = _rejected(cleaned.tables.rejected_row, gate, own, catalogue)
    ignored = pl.concat(
        [
            as_table(TABLES["ignored_row"], cleaned.tables.ignored_row),
            *[frame_of(TABLES["ignored_row"], table.ignored) for table in own.values()],
        ]
    )
    tables |= {
        "logged_set": gate.passed,
        "rejected_row": rejected,
        "duplicate_row": cleaned.tables.duplicate_row,
        "waiting_row": cleaned.tables.waiting_row,
        "ignored_row": ignored,
        "open_question": cleaned.open_question,
        "name_resolution": cleaned.name_resolution,
        "validation_result": pl.DataFrame(gate.results),
        "session_note": cleaned.tables.session_note,
        "pain_note": _pain(cleaned.tables.pain_note, tables["check_in"]),
    }
    sources = [*inbox, *plans, *check_in_files]
    accounts = _balance(sources, tables, as_of, cleaned.layouts, cleaned.messages)
    tables["file_ledger"] = add_earlier(accounts.ledger, _earlier_ledger(workspace))
    tables["pipeline_run"] = _run_frame(tables, as_of)
    return tables, accounts


def model_and_analyse(
    con: duckdb.DuckDBPyConnection,
    tables: dict[str, pl.DataFrame],
    settings: Settings,
    as_of: date,
    progress: Progress = lambda stage, what: None,
) -> list[str]:
    """Load the tables, run every model, check them; sentences that forbid publishing (none: all holds)."""
    from pipeline.analyse import PYTHON_MODELS
    from pipeline.model.checks import check_models, refusals, validation_rows
    from pipeline.model.data_dictionary import data_dictionary
    from pipeline.model.sql_models import Model, read_models, run_models, write_table

    first = min(
        [
            day
            for day in (
                _first_day(tables, "logged_set", "session_date"),
                _first_day(tables, "plan_slot", "valid_from"),
            )
            if day
        ],
        default=as_of,
    )
    progress("model", "loading the tables")
    load_tables(con, tables)
    load_tables(con, {"calendar": calendar_frame(min(first, as_of), as_of, settings.first_weekday)})
    python_models = [Model(name, reads, build=build) for name, reads, build in PYTHON_MODELS]
    run_models(con, [*read_models(), *python_models], lambda name: progress("model", name))
    made = {model.name for model in python_models} | {model.name for model in read_models()}
    for name, table in TABLES.items():
        if name not in made and name not in tables and name not in ("calendar", "data_dictionary"):
            load_tables(con, {table.name: pl.DataFrame()})
    progress("model", "checking what was computed")
    findings = check_models(con)
    results = pl.concat(
        [
            as_table(TABLES["validation_result"], tables["validation_result"]),
            as_table(TABLES["validation_result"], validation_rows(findings)),
        ]
    )
    write_table(con, "validation_result", results)
    write_table(con, "data_dictionary", data_dictionary())
    return refusals(findings)


def _roster_file(workspace: Workspace) -> SourceFile | None:
    if not workspace.clients_csv.exists():
        return None
    return read_file(workspace.clients_csv, workspace.root, "workspace")


def _knowledge(
    workspace: Workspace, clients: list[dict[str, object]], catalogue: Catalogue, as_of: date
) -> Knowledge:
    answers = read_answers(workspace.answers_csv)
    roster = Roster(names_by_client(clients), answers)
    return gather_knowledge(clients, roster, catalogue, answers, as_of, workspace.settings)


def _strangers(clients: list[dict[str, object]], sets: pl.DataFrame) -> list[dict[str, object]]:
    """Clients that logs name and the roster does not."""
    if not sets.height:
        return []
    known = {str(client["client_id"]) for client in clients}
    return [
        {"client_id": client_id, "name": client_id, "is_in_roster": False}
        for client_id in sorted(sets["client_id"].unique().to_list())
        if client_id not in known
    ]


def _targets(catalogue: Catalogue, settings: Settings) -> pl.DataFrame:
    own = pl.DataFrame(
        [(muscle, low, high, "workspace.toml") for muscle, (low, high) in settings.muscle_targets.items()],
        orient="row",
        schema=catalogue.muscle_target.schema,
    )
    others = catalogue.muscle_target.filter(~pl.col("muscle").is_in(own["muscle"].to_list()))
    return pl.concat([others, own]).sort("muscle")


def _rejected(
    cleaned: pl.DataFrame, gate: GateResult, own: dict[str, CoachTable], catalogue: Catalogue
) -> pl.DataFrame:
    """Refused records of all areas; a record refused at the gate whose other sets passed is refused in part."""
    table = TABLES["rejected_row"]
    at_gate = as_table(table, gate.rejected)
    place = ["source_file", "source_sheet", "source_row"]
    if at_gate.height:
        still_loaded = gate.passed.select(place).unique().with_columns(pl.lit(value=True).alias("loaded"))
        at_gate = (
            at_gate.join(still_loaded, on=place, how="left", nulls_equal=True)
            .with_columns(pl.col("loaded").fill_null(value=False).alias("is_part"))
            .drop("loaded")
        )
    problems = [
        (
            "workspace",
            "exercises.csv",
            "",
            p.source_row,
            p.column_name,
            p.raw_text,
            p.reason_code,
            p.message,
            "Correct the row in exercises.csv.",
            False,
        )
        for p in catalogue.problems
    ]
    coach = [
        frame_of(table, [*t.rejected, *(problems if area == "workspace" else [])]) for area, t in own.items()
    ]
    return pl.concat([as_table(table, cleaned), at_gate, *coach])


def _pain(from_logs: pl.DataFrame, check_in: pl.DataFrame) -> pl.DataFrame:
    table = TABLES["pain_note"]
    found = pain_notes(check_in.rename({"check_in_date": "session_date"})).with_columns(
        pl.lit("check_ins").alias("source_area")
    )
    return pl.concat([as_table(table, from_logs), as_table(table, found)]).sort(
        "client_id", "session_date", "source_row"
    )


def _balance(
    sources: Sequence[SourceFile],
    tables: dict[str, pl.DataFrame],
    as_of: date,
    layouts: dict[str, str],
    messages: dict[str, str],
) -> Accounts:
    place = ["source_area", "source_file", "source_sheet", "source_row"]
    loaded = [as_table(TABLES["logged_set"], tables["logged_set"]).select(place)]
    for name, area in (("plan_slot", "plans"), ("check_in", "check_ins")):
        loaded.append(tables[name].select(pl.lit(area).alias("source_area"), *place[1:]))
    rejected = tables["rejected_row"].filter(~pl.col("is_part").fill_null(value=False))
    fates = {
        "loaded": pl.concat(loaded),
        "waiting": tables["waiting_row"],
        "duplicate": tables["duplicate_row"],
        "rejected": rejected,
        "ignored": tables["ignored_row"],
    }
    kept = {
        name: as_table(TABLES["ignored_row"], frame).select(place) if name != "loaded" else frame
        for name, frame in fates.items()
    }
    return balance(sources, kept, as_of, layouts, messages)


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


def _run_frame(tables: dict[str, pl.DataFrame], as_of: date) -> pl.DataFrame:
    ledger = tables["file_ledger"].filter((pl.col("source_area") == "inbox") & pl.col("is_current"))
    return pl.DataFrame(
        [
            {
                "as_of": as_of,
                "version": pipeline.__version__,
                "rules_version": RULES_VERSION,
                "n_files": ledger.height,
                "n_records": int(ledger["n_records"].sum()),
                "n_sets": int(ledger["n_sets"].sum()),
            }
        ]
    )


def _first_day(tables: dict[str, pl.DataFrame], table: str, column: str) -> date | None:
    frame = tables[table]
    day = frame[column].min() if frame.height else None
    return day if isinstance(day, date) else None

"""What a run knows before it opens a log: roster, catalogue, plans, check-ins, answers, settings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.answers import read_answers
from pipeline.clean.check_in_rows import excused_spans, read_check_ins
from pipeline.clean.coach_tables import CoachTable
from pipeline.clean.knowledge import Knowledge, gather_knowledge, names_by_client
from pipeline.clean.pain import pain_notes
from pipeline.clean.people import Roster
from pipeline.clean.plan_rows import break_spans, read_plans
from pipeline.clean.roster_rows import read_roster
from pipeline.contract import TABLES
from pipeline.contract.frames import as_table, frame_of
from pipeline.contract.sheets import SourceFile
from pipeline.ingest import read_folder
from pipeline.ingest.read_files import read_file
from pipeline.model.load_tables import setting_frame
from pipeline.reference import Catalogue, load_catalogue
from pipeline.validate.accounts import Accounts, balance
from pipeline.workspace import Settings, Workspace


@dataclass(frozen=True)
class RunInputs:
    """`tables` are input tables of the contract and the records of the coach's own files; `client` is the
    roster as clients.csv has it. `accounts` are those of plans and check-ins."""

    known: Knowledge
    tables: dict[str, pl.DataFrame]
    accounts: Accounts


def read_inputs(workspace: Workspace, as_of: date) -> RunInputs:
    """Read everything but the inbox."""
    own = {area: CoachTable(area) for area in ("workspace", "plans", "check_ins")}
    clients: list[dict[str, object]] = []
    if workspace.clients_csv.exists():
        clients = read_roster(read_file(workspace.clients_csv, workspace.root, "workspace"), own["workspace"])
    catalogue = load_catalogue(workspace.exercises_csv)
    answers = read_answers(workspace.answers_csv)
    known = gather_knowledge(
        clients,
        Roster(names_by_client(clients), answers),
        catalogue,
        answers,
        as_of,
        workspace.settings,
    )
    plans = list(read_folder(workspace.plans, "plans"))
    check_in_files = list(read_folder(workspace.check_ins, "check_ins"))
    slots = [slot for source in plans for slot in read_plans(source, known, own["plans"])]
    check_ins = [row for source in check_in_files for row in read_check_ins(source, known, own["check_ins"])]
    tables = {
        "client": frame_of(TABLES["client"], clients),
        "exercise": catalogue.exercise,
        "exercise_muscle": catalogue.exercise_muscle,
        "muscle_target": _targets(catalogue, workspace.settings),
        "plan_slot": frame_of(TABLES["plan_slot"], slots),
        "check_in": frame_of(TABLES["check_in"], check_ins),
        "excused_span": frame_of(TABLES["excused_span"], [*break_spans(slots), *excused_spans(check_ins)]),
        "setting": setting_frame(workspace.settings, as_of),
        "rejected_row": _rejected(own, catalogue),
        "ignored_row": pl.concat([frame_of(TABLES["ignored_row"], table.ignored) for table in own.values()]),
    }
    tables["pain_note"] = _pain(tables["check_in"])
    return RunInputs(known, tables, _balance([*plans, *check_in_files], tables, as_of))


def _targets(catalogue: Catalogue, settings: Settings) -> pl.DataFrame:
    own = pl.DataFrame(
        [(muscle, low, high, "workspace.toml") for muscle, (low, high) in settings.muscle_targets.items()],
        orient="row",
        schema=catalogue.muscle_target.schema,
    )
    others = catalogue.muscle_target.filter(~pl.col("muscle").is_in(own["muscle"].to_list()))
    return pl.concat([others, own]).sort("muscle")


def _rejected(own: dict[str, CoachTable], catalogue: Catalogue) -> pl.DataFrame:
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
    return pl.concat(
        [
            frame_of(TABLES["rejected_row"], [*t.rejected, *(problems if area == "workspace" else [])])
            for area, t in own.items()
        ]
    )


def _pain(check_in: pl.DataFrame) -> pl.DataFrame:
    found = pain_notes(check_in.rename({"check_in_date": "session_date"}))
    return as_table(TABLES["pain_note"], found.with_columns(pl.lit("check_ins").alias("source_area"))).sort(
        "client_id", "session_date", "source_row"
    )


def _balance(sources: list[SourceFile], tables: dict[str, pl.DataFrame], as_of: date) -> Accounts:
    place = ["source_area", "source_file", "source_sheet", "source_row"]
    loaded = [
        tables[name].select(pl.lit(area).alias("source_area"), *place[1:])
        for name, area in (("plan_slot", "plans"), ("check_in", "check_ins"))
    ]
    rejected = tables["rejected_row"].filter(~pl.col("is_part").fill_null(value=False))
    fates = {
        "loaded": pl.concat(loaded),
        "rejected": rejected.select(place),
        "ignored": tables["ignored_row"].select(place),
    }
    return balance(sources, fates, as_of, {}, {})

"""The logs of some files turned into record tables of the contract: ingest, clean, validate.

Files are taken together as long as they can concern each other, which is as long as they hold records of the
same client. What leaves is complete for the clients of these files only if no other file speaks of them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.clean.bodyweights import with_system_kg
from pipeline.clean.clean_inbox import CleanedInbox, clean_inbox
from pipeline.contract import TABLES
from pipeline.contract.frames import as_table
from pipeline.contract.sheets import SourceFile
from pipeline.run.inputs import RunInputs
from pipeline.validate.accounts import Accounts, balance
from pipeline.validate.gate import GateResult, pass_gate
from pipeline.validate.judge import Judge

_PLACE = ["source_area", "source_file", "source_sheet", "source_row"]


@dataclass(frozen=True)
class ReadRecords:
    """Record tables of some files of the inbox.

    `clients`: file → whose records it holds; `n_checked`: file → sets that came to the gate; `failures`: rows
    of each file that broke a rule there (source_file, rule_id, n_failed).
    """

    tables: dict[str, pl.DataFrame]
    accounts: Accounts
    clients: dict[str, frozenset[str]]
    n_checked: dict[str, int]
    failures: pl.DataFrame


def read_records(
    sources: Sequence[SourceFile],
    inputs: RunInputs,
    judge: Judge,
    as_of: date,
    on_file: Callable[[str], None],
) -> ReadRecords:
    """Every record of these files with its fate."""
    given = inputs.tables
    cleaned = clean_inbox(sources, inputs.known, on_file)
    sets = with_system_kg(cleaned.tables.logged_set, given["check_in"], given["client"], given["exercise"])
    gate = pass_gate(sets, judge) if sets.height else GateResult(sets, pl.DataFrame(), pl.DataFrame())
    tables = {
        "logged_set": gate.passed,
        "rejected_row": pl.concat(
            [as_table(TABLES["rejected_row"], cleaned.tables.rejected_row), _rejected_at_gate(gate)]
        ),
        "duplicate_row": cleaned.tables.duplicate_row,
        "waiting_row": cleaned.tables.waiting_row,
        "ignored_row": cleaned.tables.ignored_row,
        "open_question": cleaned.open_question,
        "name_resolution": cleaned.name_resolution,
        "session_note": cleaned.tables.session_note,
        "pain_note": cleaned.tables.pain_note,
    }
    tables = {name: as_table(TABLES[name], frame) for name, frame in tables.items()}
    n_checked = dict(sets.group_by("source_file").len().iter_rows()) if sets.height else {}
    accounts = _balance(sources, tables, cleaned, as_of)
    return ReadRecords(tables, accounts, cleaned.clients, n_checked, gate.failures)


def _rejected_at_gate(gate: GateResult) -> pl.DataFrame:
    """A record refused at the gate whose other sets passed is refused in part."""
    at_gate = as_table(TABLES["rejected_row"], gate.rejected)
    if not at_gate.height:
        return at_gate
    still_loaded = gate.passed.select(_PLACE[1:]).unique().with_columns(pl.lit(value=True).alias("loaded"))
    return (
        at_gate.join(still_loaded, on=_PLACE[1:], how="left", nulls_equal=True)
        .with_columns(pl.col("loaded").fill_null(value=False).alias("is_part"))
        .drop("loaded")
    )


def _balance(
    sources: Sequence[SourceFile], tables: dict[str, pl.DataFrame], cleaned: CleanedInbox, as_of: date
) -> Accounts:
    rejected = tables["rejected_row"].filter(~pl.col("is_part").fill_null(value=False))
    fates = {
        "loaded": tables["logged_set"],
        "waiting": tables["waiting_row"],
        "duplicate": tables["duplicate_row"],
        "rejected": rejected,
        "ignored": tables["ignored_row"],
    }
    places = {name: frame.select(_PLACE) for name, frame in fates.items()}
    return balance(sources, places, as_of, cleaned.layouts, cleaned.messages)

"""An inbox made from given texts, read and cleaned as an update does, without models and pages."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.answers import HEADER, Answers
from pipeline.clean.clean_inbox import CleanedInbox, clean_inbox
from pipeline.clean.exercise_names import NameMatcher
from pipeline.clean.knowledge import ClientProfile, Knowledge
from pipeline.clean.people import Roster
from pipeline.contract.frames import as_table
from pipeline.contract.records import IGNORED_ROW
from pipeline.contract.sheets import SourceFile
from pipeline.ingest.read_files import read_file
from pipeline.reference import Catalogue, load_catalogue
from pipeline.validate.accounts import Accounts, balance

AS_OF = date(2026, 6, 28)
CLIENTS = (("anna", "Anna Berg"), ("ben", "Ben Okafor"))
_AMOUNTS = ("load_kg", "reps")


@cache
def catalogue() -> Catalogue:
    """The catalogue, read once for all tests."""
    return load_catalogue()


@cache
def matcher() -> NameMatcher:
    """Its matcher, made once."""
    return NameMatcher(catalogue())


def knowledge(
    clients: Sequence[tuple[str, str]] = CLIENTS,
    *,
    unit: str = "kg",
    order: str = "dmy",
    answers: Iterable[Sequence[str]] = (),
    as_of: date = AS_OF,
    start: date | None = None,
) -> Knowledge:
    """Clients who share a unit and date order; an answer is kind, client, file, text, answer."""
    given = Answers([dict(zip(HEADER, answer, strict=False)) for answer in answers])
    profiles = {client_id: ClientProfile(client_id, unit, order, start) for client_id, _ in clients}
    return Knowledge(Roster(clients, given), profiles, catalogue(), matcher(), given, as_of)


@dataclass(frozen=True)
class ReadInbox:
    """What became of an inbox: the record tables, the accounts and shortcuts to what tests ask for."""

    sources: list[SourceFile]
    cleaned: CleanedInbox
    accounts: Accounts

    @property
    def sets(self) -> list[dict[str, Any]]:
        """Loaded sets as mappings, in file order."""
        frame = self.cleaned.tables.logged_set
        return frame.to_dicts() if frame.height else []

    @property
    def amounts(self) -> list[tuple[float | None, int | None]]:
        """Load and repetitions of every set."""
        return [(row["load_kg"], row["reps"]) for row in self.sets]

    def values(self, *columns: str) -> list[tuple[Any, ...]]:
        """Chosen columns of every set."""
        return [tuple(row[column] for column in columns) for row in self.sets]

    @property
    def reasons(self) -> list[tuple[int | None, str]]:
        """Record and reason code of whatever was refused."""
        return list(self.cleaned.tables.rejected_row.select("source_row", "reason_code").iter_rows())

    @property
    def ignored(self) -> dict[int, str]:
        """Record → rule of the records that hold no set (one file, one sheet)."""
        return dict(self.cleaned.tables.ignored_row.select("source_row", "rule").iter_rows())

    @property
    def waiting(self) -> list[tuple[int, str]]:
        """Record and kind of question of whatever waits."""
        rows = self.cleaned.tables.waiting_row.select("source_row", "question_id").iter_rows()
        return [(row, question_id.rsplit("-", 1)[0]) for row, question_id in rows]

    @property
    def duplicates(self) -> list[tuple[int, str, int]]:
        """Record, and the file and record that hold it already."""
        columns = ("source_row", "first_seen_file", "first_seen_row")
        return list(self.cleaned.tables.duplicate_row.select(columns).iter_rows())

    @property
    def questions(self) -> list[dict[str, Any]]:
        """The open questions."""
        return self.cleaned.open_question.to_dicts()

    @property
    def fates(self) -> dict[str, int]:
        """Records of all files by fate."""
        names = ("n_records", "n_loaded", "n_duplicate", "n_rejected", "n_waiting", "n_ignored")
        return {name[2:]: int(self.accounts.ledger[name].sum()) for name in names}


def read_inbox(files: Mapping[str, str | bytes], known: Knowledge | None = None) -> ReadInbox:
    """The files (path below the inbox → content) read, cleaned and balanced."""
    known = known or knowledge()
    sources = read_sources(files)
    cleaned = clean_inbox(sources, known)
    tables = cleaned.tables
    rejected = tables.rejected_row.filter(~pl.col("is_part").fill_null(value=False))
    frames = {
        "loaded": tables.logged_set,
        "waiting": tables.waiting_row,
        "rejected": rejected,
        "duplicate": tables.duplicate_row,
        "ignored": tables.ignored_row,
    }
    places = {
        fate: as_table(IGNORED_ROW, frame).drop("rule", "raw_text", strict=False)
        for fate, frame in frames.items()
    }
    accounts = balance(sources, places, known.as_of, cleaned.layouts, cleaned.messages)
    return ReadInbox(sources, cleaned, accounts)


def read_sources(files: Mapping[str, str | bytes]) -> list[SourceFile]:
    """The files as ingest reads them."""
    with tempfile.TemporaryDirectory() as folder:
        inbox = Path(folder)
        sources = []
        for name, content in files.items():
            path = inbox / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content.encode() if isinstance(content, str) else content)
            sources.append(read_file(path, inbox, "inbox"))
        return sources


def read_log(text: str | bytes, name: str = "anna/log.csv", **known: Any) -> ReadInbox:
    """One file of one client; other arguments go to `knowledge`."""
    return read_inbox({name: text}, knowledge(**known))

"""The made history, once for all tests, and its connection."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import duckdb
import pytest
from made_month import COACH_NOTE, FOCUS, MONTH, make_history

from dashboards.report import write_report
from dashboards.report.facts import MonthFacts
from dashboards.report.month import parse_month
from dashboards.report.read_facts import read_facts
from pipeline.notes import NotesStore


@pytest.fixture(scope="session")
def history(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_history(tmp_path_factory.mktemp("history") / "history.duckdb")


@pytest.fixture(scope="session")
def notes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("notes") / "notes.duckdb"
    store = NotesStore(path)
    store.write_month_text("anna", MONTH, "report", COACH_NOTE)
    store.write_month_text("anna", MONTH, "focus", FOCUS)
    return path


@pytest.fixture(scope="session")
def con(history: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    connection = duckdb.connect(str(history), read_only=True)
    yield connection
    connection.close()


@pytest.fixture(scope="session")
def facts_of(con: duckdb.DuckDBPyConnection) -> Callable[..., MonthFacts]:
    def read(client_id: str, month: str = MONTH) -> MonthFacts:
        return read_facts(con, client_id, parse_month(month))

    return read


@pytest.fixture(scope="session")
def report_of(history: Path, notes: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Path]:
    """Writes a client's report once for each set of options and returns its path."""
    folder = tmp_path_factory.mktemp("reports")
    written: dict[tuple[Any, ...], Path] = {}

    def write(client_id: str, file_format: str = "pdf", month: str = MONTH, **options: Any) -> Path:
        key = (client_id, file_format, month, *sorted(options.items()))
        if key not in written:
            out = folder / f"{len(written)}.{file_format}"
            written[key] = write_report(
                history,
                notes,
                client_id,
                month,
                out,
                file_format=file_format,
                **options,  # type: ignore[arg-type]
            )
        return written[key]

    return write

"""Writes reports: one client's, the whole roster's one by one, and the coach's summary of the roster."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import duckdb

from dashboards.report.client_report import make_client_report
from dashboards.report.month import parse_month
from dashboards.report.pdf_file import make_pdf
from dashboards.report.read_facts import read_facts
from dashboards.report.roster import make_roster_summary, read_roster
from dashboards.report.roster_workbook import make_roster_workbook
from dashboards.report.web_page import make_web_page
from dashboards.report.words import read_words
from dashboards.report.workbook import make_workbook
from pipeline.errors import SetwrightError, WorkspaceError
from pipeline.notes import NotesStore
from pipeline.workspace import client_file_stem

FileFormat = Literal["pdf", "html", "xlsx"]
Paper = Literal["a4", "letter"]
FILE_FORMATS = ("pdf", "html", "xlsx")
PAPERS = ("a4", "letter")


@dataclass(frozen=True)
class ReportResult:
    """What became of one client's report: the file, or the reason there is none."""

    client_id: str
    path: Path | None
    error: str = ""


def write_report(
    history_path: Path,
    notes_path: Path | None,
    client_id: str,
    month: str,
    out_path: Path,
    *,
    file_format: FileFormat = "pdf",
    language: str = "en",
    paper: Paper = "a4",
    show_state: bool = False,
    messages_folder: Path | None = None,
) -> Path:
    """Write a client's report of `month` (YYYY-MM) to `out_path`, whole or not at all, and return the path.

    `show_state` adds the state in words; `messages_folder` holds a coach's own catalogues. SetwrightError
    for an unknown client, month, language or format, or a history that cannot be read.
    """
    _check(file_format, paper)
    asked = parse_month(month)
    texts = NotesStore(notes_path).read_month_text(client_id, asked.key) if notes_path else {}
    with _history(history_path) as con:
        facts = read_facts(con, client_id, asked, texts.get("report", ""), texts.get("focus", ""))
        words = read_words(language, facts.client.unit, messages_folder)
        if file_format == "xlsx":
            made = make_workbook(con, facts, words, show_state=show_state)
        else:
            document = make_client_report(
                con, facts, words, paper=paper, show_state=show_state, for_screen=file_format == "html"
            )
            made = make_pdf(document, facts.known_until) if file_format == "pdf" else make_web_page(document)
    return _write(out_path, made)


def write_roster_summary(
    history_path: Path,
    month: str,
    out_path: Path,
    *,
    file_format: FileFormat = "pdf",
    language: str = "en",
    paper: Paper = "a4",
    messages_folder: Path | None = None,
) -> Path:
    """Write the coach's summary of the roster for `month` to `out_path`. Errors as in `write_report`."""
    _check(file_format, paper)
    asked = parse_month(month)
    words = read_words(language, "kg", messages_folder)
    with _history(history_path) as con:
        facts = read_roster(con, asked)
    if file_format == "xlsx":
        return _write(out_path, make_roster_workbook(facts, words))
    document = make_roster_summary(facts, words, paper=paper)
    return _write(
        out_path, make_pdf(document, facts.known_until) if file_format == "pdf" else make_web_page(document)
    )


def report_file_name(client_id: str, month: str, file_format: FileFormat = "pdf") -> str:
    """The name of a report's file: safe on every system, different for different clients."""
    return f"{client_file_stem(client_id)}-{month}.{file_format}"


def write_reports(
    history_path: Path,
    notes_path: Path | None,
    client_ids: Iterable[str],
    month: str,
    out_folder: Path,
    *,
    file_format: FileFormat = "pdf",
    language: str = "en",
    paper: Paper = "a4",
    show_state: bool = False,
    messages_folder: Path | None = None,
    processes: int = 2,
    on_done: Callable[[ReportResult], None] | None = None,
) -> list[ReportResult]:
    """Write the reports of many clients into `out_folder`; one that fails does not stop the others.

    `on_done` is told each result as it comes; the returned list is in the order of `client_ids`. What
    concerns all of them (month, language, format, history) raises SetwrightError before the first.
    """
    from dashboards.report.workers import Job, run_jobs

    _check(file_format, paper)
    asked = parse_month(month)
    read_words(language, "kg", messages_folder)
    with _history(history_path):
        pass
    out_folder.mkdir(parents=True, exist_ok=True)
    jobs = [
        Job(
            history_path=str(history_path),
            notes_path=str(notes_path) if notes_path else "",
            client_id=client_id,
            month=asked.key,
            out_path=str(out_folder / report_file_name(client_id, asked.key, file_format)),
            file_format=file_format,
            language=language,
            paper=paper,
            show_state=show_state,
            messages_folder=str(messages_folder) if messages_folder else "",
        )
        for client_id in dict.fromkeys(client_ids)
    ]
    return run_jobs(jobs, processes, on_done or (lambda _: None))


def _check(file_format: str, paper: str) -> None:
    if file_format not in FILE_FORMATS:
        raise SetwrightError(f"{file_format!r} is not a format.", f"Formats: {', '.join(FILE_FORMATS)}.")
    if paper not in PAPERS:
        raise SetwrightError(f"{paper!r} is not a paper size.", f"Sizes: {', '.join(PAPERS)}.")


@contextmanager
def _history(history_path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """The history, read-only, by its real path (the name may be a link to the present one)."""
    if not history_path.exists():
        raise WorkspaceError(f"There is no history at {history_path}.", "Run setwright update first.")
    try:
        with closing(duckdb.connect(str(history_path.resolve()), read_only=True)) as con:
            yield con
    except duckdb.Error as err:
        # not a database, or one that another version of this program made
        raise WorkspaceError(f"{history_path} cannot be read as a history.", "Run setwright update.") from err


def _write(out_path: Path, made: bytes) -> Path:
    """Put the bytes in place at once, so that a reader never sees half a file."""
    try:
        out_path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=out_path.parent, prefix=".report-")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(made)
            Path(name).replace(out_path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as err:
        raise SetwrightError(f"{out_path} cannot be written: {err.strerror or err}.") from err
    return out_path

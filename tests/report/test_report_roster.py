"""Many reports at once, and the coach's summary of the roster."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import pytest
from made_month import AWAY, CLIENTS, FULL, MONTH, NEW, POUNDS, QUIET
from openpyxl import load_workbook
from pypdf import PdfReader

from dashboards.report import (
    ReportResult,
    report_file_name,
    workers,
    write_report,
    write_reports,
    write_roster_summary,
)
from dashboards.report.month import parse_month
from dashboards.report.roster import read_roster
from dashboards.report.workers import Job, _ask
from pipeline.errors import SetwrightError


@pytest.mark.slow
def test_one_clients_failure_does_not_stop_the_rest(history: Path, tmp_path: Path) -> None:
    told: list[ReportResult] = []
    results = write_reports(
        history, None, [QUIET, "nobody", AWAY], MONTH, tmp_path, processes=2, on_done=told.append
    )
    assert [result.client_id for result in results] == [QUIET, "nobody", AWAY]
    assert [result.error == "" for result in results] == [True, False, True]
    assert "nobody" in results[1].error
    assert sorted(result.client_id for result in told) == sorted([QUIET, "nobody", AWAY])
    assert sorted(path.name for path in tmp_path.iterdir()) == ["carla-2026-05.pdf", "elif-2026-05.pdf"]


@pytest.mark.slow
def test_several_processes_write_the_same_bytes_as_one(history: Path, notes: Path, tmp_path: Path) -> None:
    alone = write_report(history, notes, FULL, MONTH, tmp_path / "alone.pdf")
    together = write_reports(history, notes, [FULL, NEW], MONTH, tmp_path, processes=2)
    assert together[0].path is not None
    assert together[0].path.read_bytes() == alone.read_bytes()


def test_an_error_nobody_foresaw_becomes_the_clients_result(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> Path:
        raise ZeroDivisionError("a figure")

    monkeypatch.setattr(workers, "write_report", fail)
    result = workers.do_job(Job("h", "", FULL, MONTH, "o", "pdf", "en", "a4", False, ""))
    assert result == ReportResult(FULL, None, "ZeroDivisionError: a figure")


def test_a_worker_that_dies_costs_one_report_and_not_the_run() -> None:
    dead = subprocess.Popen(
        [sys.executable, "-c", "input()"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    result = _ask(dead, Job("h", "", FULL, MONTH, "o", "pdf", "en", "a4", False, ""))
    assert result.path is None
    assert "ended before it was done" in result.error
    assert dead.poll() is not None


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"month": "May"}, "not a month"),
        ({"language": "xx"}, "not a language|no message catalogue"),
        ({"file_format": "docx"}, "not a format"),
        ({"paper": "a5"}, "not a paper"),
    ],
)
def test_what_concerns_everyone_is_refused_before_the_first_report(
    history: Path, tmp_path: Path, options: dict[str, Any], message: str
) -> None:
    month = options.pop("month", MONTH)
    with pytest.raises(SetwrightError, match=message):
        write_reports(history, None, [FULL], month, tmp_path / "out", **options)
    assert not (tmp_path / "out").exists()


def test_a_missing_or_broken_history_is_named(tmp_path: Path) -> None:
    with pytest.raises(SetwrightError, match="setwright update"):
        write_report(tmp_path / "none.duckdb", None, FULL, MONTH, tmp_path / "x.pdf")
    (tmp_path / "broken.duckdb").write_bytes(b"not a database" * 100)
    with pytest.raises(SetwrightError, match="cannot be read"):
        write_report(tmp_path / "broken.duckdb", None, FULL, MONTH, tmp_path / "x.pdf")


def test_a_report_that_fails_leaves_the_old_file_alone(history: Path, tmp_path: Path) -> None:
    kept = tmp_path / "report.pdf"
    kept.write_text("old")
    with pytest.raises(SetwrightError):
        write_report(history, None, "nobody", MONTH, kept)
    assert kept.read_text() == "old"
    assert list(tmp_path.iterdir()) == [kept]


ODD_IDS = (
    "anna",
    "Anna",
    "A b",
    "a b",
    "a_b",
    "a/b",
    "a:b",
    "../../etc/passwd",
    "周",
    "é",
    "e\u0301",
    "CON\n",
)


@pytest.mark.parametrize("client_id", [*ODD_IDS, "x" * 300, "-", "", "😀"])
def test_file_names_are_safe_on_every_system(client_id: str) -> None:
    name = report_file_name(client_id, MONTH)
    assert re.fullmatch(r"[a-z0-9_-]+(\.[0-9a-f]{12})?-2026-05\.pdf", name)
    assert len(name) < 120
    assert name != report_file_name(client_id + " ", MONTH)


def test_no_two_clients_share_a_file_even_where_capitals_and_accents_are_not_told_apart() -> None:
    names = {report_file_name(client_id, MONTH).lower() for client_id in ODD_IDS}
    assert len(names) == len(ODD_IDS)
    told = report_file_name("A b", MONTH).removesuffix(f"-{MONTH}.pdf")
    assert report_file_name(told, MONTH) != f"{told}-{MONTH}.pdf"


def test_the_summary_counts_as_the_clients_reports_do(
    con: duckdb.DuckDBPyConnection, facts_of: Callable[..., Any]
) -> None:
    roster = read_roster(con, parse_month(MONTH))
    assert len(roster.lines) == len(CLIENTS)
    for line in roster.lines:
        facts = facts_of(line.client_id)
        assert (line.n_done, line.n_due) == (facts.n_done, facts.n_due), line.client_id
        assert line.n_bests == len(facts.bests)
        assert line.last_log == facts.last_log


def test_the_summary_is_one_page_that_names_everyone(history: Path, tmp_path: Path) -> None:
    reader = PdfReader(write_roster_summary(history, MONTH, tmp_path / "roster.pdf"))
    assert len(reader.pages) == 1
    told = re.sub(r"\s+", " ", reader.pages[0].extract_text())
    for client_id, name, _ in CLIENTS:
        if client_id in (FULL, POUNDS, QUIET, NEW, AWAY):
            assert name in told
    done, due = 57, 81  # five clients of 11 in 13, none of 13, 2 of 3, and one excused
    assert f"{done / due:.1%}".replace("%", " %") in told.replace("\u00a0", " ")
    assert "1 pain note" in told
    assert "3 rows waiting" in told


def test_the_summary_for_another_month_knows_only_that_month(con: duckdb.DuckDBPyConnection) -> None:
    april = {line.client_id: line for line in read_roster(con, parse_month("2026-04")).lines}
    assert april[QUIET].last_log == date(2026, 4, 24)
    assert april[NEW].last_log is None
    assert april[NEW].state == "none"
    assert april[POUNDS].n_pain_notes == 0
    assert april[POUNDS].n_waiting == 0


def test_the_summary_as_a_workbook_holds_numbers(history: Path, tmp_path: Path) -> None:
    path = write_roster_summary(history, MONTH, tmp_path / "roster.xlsx", file_format="xlsx", language="de")
    sheet = load_workbook(path)["Übersicht aller Klienten"]
    done = {row[0]: row[2] for row in sheet.iter_rows(min_row=2, values_only=True)}
    assert done["Anna Lindqvist"] == 11
    assert {cell.data_type for row in sheet.iter_rows() for cell in row} <= {"s", "n", "d"}


def test_the_summary_as_a_web_page_is_escaped(history: Path, tmp_path: Path) -> None:
    page = write_roster_summary(history, MONTH, tmp_path / "roster.html", file_format="html")
    assert "<script>" not in page.read_text(encoding="utf-8")

"""The workbook read back: typed cells, native charts, and no cell that is a formula."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from made_month import CLIENTS, COACH_NOTE, FULL, HOSTILE, HOSTILE_EXERCISE, HOSTILE_NAME, PAIN_WORDS, POUNDS
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from dashboards.report import write_report
from dashboards.report.words import languages, read_words

Write = Callable[..., Path]


def column(sheet: Worksheet, head: str) -> list[Any]:
    heads = [cell.value for cell in sheet[1]]
    return [row[heads.index(head)] for row in sheet.iter_rows(min_row=2, values_only=True)]


@pytest.mark.parametrize("client_id", [client[0] for client in CLIENTS])
def test_no_cell_is_a_formula_or_a_link(report_of: Write, client_id: str) -> None:
    path = report_of(client_id, "xlsx")
    book = load_workbook(path)
    assert {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row} <= {"s", "n", "d"}
    with zipfile.ZipFile(path) as parts:
        for name in parts.namelist():
            if name.startswith("xl/worksheets/") and name.endswith(".xml"):
                content = parts.read(name)
                assert b"<f>" not in content and b"<f " not in content
                assert b"hyperlink" not in content


def test_hostile_texts_are_kept_and_marked_as_text(report_of: Write) -> None:
    month = load_workbook(report_of(HOSTILE, "xlsx"))["Month"]
    name = next(row[1] for row in month.iter_rows(min_row=2) if row[0].value == "Client")
    assert name.value == HOSTILE_NAME
    assert name.quotePrefix
    lifts = load_workbook(report_of(HOSTILE, "xlsx"))["Lifts"]
    assert HOSTILE_EXERCISE in column(lifts, "Lift")


def test_the_coachs_note_is_one_cell_of_text(report_of: Write) -> None:
    month = load_workbook(report_of(FULL, "xlsx"))["Month"]
    assert COACH_NOTE in [row[1] for row in month.iter_rows(min_row=2, values_only=True)]


def test_the_sheets_hold_the_months_figures_as_numbers_and_dates(
    report_of: Write, facts_of: Callable[..., Any]
) -> None:
    book = load_workbook(report_of(FULL, "xlsx"))
    facts = facts_of(FULL)
    sessions = book["Sessions"]
    assert all(isinstance(day, datetime) for day in column(sessions, "Date"))
    assert sum(sets or 0 for sets in column(sessions, "Sets")) == facts.n_sets
    assert sum(kg or 0 for kg in column(sessions, "Volume load, kg")) == pytest.approx(facts.volume_kg)
    assert column(sessions, "Outcome").count("Planned, not done") == 2
    assert column(book["Muscles"], "Hard sets") == pytest.approx([m.hard_sets for m in facts.muscles])
    formats = {cell.number_format for row in book["Muscles"].iter_rows(min_row=2, min_col=2) for cell in row}
    assert formats == {"#,##0.0"}


def test_weights_are_in_the_clients_unit(report_of: Write, facts_of: Callable[..., Any]) -> None:
    book = load_workbook(report_of(POUNDS, "xlsx"))
    squat = next(lift for lift in facts_of(POUNDS).lifts if lift.exercise_id == "back_squat")
    now = dict(zip(column(book["Lifts"], "Lift"), column(book["Lifts"], "Now, lb"), strict=True))
    assert now["Back squat"] == pytest.approx(squat.now.kg / 0.45359237)  # exact pound, NIST SP 811


def test_charts_are_native_and_read_the_cells_beside_them(report_of: Write) -> None:
    path = report_of(FULL, "xlsx")
    with zipfile.ZipFile(path) as parts:
        charts = [
            parts.read(name).decode() for name in parts.namelist() if name.startswith("xl/charts/chart")
        ]
        assert not [name for name in parts.namelist() if name.startswith("xl/media/")]
    assert len(charts) == 7  # sessions, four lifts, muscles, bodyweight
    assert all("<c:numRef>" in chart for chart in charts)


def test_pain_is_pointed_to_and_never_quoted(report_of: Write) -> None:
    book = load_workbook(report_of(FULL, "xlsx"))
    told = " ".join(str(cell.value) for sheet in book for row in sheet.iter_rows() for cell in row)
    assert PAIN_WORDS not in told
    assert read_words("en").text("care.pain") in told
    assert read_words("en").text("care.stop") in told


def test_no_other_client_is_named(report_of: Write) -> None:
    for client_id, _, _ in CLIENTS:
        with zipfile.ZipFile(report_of(client_id, "xlsx")) as parts:
            told = b" ".join(parts.read(name) for name in parts.namelist()).decode("utf-8", "replace")
        for other, name, _ in CLIENTS:
            assert other == client_id or name not in told


@pytest.mark.parametrize("language", languages())
def test_sheet_names_of_every_language_are_allowed_and_different(language: str) -> None:
    words = read_words(language)
    names = [
        words.text(f"sheet.{key}")
        for key in ("month", "calendar", "strength", "lifts", "muscles", "bests", "check_ins", "next", "care")
    ]
    assert len({name.casefold() for name in names}) == len(names)
    assert all(len(name) <= 31 and not set(name) & set("[]:*?/\\") for name in names)


def test_the_same_input_gives_the_same_bytes(history: Path, notes: Path, tmp_path: Path) -> None:
    first = write_report(history, notes, FULL, "2026-05", tmp_path / "1.xlsx", file_format="xlsx")
    second = write_report(history, notes, FULL, "2026-05", tmp_path / "2.xlsx", file_format="xlsx")
    assert first.read_bytes() == second.read_bytes()

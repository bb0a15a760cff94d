"""Workbooks: what a person sees in a cell is what is read."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import date, datetime, time, timedelta
from typing import Any

import openpyxl
import pytest

from pipeline.contract.sheets import SourceFile
from tests.inbox_reading import read_log, read_sources

HEADER = ["Date", "Exercise", "kg", "Reps"]


def saved(book: openpyxl.Workbook) -> bytes:
    """The bytes of a workbook."""
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def with_sheet(name: str, data: bytes, replace: tuple[bytes, bytes]) -> bytes:
    """A workbook with bytes replaced inside one of its parts."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(made, "w") as new:
        for entry in old.namelist():
            content = old.read(entry)
            new.writestr(entry, re.sub(*replace, content) if entry == name else content)
    return made.getvalue()


def cells(data: bytes) -> dict[str, list[list[str | None]]]:
    """Sheet → rows of texts."""
    (source,) = read_sources({"log.xlsx": data})
    assert source.refusal is None, source.refusal
    return {
        sheet.source_sheet: [list(row) for row in sheet.cells.select(sheet.columns).iter_rows()]
        for sheet in source.sheets
    }


@pytest.mark.parametrize(
    ("value", "number_format", "seen"),
    [
        (80, "General", "80"),
        (82.5, "General", "82.5"),
        (0.1 + 0.2, "General", "0.3"),
        (80, '0 "kg"', "80 kg"),
        (82.5, '0.0" kg"', "82.5 kg"),
        (185, '0 "lbs"', "185 lbs"),
        (185, "0\\ \\l\\b", "185 lb"),
        (80, "0.0\\ \\k\\g", "80 kg"),
        (80, "0.0\\k\\g", "80 kg"),
        (80, '#,##0.0 "KG"', "80 kg"),
        (80, "0[$ kg]", "80 kg"),
        (45, '0 "s"', "45 s"),
        (10, '"+"0 "kg"', "+10 kg"),
        (0.825, "0.0%", "82.5%"),
        (100, "0.00", "100"),
        (-20, '0 "kg"', "-20 kg"),
        (100, "0.00E+00", "100"),
        (5, '0;[Red]-0;"skipped"', "5"),
        ("80", "@", "80"),
        (" 80 ", "@", " 80 "),
        (True, "General", "TRUE"),
        (datetime(2026, 3, 2), "dd/mm/yyyy", "2026-03-02"),
        (datetime(2026, 3, 2, 18, 30), "dd/mm/yyyy hh:mm", "2026-03-02 18:30:00"),
        (date(2026, 3, 2), "d mmm", "2026-03-02"),
        (time(0, 45), "h:mm", "0:45"),
        (time(0, 0, 45), "h:mm:ss", "00:00:45"),
        (timedelta(minutes=1, seconds=30), "[h]:mm:ss", "0:01:30"),
    ],
)
def test_what_a_person_sees_in_a_cell_is_read(value: Any, number_format: str, seen: str) -> None:
    book = openpyxl.Workbook()
    book.active["A1"] = value
    book.active["A1"].number_format = number_format
    assert cells(saved(book)) == {"Sheet": [[seen]]}


def test_hidden_sheets_are_read_and_named_in_the_message() -> None:
    book = openpyxl.Workbook()
    for row in (HEADER, ["2026-03-02", "Bench Press", 60, 8]):
        book.active.append(row)
    hidden = book.create_sheet("Old")
    for row in (HEADER, ["2026-02-02", "Bench Press", 55, 8]):
        hidden.append(row)
    hidden.sheet_state = "hidden"
    (source,) = read_sources({"log.xlsx": saved(book)})
    assert [sheet.is_hidden for sheet in source.sheets] == [False, True]
    assert "Old" in source.message
    assert read_log(saved(book), "anna/log.xlsx").amounts == [(60.0, 8), (55.0, 8)]


def test_hidden_rows_and_columns_are_read_too() -> None:
    book = openpyxl.Workbook()
    for row in (HEADER, ["2026-03-02", "Bench Press", 60, 8], ["2026-03-02", "Bench Press", 62.5, 8]):
        book.active.append(row)
    book.active.row_dimensions[3].hidden = True
    book.active.column_dimensions["C"].hidden = True
    assert read_log(saved(book), "anna/log.xlsx").amounts == [(60.0, 8), (62.5, 8)]


def test_all_cells_of_a_merged_range_hold_its_text() -> None:
    book = openpyxl.Workbook()
    for row in (HEADER, ["2026-03-02", "Bench Press", 60, 8], [None, None, 60, 7]):
        book.active.append(row)
    book.active.merge_cells("A2:A3")
    book.active.merge_cells("B2:B3")
    data = saved(book)
    assert cells(data)["Sheet"][2] == ["2026-03-02", "Bench Press", "60", "7"]
    assert read_log(data, "anna/log.xlsx").values("source_row", "reps") == [(2, 8), (3, 7)]


def test_a_formula_is_read_by_the_value_it_last_had() -> None:
    book = openpyxl.Workbook()
    for row in (HEADER, ["2026-03-02", "Bench Press", "=30*2", 8]):
        book.active.append(row)
    data = with_sheet(
        "xl/worksheets/sheet1.xml", saved(book), (rb"<f>30\*2</f><v ?/?>(</v>)?", rb"<f>30*2</f><v>60</v>")
    )
    assert cells(data)["Sheet"][1][2] == "60"
    assert read_log(data, "anna/log.xlsx").amounts == [(60.0, 8)]


def test_a_formula_that_never_had_a_value_is_refused_with_its_text_and_not_lost() -> None:
    book = openpyxl.Workbook()
    for row in (HEADER, ["2026-03-02", "Bench Press", "=30*2", 8], ["2026-03-02", "Bench Press", 60, 8]):
        book.active.append(row)
    read = read_log(saved(book), "anna/log.xlsx")
    assert read.amounts == [(60.0, 8)]
    assert read.cleaned.tables.rejected_row["raw_text"].to_list() == ["=30*2"]


def test_numbers_stored_as_text_are_numbers() -> None:
    book = openpyxl.Workbook()
    for row in (
        HEADER,
        ["2026-03-02", "Bench Press", "60", "8"],
        ["2026-03-02", "Bench Press", " 62,5 ", "8 "],
    ):
        book.active.append(row)
    assert read_log(saved(book), "anna/log.xlsx").amounts == [(60.0, 8), (62.5, 8)]


@pytest.mark.parametrize("epoch", ["1900", "1904"])
def test_dates_mean_the_same_day_in_both_date_systems(epoch: str) -> None:
    book = openpyxl.Workbook()
    if epoch == "1904":
        book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    for row in (HEADER, [datetime(2026, 3, 2), "Bench Press", 60, 8]):
        book.active.append(row)
    assert read_log(saved(book), "anna/log.xlsx").values("session_date") == [(date(2026, 3, 2),)]


@pytest.mark.parametrize(("epoch", "serial"), [("1900", 46083), ("1904", 46083 - 1462)])
def test_a_day_number_is_a_day_of_the_workbooks_own_date_system(epoch: str, serial: int) -> None:
    book = openpyxl.Workbook()
    if epoch == "1904":
        book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    for row in (HEADER, [serial, "Bench Press", 60, 8]):
        book.active.append(row)
    assert read_log(saved(book), "anna/log.xlsx").values("session_date") == [(date(2026, 3, 2),)]


def test_a_unit_that_only_the_number_format_names_is_the_unit_of_the_load() -> None:
    book = openpyxl.Workbook()
    for row in (["Date", "Exercise", "Load", "Reps"], [datetime(2026, 3, 2), "Bench Press", 100, 8]):
        book.active.append(row)
    book.active["C2"].number_format = '0 "lb"'
    read = read_log(saved(book), "anna/log.xlsx", unit="")
    assert read.amounts == [(pytest.approx(45.359237), 8)]


def test_records_count_from_the_first_row_of_the_sheet_wherever_the_table_begins() -> None:
    book = openpyxl.Workbook()
    for c, text in enumerate(HEADER, start=3):
        book.active.cell(4, c, text)
    for c, value in enumerate(["2026-03-02", "Bench Press", 60, 8], start=3):
        book.active.cell(6, c, value)
    read = read_log(saved(book), "anna/log.xlsx")
    assert read.values("source_row", "source_sheet") == [(6, "Sheet")]
    assert read.fates == {
        "records": 6, "loaded": 1, "duplicate": 0, "rejected": 0, "waiting": 0, "ignored": 5,
    }  # fmt: skip


def test_empty_rows_with_a_format_at_the_end_are_no_records() -> None:
    book = openpyxl.Workbook()
    for row in (HEADER, ["2026-03-02", "Bench Press", 60, 8]):
        book.active.append(row)
    book.active["A900"].number_format = "0.00"
    book.active["A900"] = None
    assert read_log(saved(book), "anna/log.xlsx").fates["records"] == 2


def sheets(*titles: str) -> bytes:
    """A workbook with the same small log in every sheet, loads rising sheet by sheet."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for n, title in enumerate(titles):
        page = book.create_sheet(title)
        page.append(HEADER)
        page.append([date(2026, 3, 2 + 7 * n), "Bench Press", 60 + n, 8])
    return saved(book)


def test_every_sheet_is_read_with_its_own_numbering() -> None:
    read = read_log(sheets("Week 1", "Week 2"), "anna/log.xlsx")
    assert read.values("source_sheet", "source_row", "load_kg") == [("Week 1", 2, 60.0), ("Week 2", 2, 61.0)]


def test_a_sheet_that_bears_a_clients_name_is_that_clients() -> None:
    read = read_log(sheets("Anna", "Ben Okafor"), "saturday.xlsx")
    assert read.values("client_id", "load_kg") == [("anna", 60.0), ("ben", 61.0)]


def test_a_grid_with_dates_across_is_read() -> None:
    book = openpyxl.Workbook()
    book.active.append(["Exercise", datetime(2026, 3, 2), datetime(2026, 3, 9)])
    book.active.append(["Bench Press", "60x8", "62.5x8"])
    book.active.append(["Squat", None, "100x5"])
    read = read_log(saved(book), "anna/log.xlsx")
    assert sorted(read.values("source_row", "session_date", "load_kg", "reps")) == [
        (2, date(2026, 3, 2), 60.0, 8),
        (2, date(2026, 3, 9), 62.5, 8),
        (3, date(2026, 3, 9), 100.0, 5),
    ]


def test_a_damaged_sheet_inside_a_whole_archive_is_refused() -> None:
    data = with_sheet("xl/worksheets/sheet1.xml", sheets("Week 1"), (rb"</row>", rb"</ro"))
    (source,) = read_sources({"log.xlsx": data})
    assert isinstance(source, SourceFile)
    assert source.refusal is not None
    assert source.refusal.reason_code == "file_truncated"

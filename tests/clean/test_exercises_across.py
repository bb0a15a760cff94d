"""Tables with exercises across, top sets beside back-off sets, months on the sheet, ditto marks, sheets of plans."""

from __future__ import annotations

import io
from datetime import date

import openpyxl
import pytest

from pipeline.clean.ditto_marks import is_ditto
from pipeline.clean.month_days import parse_month
from tests.inbox_reading import read_log

D2, D5 = date(2026, 3, 2), date(2026, 3, 5)
B, S = "bench_press", "back_squat"

TABLES = [
    pytest.param(
        "Date,Squat kg,Squat reps,Bench press kg,Bench press reps\n2026-03-02,100,5,70,8\n2026-03-05,,,72.5,8\n",
        [(2, D2, S, 100.0, 5), (2, D2, B, 70.0, 8), (3, D5, B, 72.5, 8)],
        id="a pair of columns each",
    ),
    pytest.param(
        "Date;Squat;Bench press\n2026-03-02;2x5@70;1x8@42,5\n2026-03-05;;1x8@45\n",
        [(2, D2, S, 70.0, 5)] * 2 + [(2, D2, B, 42.5, 8), (3, D5, B, 45.0, 8)],
        id="whole sets below each",
    ),
    pytest.param(
        "Datum;Kniebeuge (kg);Kniebeuge Wdh;Bankdrücken (kg);Bankdrücken Wdh\n02.03.2026;100;5;70;8\n",
        [(2, D2, S, 100.0, 5), (2, D2, B, 70.0, 8)],
        id="German",
    ),
    pytest.param(
        "Date,Squat set 1,Squat set 2\n2026-03-02,100x5,100x4\n",
        [(2, D2, S, 100.0, 5), (2, D2, S, 100.0, 4)],
        id="numbered sets of one exercise",
    ),
    pytest.param(
        "Date,Squat,,Bench press,\n,kg,Reps,kg,Reps\n2026-03-02,100,5,70,8\n",
        [(3, D2, S, 100.0, 5), (3, D2, B, 70.0, 8)],
        id="a header of two rows",
    ),
    pytest.param(
        "My year,,\nDate,Squat,Bench press,Notes\n2026-03-02,100x5,70x8,tired\n",
        [(3, D2, S, 100.0, 5), (3, D2, B, 70.0, 8)],
        id="a title above and notes behind",
    ),
    pytest.param(
        "Date,Exercise,Top set,Back-off\n2026-03-02,Squat,90x3,2x5@75\n2026-03-05,Bench press,55x3,\n",
        [(2, D2, S, 90.0, 3), (2, D2, S, 75.0, 5), (2, D2, S, 75.0, 5), (3, D5, B, 55.0, 3)],
        id="a top set and back-off sets",
    ),
    pytest.param(
        'Date;Exercise;kg;Reps\n2026-03-02;Bench press;60;8\n″;″;60;7\n2026-03-05;Squat;90;5\n–"–;do.;90;4\n',
        [(2, D2, B, 60.0, 8), (3, D2, B, 60.0, 7), (4, D5, S, 90.0, 5), (5, D5, S, 90.0, 4)],
        id="ditto marks",
    ),
    pytest.param(
        "Date,Exercise,Set,kg,Reps\n2026-03-02,Squat,2,60,8\n2026-03-02,Squat,3,60,7\n",
        [(2, D2, S, 60.0, 8), (3, D2, S, 60.0, 7)],
        id="the numbers of the second and third set only",
    ),
    pytest.param(
        "Date,Exercise,Sets,kg,Reps\n2026-03-02,Squat,2,60,8\n",
        [(2, D2, S, 60.0, 8)] * 2,
        id="a count of sets",
    ),
]
DITTOS = [("″", True), ('"', True), ('-"-', True), ("–”–", True), ("〃", True), ("idem", True), ("do.", True)]
DITTOS += [("Ditto", True), ("", False), ("-", False), ("Dips", False), ("10", False), ("Do a squat", False)]
MONTHS = [
    ("March 2026", " March 2026"),
    ("März 26", " März 2026"),
    ("Feb", " Feb"),
    ("2026-03", ".3.2026"),
    ("03-2026", ".3.2026"),
    ("Legs", ""),
    ("2026", ""),
]


def _workbook(sheets: dict[str, list[list[object]]]) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


@pytest.mark.parametrize(("messy", "expected"), TABLES)
def test_a_table_that_a_coach_reads_is_read(messy: str, expected: list[tuple[object, ...]]) -> None:
    read = read_log(messy, "anna/log.csv")
    assert read.accounts.faults == ()
    assert read.values("source_row", "session_date", "exercise_id", "load_kg", "reps") == expected
    assert (read.reasons, read.waiting) == ([], [])


@pytest.mark.parametrize(("messy", "expected"), DITTOS)
def test_a_ditto_mark_is_known(messy: str, expected: bool) -> None:
    assert is_ditto(messy) == expected


def test_do_is_thursday_in_a_column_of_weekdays() -> None:
    assert (is_ditto("Do", is_weekday=True), is_ditto('"', is_weekday=True)) == (False, True)


@pytest.mark.parametrize(("messy", "expected"), MONTHS)
def test_a_title_names_a_month(messy: str, expected: str) -> None:
    assert parse_month(messy) == expected


def test_days_of_the_month_belong_to_the_month_of_their_sheet() -> None:
    header: list[object] = ["Day", "Exercise", "kg", "Reps"]
    content = _workbook(
        {
            "February 2026": [header, [3, "Bench press", 35, 8], [17, "Squat", 50, 8]],
            "March 2026": [header, [2, "Bench press", 37.5, 8], [16, "Squat", 55, 8]],
        }
    )
    days = [day for (day,) in read_log(content, "anna/2026.xlsx").values("session_date")]
    assert days == [date(2026, 2, 3), date(2026, 2, 17), date(2026, 3, 2), date(2026, 3, 16)]


@pytest.mark.parametrize("days", [[1, 2, 3], [10, 3]])
def test_days_that_may_count_training_days_are_no_dates(days: list[int]) -> None:
    rows: list[list[object]] = [["Day", "Exercise", "kg", "Reps"], *([d, "Squat", 50, 8] for d in days)]
    read = read_log(_workbook({"March 2026": rows}), "anna/log.xlsx")
    assert {code for _, code in read.reasons} == {"date_missing"}


def test_the_name_of_a_sheet_is_the_exercise_of_a_table_without_one() -> None:
    rows: list[list[object]] = [["Date", "kg", "Reps"], ["2026-03-02", 50, 8]]
    read = read_log(_workbook({"Squat": rows, "Bench press": rows}), "anna/log.xlsx")
    assert read.values("exercise_id") == [(S,), (B,)]


def test_a_plan_beside_a_log_holds_no_sets() -> None:
    content = _workbook(
        {
            "Log": [["Date", "Exercise", "kg", "Reps"], ["2026-03-02", "Bench press", 35, 8]],
            "Plan": [["Exercise", "Sets", "Reps", "kg"], ["Squat", 3, 8, 50]],
            "Next": [["Exercise", "Target sets", "Target reps"], ["Squat", 3, 8]],
        }
    )
    read = read_log(content, "anna/log.xlsx")
    assert (read.values("exercise_id"), read.reasons, read.accounts.faults) == ([(B,)], [], ())
    assert read.cleaned.tables.ignored_row.filter(rule="plan").height == 2


def test_set_numbers_order_the_sets_wherever_their_rows_stand() -> None:
    read = read_log(
        "Date,Exercise,Set,kg,Reps\n2026-03-02,Squat,2,60,7\n2026-03-02,Squat,1,60,8\n", "anna/log.csv"
    )
    assert read.values("source_row", "set_index") == [(2, 2), (3, 1)]


def test_columns_of_maxima_and_volume_are_no_sets() -> None:
    read = read_log(
        "Date,Squat kg,Squat reps,Squat e1RM,Squat volume\n2026-03-02,100,5,116,500\n", "anna/log.csv"
    )
    assert read.values("load_kg", "reps") == [(100.0, 5)]

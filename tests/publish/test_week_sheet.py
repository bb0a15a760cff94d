"""Next week's sheet: what it asks, and that it comes back as a log with nothing to ask."""

import csv
from datetime import date

import duckdb
import openpyxl
import pytest

from pipeline.answers import Answers
from pipeline.clean.clean_inbox import clean_inbox
from pipeline.clean.exercise_names import NameMatcher
from pipeline.clean.knowledge import ClientProfile, Knowledge
from pipeline.clean.people import Roster
from pipeline.contract import TABLES
from pipeline.contract.frames import frame_of
from pipeline.ingest.read_files import read_file
from pipeline.model.load_tables import load_tables
from pipeline.publish.week_sheet import read_week_sheet, target_text, write_week_sheet
from pipeline.reference import load_catalogue

MONDAY = date(2026, 6, 29)


def target(**other):
    row = {
        "client_id": "amara",
        "day": "Day 1",
        "slot": 1,
        "exercise_id": "bench_press",
        "exercise_name": "Bench Press",
        "sets": 2,
        "target_load_kg": 80.0,
        "target_rep_low": 5,
        "target_rep_high": 8,
        "target_rir": 2.0,
        "rule": "more_reps",
        "reason": "Because.",
        "planned_date": MONDAY,
        "load_basis": "total",
    }
    return row | other


def history(targets, unit="kg", layouts=()):
    con = duckdb.connect()
    rows = {
        "next_target": targets,
        "client": [{"client_id": "amara", "name": "Amara", "unit": unit}],
        "plan_layout": layouts,
        "logged_set": [],
        "setting": [{"as_of": date(2026, 6, 28), "first_day_of_week": 1, "e1rm_equation": "epley"}],
    }
    load_tables(con, {name: frame_of(TABLES[name], list(given)) for name, given in rows.items()})
    return con


TARGETS = [
    target(),
    target(
        slot=2,
        exercise_id="dumbbell_curl",
        exercise_name="Dumbbell Curl",
        load_basis="per_hand",
        target_load_kg=12.0,
    ),
    target(
        slot=3, exercise_id="pull_up", exercise_name="Pull-Up", load_basis="bodyweight", target_load_kg=5.0
    ),
    target(
        slot=4,
        exercise_id="plank",
        exercise_name="Plank",
        load_basis="none",
        rule="timed",
        target_load_kg=None,
        target_rep_low=None,
        target_rep_high=None,
        target_rir=None,
        target_duration_low_s=45.0,
        target_duration_high_s=60.0,
    ),
]


@pytest.mark.parametrize(
    ("row", "unit", "text"),
    [
        (target(), "kg", "80 kg, 5 to 8 reps, 2 in reserve"),
        (target(target_load_kg=102.0583), "lb", "225 lb, 5 to 8 reps, 2 in reserve"),
        (
            target(load_basis="per_hand", target_load_kg=22.5, target_rep_high=5),
            "kg",
            "22.5 kg a hand, 5 reps, 2 in reserve",
        ),
        (
            target(load_basis="assistance", target_load_kg=-15.0),
            "kg",
            "15 kg of assistance, 5 to 8 reps, 2 in reserve",
        ),
        (target(load_basis="bodyweight", target_load_kg=0.0), "kg", "bodyweight, 5 to 8 reps, 2 in reserve"),
        (target(rule="pain", target_load_kg=None), "kg", "talk to your coach first"),
        (target(target_load_kg=None), "kg", "5 to 8 reps, 2 in reserve"),
    ],
)
def test_targets_are_said_in_the_clients_unit(row, unit, text):
    complete = dict.fromkeys(TABLES["next_target"].column_names) | row
    assert target_text(complete, unit) == text


def test_the_sheet_has_one_row_a_set_and_the_reason_once():
    sheet = read_week_sheet(history(TARGETS[:1]), "amara")
    assert [(row.session_date, row.set_number, row.remark) for row in sheet.rows] == [
        (MONDAY, 1, "Because."),
        (MONDAY, 2, ""),
    ]
    assert "Seconds" not in sheet.headers


def test_days_without_a_weekday_get_the_days_of_the_best_layout():
    layout = {
        "client_id": "amara",
        "valid_from": date(2026, 6, 1),
        "place": 1,
        "layout": "Tue Day 2 · Fri Day 1",
    }
    sheet = read_week_sheet(history([target(planned_date=None)], layouts=[layout]), "amara")
    assert {row.session_date for row in sheet.rows} == {date(2026, 7, 3)}


def test_a_text_that_a_spreadsheet_would_run_is_made_harmless(tmp_path):
    write_week_sheet(read_week_sheet(history([target(reason="=1+1")]), "amara"), tmp_path / "a.csv")
    assert "'=1+1" in (tmp_path / "a.csv").read_text(encoding="utf-8-sig")


def fill_in(path, amounts):
    """Write load, repetitions, seconds and RIR into the rows by exercise; other rows stay empty."""
    if path.suffix == ".csv":
        with path.open(encoding="utf-8-sig", newline="") as handle:
            rows = list(csv.reader(handle))
        for row in rows[1:]:
            for header, value in amounts.get(row[rows[0].index("Exercise")], {}).items():
                row[next(c for c, h in enumerate(rows[0]) if h.startswith(header))] = str(value)
        with path.open("w", encoding="utf-8", newline="") as handle:
            csv.writer(handle).writerows(rows)
        return
    book = openpyxl.load_workbook(path)
    page = book.active
    headers = [cell.value for cell in page[1]]
    for row in page.iter_rows(min_row=2):
        for header, value in amounts.get(row[headers.index("Exercise")].value, {}).items():
            row[next(c for c, h in enumerate(headers) if h.startswith(header))].value = value
    book.save(path)


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
@pytest.mark.parametrize("unit", ["kg", "lb"])
def test_a_sheet_filled_in_and_sent_back_is_read_with_nothing_to_ask(tmp_path, ending, unit):
    path = tmp_path / f"sheet.{ending}"
    write_week_sheet(read_week_sheet(history(TARGETS, unit), "amara"), path)
    fill_in(
        path,
        {
            "Bench Press": {"Load": 80, "Reps": 7, "RIR": 2},
            "Dumbbell Curl": {"Load": 12, "Reps": 8},
            "Plank": {"Seconds": 50},
        },
    )
    catalogue, answers = load_catalogue(), Answers([])
    known = Knowledge(
        Roster([("amara", "Amara"), ("lukas", "Lukas")], answers),
        {"amara": ClientProfile("amara", "", "", None)},
        catalogue,
        NameMatcher(catalogue),
        answers,
        date(2026, 7, 5),
        "",
        "",
        20.0,
    )
    cleaned = clean_inbox([read_file(path, tmp_path, "inbox")], known, lambda *_: None)
    assert cleaned.open_question.height == 0
    assert cleaned.tables.rejected_row.height == 0
    assert set(cleaned.tables.ignored_row["rule"].to_list()) == {"header", "not_done"}
    factor = 1 if unit == "kg" else 0.45359237
    sets = cleaned.tables.logged_set.sort("exercise_id", "set_index")
    found = list(
        sets.select("client_id", "session_date", "exercise_id", "reps", "duration_s", "rir").iter_rows()
    )
    assert found == [
        *[("amara", MONDAY, "bench_press", 7, None, 2.0)] * 2,
        *[("amara", MONDAY, "dumbbell_curl", 8, None, None)] * 2,
        *[("amara", MONDAY, "plank", None, 50.0, None)] * 2,
    ]
    assert sets["load_kg"].to_list()[:4] == pytest.approx(
        [80 * factor, 80 * factor, 12 * factor, 12 * factor]
    )

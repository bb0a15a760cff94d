"""Planned figures beside what was done: only what was done is loaded, and what is unclear is refused."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.clean.done_marks import parse_done
from pipeline.clean.headers import HeaderCell, parse_header_cell
from tests.inbox_reading import read_log

D2, D4 = date(2026, 3, 2), date(2026, 3, 4)
B, S, D = "bench_press", "back_squat", "deadlift"

MARKS = [
    ("yes", "yes"),
    ("Ja", "yes"),
    ("✅", "yes"),
    ("✔️", "yes"),
    ("x", "yes"),
    ("as planned", "yes"),
    ("wie geplant", "yes"),
    ("yes, felt easy", "yes"),
    ("no", "no"),
    ("❌", "no"),
    ("✕", "no"),
    ("[ ]", "no"),
    ("skipped", "no"),
    ("nein", "no"),
    ("", ""),
    ("-", ""),
    ("100x5, 100x4", "sets"),
    ("40 kg: 8/8/7", "sets"),
    ("3x5", "sets"),
    ("partly", "unclear"),
    ("teilweise", "unclear"),
    ("2 of 3", "unclear"),
    ("all but the last", "unclear"),
    ("hard", "unclear"),
]
SIDES = [
    ("Planned reps", "reps", "planned"),
    ("kg planned", "load", "planned"),
    ("Target sets", "n_sets", "planned"),
    ("Prescribed load (kg)", "load", "planned"),
    ("Programmed reps", "reps", "planned"),
    ("Soll Wdh", "reps", "planned"),
    ("Sätze (Soll)", "n_sets", "planned"),
    ("Répétitions prévues", "reps", "planned"),
    ("Peso previsto", "load", "planned"),
    ("Series planificadas", "n_sets", "planned"),
    ("Geplande reps", "reps", "planned"),
    ("Actual kg", "load", "done"),
    ("Reps (actual)", "reps", "done"),
    ("kg done", "load", "done"),
    ("Gewicht Ist (kg)", "load", "done"),
    ("Répétitions réalisées", "reps", "done"),
    ("Peso effettivo", "load", "done"),
    ("Repeticiones hechas", "reps", "done"),
    ("Herhalingen gedaan", "reps", "done"),
    ("Repetições feitas", "reps", "done"),
]
TABLES = [
    pytest.param(
        ",,PLANNED,,,ACTUAL,,\nDate,Exercise,Sets,Reps,kg,Sets,Reps,kg\n"
        "2026-03-02,Squat,3,5,100,2,5,102.5\n2026-03-02,Leg press,3,12,180,,,\n",
        [(3, D2, S, 102.5, 5)] * 2,
        {4: "not_done"},
        id="sides in a row above",
    ),
    pytest.param(
        ",,Done,,Target,,\nDate,Exercise,Reps,kg,Reps,kg,Notes\n2026-03-02,Squat,4,100,5,100,hard\n",
        [(3, D2, S, 100.0, 4)],
        {},
        id="what was done stands first",
    ),
    pytest.param(
        "Date,Exercise,Planned sets,Planned reps,Planned kg,Actual sets,Actual reps,Actual kg\n"
        "2026-03-02,Squat,3,6,70,2,5,72.5\n2026-03-02,Plank,3,,,,,\n",
        [(2, D2, S, 72.5, 5)] * 2,
        {3: "not_done"},
        id="sides in each header",
    ),
    pytest.param(
        "Datum;Übung;Soll Sätze;Soll Wdh;Soll kg;Ist Sätze;Ist Wdh;Ist kg\n02.03.2026;Kniebeuge;3;5;100;1;4;95\n",
        [(2, D2, S, 95.0, 4)],
        {},
        id="Soll and Ist",
    ),
    pytest.param(
        "Date,Exercise,Plan,Done?\n2026-03-02,Bench press,2x8 @ 60,✅\n2026-03-02,Squat,3x5 @ 90,❌\n"
        '2026-03-04,Deadlift,3x5 @ 120,"120x5, 120x4"\n2026-03-04,Squat,3x5 @ 90,\n',
        [(2, D2, B, 60.0, 8)] * 2 + [(4, D4, D, 120.0, 5), (4, D4, D, 120.0, 4)],
        {3: "not_done", 5: "not_done"},
        id="ticks, crosses and sets beside a plan",
    ),
    pytest.param(
        "Date,Exercise,Target sets,Target reps,Target kg,Completed\n"
        "2026-03-02,Squat,2,5,100,yes\n2026-03-02,Bench press,3,5,70,no\n2026-03-04,Deadlift,3,5,120,120x3\n",
        [(2, D2, S, 100.0, 5)] * 2 + [(4, D4, D, 120.0, 3)],
        {3: "not_done"},
        id="planned columns with a tick",
    ),
    pytest.param(
        "Date,Exercise,Prescription,What I did\n2026-03-02,Squat,3x5 @ RPE 8,100x5\n2026-03-02,Face pull,3x15,\n",
        [(2, D2, S, 100.0, 5)],
        {3: "not_done"},
        id="prescription and result",
    ),
    pytest.param(
        "Date,Exercise,Done\n2026-03-02,Squat,100kg 2x5\n2026-03-02,Deadlift,5 reps @ 140kg x 2 sets\n"
        "2026-03-04,Bench press,40 kg: 8/7\n2026-03-04,Squat,skipped\n",
        [(2, D2, S, 100.0, 5)] * 2 + [(3, D2, D, 140.0, 5)] * 2 + [(4, D4, B, 40.0, 8), (4, D4, B, 40.0, 7)],
        {5: "not_done"},
        id="the sets themselves in a column called Done",
    ),
    pytest.param(
        "Exercise,2026-03-02,,2026-03-04,\n,Plan,Done,Plan,Done\nSquat,3x5@100,100x5,3x5@105,\n",
        [(3, D2, S, 100.0, 5)],
        {},
        id="both sides below each date",
    ),
    pytest.param(
        "Date,Exercise,Soll,Ist\n2026-03-02,Squat,2x5 @ 100,✓\n2026-03-02,Bench press,2x5 @ 70,70x4\n",
        [(2, D2, S, 100.0, 5)] * 2 + [(3, D2, B, 70.0, 4)],
        {},
        id="ticks in a column of results",
    ),
    pytest.param(
        "Date,Planned exercise,Actual exercise,Actual reps,Actual kg\n"
        "2026-03-02,Bench press,Squat,5,100\n2026-03-02,Deadlift,,5,120\n",
        [(2, D2, S, 100.0, 5), (3, D2, D, 120.0, 5)],
        {},
        id="another exercise than planned",
    ),
    pytest.param(
        "Date,Exercise,Set 1 target,Set 1 actual,Set 2 target,Set 2 actual\n2026-03-02,Squat,100x5,100x4,100x5,\n",
        [(2, D2, S, 100.0, 4)],
        {},
        id="both sides of each set",
    ),
    pytest.param(
        "Date,Exercise,Sets,Reps,kg,Reps done\n2026-03-02,Squat,2,8,100,6\n",
        [(2, D2, S, 100.0, 6)] * 2,
        {},
        id="reps beside reps done were planned",
    ),
]
UNCLEAR = [
    pytest.param(
        "Date,Exercise,Sets,Reps,kg,Done\n2026-03-02,Squat,1,5,100,5\n{},1,10,70,8\n", id="another number"
    ),
    pytest.param(
        "Date,Exercise,Sets,Reps,kg,Done\n2026-03-02,Squat,1,5,100,yes\n{},3,10,70,partly\n", id="a part"
    ),
    pytest.param(
        "Date,Exercise,Sets,Reps,kg,Done\n2026-03-02,Squat,1,5,100,x\n{},3,10,70,2/3\n", id="two of three"
    ),
    pytest.param(
        "Date,Exercise,Sets,Reps,kg,Done\n2026-03-02,Squat,1,5,100,yes\n2026-03-02,Row,1,5,100,no\n{},3,10,70,\n",
        id="no mark",
    ),
    pytest.param(
        "Date,Exercise,Plan,Done\n2026-03-02,Squat,1x5 @ 100,yes\n{},3x10 @ 70,felt hard\n", id="a remark"
    ),
]


@pytest.mark.parametrize(("messy", "expected"), MARKS, ids=[repr(mark[0]) for mark in MARKS])
def test_a_mark_says_what_was_done(messy: str, expected: str) -> None:
    assert parse_done(messy) == expected


@pytest.mark.parametrize(("messy", "role", "side"), SIDES, ids=[side[0] for side in SIDES])
def test_a_header_says_on_which_side_it_is(messy: str, role: str, side: str) -> None:
    cell: HeaderCell = parse_header_cell(messy)
    assert (cell.role, cell.planned) == (("ignored", role) if side == "planned" else (role, ""))


@pytest.mark.parametrize(("messy", "expected", "ignored"), TABLES)
def test_only_what_was_done_is_loaded(
    messy: str, expected: list[tuple[object, ...]], ignored: dict[int, str]
) -> None:
    read = read_log(messy, "anna/log.csv")
    assert read.accounts.faults == ()
    assert read.values("source_row", "session_date", "exercise_id", "load_kg", "reps") == expected
    assert {row: rule for row, rule in read.ignored.items() if rule != "header"} == ignored
    assert read.reasons == []


@pytest.mark.parametrize("messy", UNCLEAR)
def test_a_row_that_was_done_in_part_is_refused(messy: str) -> None:
    read = read_log(messy.format("2026-03-02,Hip thrust"), "anna/log.csv")
    assert [code for _, code in read.reasons] == ["done_unclear"]
    assert (read.accounts.faults, read.values("exercise_id")) == ((), [(S,)] * len(read.sets))


def test_a_remark_in_a_column_without_a_yes_or_no_is_no_mark() -> None:
    read = read_log("Date,Exercise,Sets,Reps,kg,Completed\n2026-03-02,Squat,2,5,100,18:30\n", "anna/log.csv")
    assert len(read.sets) == 2


def test_a_table_of_plans_only_holds_no_sets() -> None:
    read = read_log(
        "Date,Exercise,Planned sets,Planned reps,Planned kg\n2026-03-02,Squat,3,5,100\n", "anna/log.csv"
    )
    assert (read.sets, read.reasons) == ([], [(None, "file_no_sets")])


@pytest.mark.parametrize("header", ["kg,Reps,kg,Reps", "Reps,kg,Reps,kg"])
def test_columns_of_one_name_are_refused_where_both_hold_figures(header: str) -> None:
    text = f"Date,Exercise,{header}\n2026-03-02,Squat,10,8,12,6\n2026-03-04,Squat,10,8,,\n"
    read = read_log(text, "anna/log.csv")
    assert (read.reasons, len(read.sets)) == ([(2, "columns_repeated")], 1)


def test_the_same_columns_three_times_are_three_sets() -> None:
    read = read_log(
        "Date,Exercise,kg,Reps,kg,Reps,kg,Reps\n2026-03-02,Back squat,100,5,105,5,110,4\n"
        "2026-03-04,Back squat,100,5,105,5,,\n"
    )
    assert [(row["source_row"], row["load_kg"], row["reps"]) for row in read.sets] == [
        (2, 100.0, 5),
        (2, 105.0, 5),
        (2, 110.0, 4),
        (3, 100.0, 5),
        (3, 105.0, 5),
    ]

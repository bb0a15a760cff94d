"""Tables beside and below each other in one sheet: each set has its own table's day and exercise."""

from __future__ import annotations

from datetime import date

import pytest

from tests.inbox_reading import read_log

D2, D5, D7 = date(2026, 3, 2), date(2026, 3, 5), date(2026, 3, 7)
B, S, D, P = "bench_press", "back_squat", "deadlift", "overhead_press"

TABLES = [
    pytest.param(
        "Mon 2 March 2026,,,,Thu 5 March 2026,,\nExercise,kg,Reps,,Exercise,kg,Reps\n"
        "Squat,100,5,,Deadlift,140,5\nBench press,75,8,,,,\n,,,,OHP,45,8\n",
        [(3, D2, S, 100.0, 5), (3, D5, D, 140.0, 5), (4, D2, B, 75.0, 8), (5, D5, P, 45.0, 8)],
        id="a day above each",
    ),
    pytest.param(
        "Exercise,kg,Reps,,Exercise,kg,Reps\nMon 2 March 2026,,,,Thu 5 March 2026,,\nSquat,100,5,,Deadlift,140,5\n",
        [(3, D2, S, 100.0, 5), (3, D5, D, 140.0, 5)],
        id="a day below each header",
    ),
    pytest.param(
        "Date,Exercise,kg,Reps,,Date,Exercise,kg,Reps,,Date,Exercise,kg,Reps\n"
        "2026-03-02,Squat,100,5,,2026-03-05,Deadlift,140,5,,2026-03-07,Bench press,60,5\n"
        ",,,,,2026-03-05,Deadlift,140,4,,,,\n",
        [(2, D2, S, 100.0, 5), (2, D5, D, 140.0, 5), (2, D7, B, 60.0, 5), (3, D5, D, 140.0, 4)],
        id="three times the same header",
    ),
    pytest.param(
        "Date,Exercise,kg,Reps,Exercise,kg,Reps\n2026-03-02,Squat,100,5,Bench press,60,8\n",
        [(2, D2, S, 100.0, 5), (2, D2, B, 60.0, 8)],
        id="one column of dates for both",
    ),
    pytest.param(
        "Squat,,,,Bench press,,\nDate,kg,Reps,,Date,kg,Reps\n2026-03-02,100,5,,2026-03-05,70,5\n",
        [(3, D2, S, 100.0, 5), (3, D5, B, 70.0, 5)],
        id="an exercise above each",
    ),
    pytest.param(
        "Squat,,\nDate,kg,Reps\n2026-03-02,110,5\n,,\nBench press,,\nDate,kg,Reps\n2026-03-05,85,6\n",
        [(3, D2, S, 110.0, 5), (7, D5, B, 85.0, 6)],
        id="an exercise above each of two tables below each other",
    ),
]


@pytest.mark.parametrize(("messy", "expected"), TABLES)
def test_each_table_is_read_on_its_own(messy: str, expected: list[tuple[object, ...]]) -> None:
    read = read_log(messy, "anna/log.csv")
    assert read.accounts.faults == ()
    assert read.values("source_row", "session_date", "exercise_id", "load_kg", "reps") == expected
    assert (read.reasons, read.waiting) == ([], [])


def test_a_title_nobody_knows_is_asked_and_not_taken_for_the_exercise_above() -> None:
    text = "Squat,,\nDate,kg,Reps\n2026-03-02,110,5\n,,\nHarbour Shuffle,,\nDate,kg,Reps\n2026-03-05,85,6\n"
    read = read_log(text, "anna/log.csv")
    assert (read.values("source_row", "exercise_id"), read.waiting) == ([(3, S)], [(7, "exercise")])

"""Layouts that people build for themselves: forms, blocks, columns they number, weeks they count."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.clean.pain import find_pain
from tests.inbox_reading import read_log

D2, D4, D5 = date(2026, 3, 2), date(2026, 3, 4), date(2026, 3, 5)
TABLES = [
    pytest.param(
        "Timestamp,Your name,Exercise 1,Weight used 1 (kg),Reps 1,Exercise 2,Weight used 2 (kg),Reps 2,"
        "How did it feel?\n"
        '2026-03-02 19:04:11,Anna Berg,Squat,100,"5, 4",Bench press,60,8,good\n',
        [(2, D2, "back_squat", 100.0, 5), (2, D2, "back_squat", 100.0, 4), (2, D2, "bench_press", 60.0, 8)],
        id="a form with an exercise a group of columns",
    ),
    pytest.param(
        "Name:,Anna Berg,,\nDate:,2026-03-02,,\nExercise,kg,Set 1,Set 2\nSquat,100,5,4\n,,,\n"
        "Name:,Anna Berg,,\nDate:,2026-03-04,,\nExercise,kg,Set 1,Set 2\nSquat,105,5,\n",
        [(4, D2, "back_squat", 100.0, 5), (4, D2, "back_squat", 100.0, 4), (9, D4, "back_squat", 105.0, 5)],
        id="a day above each header",
    ),
    pytest.param(
        "Workout,A,Date,2026-03-02,,Workout,B,Date,2026-03-04\n"
        "Exercise,kg,S1,S2,,Exercise,kg,S1,S2\nSquat,100,5,4,,Bench press,60,8,7\n",
        [
            (3, D2, "back_squat", 100.0, 5),
            (3, D4, "bench_press", 60.0, 8),
            (3, D2, "back_squat", 100.0, 4),
            (3, D4, "bench_press", 60.0, 7),
        ],
        id="blocks to the right, each with its day",
    ),
    pytest.param(
        "Monday 2 March 2026 - A,Monday 2 March 2026 - A,Monday 2 March 2026 - A\nSquat,100 kg,5/5/4\n"
        "Bench press,60 kg,8/8/7\nThursday 5 March 2026 - B,Thursday 5 March 2026 - B,Thursday 5 March 2026 - B\n"
        "Squat,90 kg,5/5/5\nBench press,50 kg,8/8/8\n",
        [
            (row, day, lift, kg, reps)
            for row, day, lift, kg, all_reps in (
                (2, D2, "back_squat", 100.0, (5, 5, 4)),
                (3, D2, "bench_press", 60.0, (8, 8, 7)),
                (5, D5, "back_squat", 90.0, (5, 5, 5)),
                (6, D5, "bench_press", 50.0, (8, 8, 8)),
            )
            for reps in all_reps
        ],
        id="no header, the day in merged cells",
    ),
    pytest.param(
        "Day 1,2026-03-02,,,Day 2,2026-03-04,\nExercise,kg,Reps,,Exercise,kg,Reps\n"
        "Squat,100,5,,Bench press,60,8\n,,,,,,\n"
        "Day 3,2026-03-05,,,Day 4,2026-03-06,\nExercise,kg,Reps,,Exercise,kg,Reps\nSquat,105,5,,Bench press,65,8\n",
        [
            (3, D2, "back_squat", 100.0, 5),
            (3, D4, "bench_press", 60.0, 8),
            (7, D5, "back_squat", 105.0, 5),
            (7, date(2026, 3, 6), "bench_press", 65.0, 8),
        ],
        id="further blocks below, each with its day",
    ),
    pytest.param(
        "Mon,02.03.2026,\nExercise,Set 1,Set 2\nSquat,100 kg x 5,100 kg x 4\n,,\nThu,05.03.2026,\n"
        "Exercise,Set 1,Set 2\nSquat,105 kg x 5,\n",
        [(3, D2, "back_squat", 100.0, 5), (3, D2, "back_squat", 100.0, 4), (7, D5, "back_squat", 105.0, 5)],
        id="a weekday and its date above each header",
    ),
    pytest.param(
        'Date,Workout\n2026-03-02,"Squat 100kg x 5, 100kg x 4\nBench press 60kg x 8, 60kg x 7"\n'
        "2026-03-05,Squat 105kg x 5\n",
        [
            (2, D2, "back_squat", 100.0, 5),
            (2, D2, "back_squat", 100.0, 4),
            (2, D2, "bench_press", 60.0, 8),
            (2, D2, "bench_press", 60.0, 7),
            (3, D5, "back_squat", 105.0, 5),
        ],
        id="a whole session in one cell",
    ),
    pytest.param(
        "Session,Exercise,kg,Reps\n2026-03-02 Upper A,Bench press,60,8\n2026-03-05 Lower B,Squat,100,5\n",
        [(2, D2, "bench_press", 60.0, 8), (3, D5, "back_squat", 100.0, 5)],
        id="the session's name behind its day",
    ),
    pytest.param(
        "Date,Exercise,Set,kg,Reps\n2026-03-02,Squat,1,100,5\n2026-03-02,Squat,2,100,4\n"
        "2026-03-02,Squat,Average,100,4.5\n"
        "2026-03-02,Squat,Best,100,5\n2026-03-02,Squat,Sum,200,9\n",
        [(2, D2, "back_squat", 100.0, 5), (3, D2, "back_squat", 100.0, 4)],
        id="figures of all sets among the sets",
    ),
    pytest.param(
        "Date,Barbell Row,Bench press\n2026-03-02,60x8,70x8\n",
        [(2, D2, "barbell_row", 60.0, 8), (2, D2, "bench_press", 70.0, 8)],
        id="a row that is an exercise",
    ),
    pytest.param(
        "date,exercise,W1 (kg),R1,W2 (kg),R2\n2026-03-02,Squat,100,5,105,4\n",
        [(2, D2, "back_squat", 100.0, 5), (2, D2, "back_squat", 105.0, 4)],
        id="W1 and R1",
    ),
    pytest.param(
        "Woche;Tag;Übung;kg;Wdh\nKW 10/2026;Montag;Kniebeuge;100;5\nKW 10/2026;Donnerstag;Kniebeuge;90;5\n",
        [(2, D2, "back_squat", 100.0, 5), (3, D5, "back_squat", 90.0, 5)],
        id="numbered weeks and weekdays",
    ),
    pytest.param(
        'Date,Exercise,Reps x kg\n2026-03-02,Squat,"5x100, 4x100"\n',
        [(2, D2, "back_squat", 100.0, 5), (2, D2, "back_squat", 100.0, 4)],
        id="a header that says which figure is which",
    ),
    pytest.param(
        "Day,Lift,What I did\n2 March 2026,Squat,5 @ 100kg | 4 @ 100kg | 3 @ 100kg\n",
        [(2, D2, "back_squat", 100.0, reps) for reps in (5, 4, 3)],
        id="bars within the cells of a comma file",
    ),
    pytest.param(
        "Datum;Övning;Vikt (kg);Reps\n2026-03-02;Knäböj;100;5\n2026-03-02;Bänkpress;60;8\n",
        [(2, D2, "back_squat", 100.0, 5), (3, D2, "bench_press", 60.0, 8)],
        id="Swedish",
    ),
    pytest.param(
        "Dato;Øvelse;Vægt (kg);Gentagelser\n02-03-2026;Dødløft;100;5\n",
        [(2, D2, "deadlift", 100.0, 5)],
        id="Danish",
    ),
    pytest.param(
        "Date,Exercise,kg,Reps\n2026-03-02,Deadlift,100,5/4\n",
        [(2, D2, "deadlift", 100.0, 5), (2, D2, "deadlift", 100.0, 4)],
        id="two figures of a lift without sides are two sets",
    ),
]


@pytest.mark.parametrize(("text", "expected"), TABLES)
def test_every_set_is_read_on_its_day(text: str, expected: list[tuple[object, ...]]) -> None:
    read = read_log(text)
    assert read.accounts.faults == ()
    assert read.values("source_row", "session_date", "exercise_id", "load_kg", "reps") == expected


def test_a_table_aligned_by_spaces_is_one() -> None:
    text = (
        "Date        Exercise       kg  Reps\n2026-03-02  Barbell Row    60     9\n"
        "2026-03-02  Squat         100     5\n"
    )
    read = read_log(text, "anna/log.txt")
    assert read.values("exercise_id", "load_kg", "reps") == [
        ("barbell_row", 60.0, 9),
        ("back_squat", 100.0, 5),
    ]


def test_a_column_of_kilograms_beside_one_of_pounds_is_one_load() -> None:
    read = read_log(
        "Date,Exercise,kg,lb,reps\n2026-03-02,Squat,70,,8\n2026-03-02,Squat,,155,8\n2026-03-02,Squat,70,154,8\n"
        "2026-03-02,Squat,70,200,8\n"
    )
    assert [(row["source_row"], row["load_unit"]) for row in read.sets] == [(2, "kg"), (3, "lb"), (4, "kg")]
    assert read.reasons == [(5, "load_contradiction")]


def test_a_list_with_dashes_is_one_and_a_sum_as_long_as_the_count_is_uncertain() -> None:
    read = read_log(
        "Date,Exercise,Sets,Reps,kg\n2026-03-02,Squat,3,12-12-10,70\n2026-03-02,Deadlift,2,5+5,100\n"
    )
    assert [row["reps"] for row in read.sets] == [12, 12, 10]
    assert read.reasons == [(3, "reps_uncertain")]


@pytest.mark.parametrize(
    ("header", "expected"), [("Reps left,Reps right", (8, 7, None)), ("Reps,Reps left", (None, None, 7.0))]
)
def test_repetitions_left_are_a_sides_only_beside_those_on_the_right(
    header: str, expected: tuple[int | None, int | None, float | None]
) -> None:
    read = read_log(f"Date,Exercise,kg,{header}\n2026-03-02,Bulgarian split squat,20,8,7\n")
    assert read.values("reps_left", "reps_right", "rir") == [expected]


@pytest.mark.parametrize(
    "note", ["Mal à l'épaule", "j'ai mal au genou", "ont i axeln", "me dolió la espalda"]
)
def test_pain_is_heard_in_other_languages(note: str) -> None:
    read = read_log(f"Date,Exercise,kg,Reps,Notes\n2026-03-02,Squat,100,5,{note}\n")
    assert find_pain(read.sets[0]["note"]) is not None


def test_the_scale_in_the_brackets_of_an_unknown_header_is_heard() -> None:
    read = read_log("Date;Exercice;Charge (kg);Reps;Ressenti (RPE)\n02/03/2026;Squat;100;5;8,5\n")
    assert read.values("rpe") == [(8.5,)]

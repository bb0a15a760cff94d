"""Every layout of a log as a small file: which sets it holds, which records hold none, and why."""

from __future__ import annotations

from datetime import date

import pytest

from tests.inbox_reading import read_log

D2, D4 = date(2026, 3, 2), date(2026, 3, 4)
B, S, P = "bench_press", "back_squat", "pull_up"
Row = tuple[int, date, str, float | None, int | None]


def rows(text: str, name: str = "anna/log.csv", **known: object) -> list[Row]:
    """Record, day, exercise, load and repetitions of every set; the accounts must hold."""
    read = read_log(text, name, **known)
    assert read.accounts.faults == ()
    return read.values("source_row", "session_date", "exercise_id", "load_kg", "reps")  # type: ignore[return-value]


SET_ROWS = [
    pytest.param(
        "Date,Exercise,Set,Weight,Reps\n2026-03-02,Bench Press,1,60,8\n2026-03-02,Bench Press,2,60,7\n",
        [(2, D2, B, 60.0, 8), (3, D2, B, 60.0, 7)],
        id="one row a set",
    ),
    pytest.param(
        "Datum;Übung;Satz;Gewicht;Wdh\n02.03.2026;Bankdrücken;1;62,5;8\n",
        [(2, D2, B, 62.5, 8)],
        id="German with decimal commas",
    ),
    pytest.param(
        "FECHA;EJERCICIO;PESO;REPETICIONES\n2026-03-02;Press de banca;60;8\n",
        [(2, D2, B, 60.0, 8)],
        id="Spanish in capitals",
    ),
    pytest.param(
        "Reps,kg,Exercise,Date\n8,60,Bench Press,2026-03-02\n",
        [(2, D2, B, 60.0, 8)],
        id="any order of columns",
    ),
    pytest.param(
        "My training log,,,\n,,,\nDate,Exercise,kg,Reps\n2026-03-02,Bench Press,60,8\n",
        [(4, D2, B, 60.0, 8)],
        id="title rows above",
    ),
    pytest.param(
        "Date,Exercise,kg,Reps\n2026-03-02,Bench Press,60,8\nDate,Exercise,kg,Reps\n2026-03-04,Squat,100,5\n",
        [(2, D2, B, 60.0, 8), (4, D4, S, 100.0, 5)],
        id="header repeated",
    ),
    pytest.param(
        "Date,Exercise,kg,Reps\n2026-03-02,Bench Press,60,8\n,,,\n"
        "Date,Exercise,Reps,kg\n2026-03-04,Squat,5,100\n",
        [(2, D2, B, 60.0, 8), (5, D4, S, 100.0, 5)],
        id="a second header with other columns",
    ),
    pytest.param(
        "Date,Exercise,Sets,Reps,kg\n2026-03-02,Bench Press,3,8,60\n",
        [(2, D2, B, 60.0, 8)] * 3,
        id="sets counted",
    ),
    pytest.param(
        'Date,Exercise,Sets,Reps,kg\n2026-03-02,Bench Press,3,"8,8,7",60\n',
        [(2, D2, B, 60.0, 8), (2, D2, B, 60.0, 8), (2, D2, B, 60.0, 7)],
        id="sets counted and listed",
    ),
    pytest.param(
        "Date;Exercise;Sets;Reps;kg\n2026-03-02;Bench Press;3;8/8/7;60/60/57,5\n",
        [(2, D2, B, 60.0, 8), (2, D2, B, 60.0, 8), (2, D2, B, 57.5, 7)],
        id="a load a set",
    ),
    pytest.param(
        "Date,Exercise,kg,Reps\n2026-03-02,Bench Press,60,8\n2026-03-02,Total,,\n,Total volume,480,\n",
        [(2, D2, B, 60.0, 8)],
        id="total rows",
    ),
]
EXERCISE_ROWS = [
    pytest.param(
        "Date,Exercise,Sets x Reps,kg\n2026-03-02,Bench Press,3x8,60\n",
        [(2, D2, B, 60.0, 8)] * 3,
        id="sets x reps with a load column",
    ),
    pytest.param(
        'Date,Exercise,What I did\n2026-03-02,Bench Press,3x8@60\n2026-03-04,Squat,"100x5,5,4"\n',
        [(2, D2, B, 60.0, 8)] * 3 + [(3, D4, S, 100.0, 5), (3, D4, S, 100.0, 5), (3, D4, S, 100.0, 4)],
        id="notations",
    ),
    pytest.param(
        "Date,Exercise,Result\n2026-03-02,Bench Press,60 x 8 / 8 / 6\n",
        [(2, D2, B, 60.0, 8), (2, D2, B, 60.0, 8), (2, D2, B, 60.0, 6)],
        id="slashes",
    ),
    pytest.param(
        'Date,Exercise,Sets\n2026-03-02,Bench Press,"5,5,5 @ 60"\n2026-03-04,Squat,"5,5,5 @ 100"\n',
        [(2, D2, B, 60.0, 5)] * 3 + [(3, D4, S, 100.0, 5)] * 3,
        id="the sets themselves in a column called Sets",
    ),
    pytest.param(
        "Date,Exercise,Weight x Reps\n2026-03-02,Bench Press,10x8\n",
        [(2, D2, B, 10.0, 8)],
        id="the header says which comes first",
    ),
]
SET_COLUMNS = [
    pytest.param(
        "Date,Exercise,Set 1 kg,Set 1 reps,Set 2 kg,Set 2 reps\n2026-03-02,Bench Press,60,8,62.5,7\n",
        [(2, D2, B, 60.0, 8), (2, D2, B, 62.5, 7)],
        id="side by side",
    ),
    pytest.param(
        "Date,Exercise,Set 1 kg,Set 1 reps,Set 2 kg,Set 2 reps,Set 3 kg,Set 3 reps\n"
        "2026-03-02,Bench Press,60,8,,,57.5,7\n2026-03-02,Squat,100,5,,,,\n",
        [(2, D2, B, 60.0, 8), (2, D2, B, 57.5, 7), (3, D2, S, 100.0, 5)],
        id="with gaps",
    ),
    pytest.param(
        "Date,Exercise,kg,Set 1,Set 2,Set 3\n2026-03-02,Bench Press,60,8,8,7\n",
        [(2, D2, B, 60.0, 8), (2, D2, B, 60.0, 8), (2, D2, B, 60.0, 7)],
        id="one load for all",
    ),
    pytest.param(
        "Date,Exercise,S1,S2\n2026-03-02,Bench Press,60x8,62.5x7\n",
        [(2, D2, B, 60.0, 8), (2, D2, B, 62.5, 7)],
        id="whole sets in the columns",
    ),
    pytest.param(
        ",,Set 1,,Set 2,\nDate,Exercise,kg,Reps,kg,Reps\n2026-03-02,Bench Press,60,8,62.5,7\n",
        [(3, D2, B, 60.0, 8), (3, D2, B, 62.5, 7)],
        id="a header of two rows",
    ),
]
GRIDS = [
    pytest.param(
        "Exercise,2026-03-02,2026-03-04\nBench Press,60x8,62.5x8\nSquat,,100x5\n",
        [(2, D2, B, 60.0, 8), (2, D4, B, 62.5, 8), (3, D4, S, 100.0, 5)],
        id="dates across",
    ),
    pytest.param(
        "Exercise,2 March 2026,,4 March 2026,\n,kg,Reps,kg,Reps\nBench Press,60,8,62.5,7\n",
        [(3, D2, B, 60.0, 8), (3, D4, B, 62.5, 7)],
        id="dates over load and repetitions",
    ),
]
CARRIED = [
    pytest.param(
        "Date,Exercise,kg,Reps\n2026-03-02,Bench Press,60,8\n,,60,7\n,Squat,100,5\n"
        "2026-03-04,Bench Press,60,8\n,,60,8\n",
        [
            (2, D2, B, 60.0, 8),
            (3, D2, B, 60.0, 7),
            (4, D2, S, 100.0, 5),
            (5, D4, B, 60.0, 8),
            (6, D4, B, 60.0, 8),
        ],
        id="dates and exercises written once",
    ),
    pytest.param(
        "Exercise,kg,Reps\n2026-03-02,,\nBench Press,60,8\n,60,7\n2026-03-04,,\nSquat,100,5\n,100,5\n",
        [(3, D2, B, 60.0, 8), (4, D2, B, 60.0, 7), (6, D4, S, 100.0, 5), (7, D4, S, 100.0, 5)],
        id="days as headings",
    ),
    pytest.param(
        "Date,kg,Reps\nBench Press,,\n2026-03-02,60,8\n2026-03-04,62.5,8\nSquat,,\n2026-03-04,100,5\n",
        [(3, D2, B, 60.0, 8), (4, D4, B, 62.5, 8), (6, D4, S, 100.0, 5)],
        id="exercises as headings",
    ),
    pytest.param(
        "Date: 2 March 2026,,\nExercise,kg,Reps\nBench Press,60,8\nSquat,100,5\n",
        [(3, D2, B, 60.0, 8), (4, D2, S, 100.0, 5)],
        id="the day in the title",
    ),
]
HEADERLESS = [
    pytest.param(
        "2026-03-02,Bench Press,3x8@60\n2026-03-04,Squat,100kg x 5\n",
        [(1, D2, B, 60.0, 8)] * 3 + [(2, D4, S, 100.0, 5)],
        id="no header but cells that speak for themselves",
    ),
    pytest.param(
        "2026-03-02,Bench Press,60 kg,8 reps\n2026-03-04,Squat,100 kg,5 reps\n",
        [(1, D2, B, 60.0, 8), (2, D4, S, 100.0, 5)],
        id="no header but words in the cells",
    ),
]


@pytest.mark.parametrize(
    ("text", "expected"), [*SET_ROWS, *EXERCISE_ROWS, *SET_COLUMNS, *GRIDS, *CARRIED, *HEADERLESS]
)
def test_every_set_of_the_layout_is_read_and_nothing_else(text: str, expected: list[Row]) -> None:
    assert rows(text) == expected


@pytest.mark.parametrize(
    ("record", "rule"),
    [
        (",,,", "blank"),
        ("2026-03-03,Rest day,,", "rest_day"),
        ("2026-03-03,Ruhetag,,", "rest_day"),
        (",Total,480,", "total"),
        ("Summe,,480,8", "total"),
        ("2026-03-02,Squat,,", "not_done"),
        ("2026-03-02,Squat,100,skipped", "not_done"),
        ("2026-03-02,Squat,-,-", "not_done"),
        ("Date,Exercise,kg,Reps", "header"),
        ("all in kg,,,", "heading"),
    ],
)
def test_a_record_that_holds_no_set_is_named_by_rule(record: str, rule: str) -> None:
    read = read_log(f"Date,Exercise,kg,Reps\n2026-03-02,Bench,60,8\n{record}\n2026-03-02,Bench,60,8\n")
    assert read.ignored == {1: "header", 3: rule}
    assert len(read.sets) == 2


def test_a_row_of_set_columns_that_gives_nothing_but_effort_holds_no_set_and_is_not_lost() -> None:
    read = read_log(
        "Date,Exercise,Set 1 kg,Set 1 reps,Set 1 RPE\n2026-03-02,Bench,60,8,8\n2026-03-04,Bench,,,8\n"
    )
    assert read.amounts == [(60.0, 8)]
    assert read.ignored[3] == "not_done"


@pytest.mark.parametrize(
    "row",
    [
        "2026-03-02,Bench,2;60,8,8,",
        "2026-03-02,Bench,2,60;8,8,",
        "2026-03-02;Bench,2,60,8,8",
        "2026-03-02,Bench,2\t60,8,8,",
    ],
)
def test_a_record_whose_cells_another_separator_has_moved_is_refused(row: str) -> None:
    read = read_log(f"Date,Exercise,Set,kg,Reps,RPE,Notes\n2026-03-02,Bench,1,60,8,8,\n{row}\n")
    assert read.amounts == [(60.0, 8)]
    assert [number for number, _ in read.reasons] == [3]


def test_no_record_is_read_below_a_header_that_lacks_a_separator() -> None:
    read = read_log(
        "Date,Exercise,Set;Weight (kg),Reps,RPE,Notes\n"
        "2026-03-02,Bench,2,60,6,,\n2026-03-02,Pull-ups,3,0,8,,\n"
    )
    assert read.sets == []
    assert [number for number, _ in read.reasons] == [2, 3]


def test_an_inch_sign_behind_repetitions_makes_no_hold_of_a_press() -> None:
    read = read_log('Date,Exercise,kg,Reps\n2026-03-02,Bench,60,8"\n2026-03-02,Plank,,45"\n')
    assert read.values("exercise_id", "duration_s") == [("plank", 45.0)]
    assert read.reasons == [(2, "reps_unreadable")]


def test_a_short_record_and_semicolons_in_lists_or_notes_are_read() -> None:
    read = read_log(
        "Date,Exercise,kg,Reps,Notes,RPE\n2026-03-02,Bench,60,8;8;7\n2026-03-02,Squat,100,5,slow; deep\n"
    )
    assert read.amounts == [(60.0, 8), (60.0, 8), (60.0, 7), (100.0, 5)]


def test_a_header_that_mixes_set_columns_and_dates_loses_no_record() -> None:
    read = read_log("Exercise,2026-03-02,2026-03-04,Set 1 reps\nBench Press,60x8,62.5x8,8\nSquat,,100x5,\n")
    assert read.accounts.faults == ()


def test_rows_above_the_header_are_its_title() -> None:
    read = read_log("My log,,,\n,,,\nDate,Exercise,kg,Reps\n2026-03-02,Bench,60,8\n")
    assert read.ignored == {1: "title", 2: "blank", 3: "header"}


def test_sets_above_a_header_that_sorting_sent_down_are_read() -> None:
    read = read_log("2026-03-02,Bench,60,8\nspring block,,,\nDate,Exercise,kg,Reps\n2026-03-04,Squat,100,5\n")
    assert read.values("source_row", "load_kg", "reps") == [(1, 60.0, 8), (4, 100.0, 5)]
    assert read.ignored == {2: "title", 3: "header"}


def test_a_note_among_the_sets_is_kept_word_for_word() -> None:
    read = read_log(
        "Date,Exercise,kg,Reps\n2026-03-02,Bench Press,60,8\nslept badly and the gym was crowded,,,\n"
    )
    assert read.ignored[3] == "note"
    assert read.cleaned.tables.session_note["note"].to_list() == ["slept badly and the gym was crowded"]

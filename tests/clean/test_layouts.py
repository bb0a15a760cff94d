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


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Date,Exercise,kg,Reps\n2026-03-02,Bench,sixty,8\n", [(2, "load_unreadable")]),
        ("Date,Exercise,kg,Reps\n2026-03-02,Bench,60,many\n", [(2, "reps_unreadable")]),
        ("Date,Exercise,kg,Reps\n2026-03-02,Bench,60,8-10\n", [(2, "reps_range")]),
        ("Date,Exercise,kg,Reps\n2026-03-02,Bench,60,2026-08-10\n", [(2, "turned_into_date")]),
        ("Date,Exercise,kg,Reps\n2026-03-02,Bench,60,\n2026-03-02,Bench,60,8\n", [(2, "reps_missing")]),
        ("Date,Exercise,kg,Reps\n2026-03-02,Bench,,8\n", [(2, "load_missing")]),
        ("Date,Exercise,Sets,Reps,kg\n2026-03-02,Bench,3,,\n", [(2, "reps_missing")]),
        ("Date,Exercise,kg,Reps\n2026-03-02,Bench,-20,8\n", [(2, "load_negative")]),
        ("Date,Exercise,kg,Reps\n2026-03-02,,60,8\n", [(2, "exercise_missing")]),
        ("Date,Exercise,kg,Reps\n,Bench,60,8\n", [(2, "date_missing")]),
        ("Date,Exercise,kg,Reps\n30.02.2026,Bench,60,8\n", [(2, "date_impossible")]),
        ("Date,Exercise,kg,Reps\nsoon,Bench,60,8\n", [(2, "date_unreadable")]),
        ("Date,Exercise,kg,Reps\n2026-07-02,Bench,60,8\n", [(2, "date_in_future")]),
        ("Date,Exercise,Sets,Reps,kg\n2026-03-02,Bench,3,\"8,8\",60\n", [(2, "sets_contradict_reps")]),
        ("Date,Exercise,Sets,Reps,kg\n2026-03-02,Bench,lots,8,60\n", [(2, "sets_unreadable")]),
        ("Date,Exercise,Result\n2026-03-02,Bench,went fine 3x\n", [(2, "set_notation_unreadable")]),
        ("Date,Exercise,Result\n2026-03-02,Bench,\"4x8,8,7@60\"\n", [(2, "set_notation_contradiction")]),
        ("Date,Exercise,Time\n2026-03-02,Plank,a while\n", [(2, "duration_unreadable")]),
        ("Date,Exercise,Reps\n2026-03-02,Plank,3\n", [(2, "duration_unclear")]),
        ("Date,Exercise,kg,Reps\n2026-03-02,Squat,3 plates,8\n", [(2, "load_of_plates")]),
    ],
)  # fmt: skip
def test_a_record_that_cannot_be_read_is_refused_with_the_reason_and_the_text(
    text: str, expected: list[tuple[int, str]]
) -> None:
    read = read_log(text)
    assert read.reasons == expected
    assert read.accounts.faults == ()
    for row in read.cleaned.tables.rejected_row.to_dicts():
        assert row["message"]
        assert (row["raw_text"] or "") in text


@pytest.mark.parametrize(
    ("effort", "kept", "reason"),
    [
        ("8,", (8.0, 2.0), None),
        ("6,", (6.0, None), None),
        ("8-9,", (8.5, 1.5), None),
        (",2", (None, 2.0), None),
        ("11,", (None, None), "effort_out_of_range"),
        (",-1", (None, None), "effort_out_of_range"),
        ("hard,", (None, None), "effort_unreadable"),
        ("9,4", (None, None), "effort_contradiction"),
        ("2026-09-08,", (None, None), "turned_into_date"),
    ],
)
def test_a_set_is_kept_and_only_its_effort_refused(
    effort: str, kept: tuple[float | None, float | None], reason: str | None
) -> None:
    read = read_log(f"Date,Exercise,kg,Reps,RPE,RIR\n2026-03-02,Bench Press,60,8,{effort}\n")
    assert read.values("load_kg", "reps", "rpe", "rir") == [(60.0, 8, *kept)]
    parts = read.cleaned.tables.rejected_row.select("reason_code", "is_part").rows()
    assert parts == ([(reason, True)] if reason else [])


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Date,Exercise,kg,Set 1,Set 2,Set 3,RIR\n2026-03-02,Bench,60,8,7,6,2/1/0\n", [2, 1, 0]),
        ("Date,Exercise,kg,Set 1,Set 2,Set 3,RIR\n2026-03-02,Bench,60,8,,6,2/0\n", [2, 0]),
        ("Date,Exercise,kg,Set 1,Set 2,Set 3,RIR\n2026-03-02,Bench,60,8,7,6,1\n", [1, 1, 1]),
        ("Date,Exercise,kg,Set 1,Set 2,Set 3,RIR\n2026-03-02,Bench,60,8,7,6,1-2\n", [1.5, 1.5, 1.5]),
        ('Date,Exercise,kg,Reps,RIR\n2026-03-02,Bench,60,"8,7,6",2/1/0\n', [2, 1, 0]),
        ("Date,Exercise,Result,RIR\n2026-03-02,Bench,3x8@60,2/1/0\n", [2, 1, 0]),
        ("Date,Exercise,Set 1 kg,Set 1 reps,Set 1 RIR,Set 2 kg,Set 2 reps,Set 2 RIR\n"
         "2026-03-02,Bench,60,8,1/2,60,8,0/1\n", [1.5, 0.5]),
    ],
)  # fmt: skip
def test_effort_listed_once_for_all_sets_of_a_row_is_given_out_set_by_set(
    text: str, expected: list[float]
) -> None:
    read = read_log(text)
    assert [rir for (rir,) in read.values("rir")] == expected
    assert read.reasons == []


@pytest.mark.parametrize(
    ("cells", "columns", "expected"),
    [
        ("Dumbbell Row,2x25kg,8", ("load_kg", "implements", "load_basis"), (25.0, 2, "per_hand")),
        ("Dumbbell Row,25,8", ("load_kg", "implements", "load_basis"), (25.0, 2, "per_hand")),
        ("Dumbbell Row,50 kg total,8", ("load_kg", "implements"), (25.0, 2)),
        ("Squat,40/side,5", ("load_kg", "load_basis"), (100.0, "total")),
        ("Squat,40 kg/side + 15kg bar,5", ("load_kg", "load_basis"), (95.0, "total")),
        ("Squat,bar,5", ("load_kg", "load_basis"), (20.0, "total")),
        ("Squat,225 lb,5", ("load_kg", "load_unit"), (225 * 0.45359237, "lb")),
        ("Pull-ups,BW,8", ("load_kg", "load_basis"), (0.0, "bodyweight")),
        ("Pull-ups,,8", ("load_kg", "load_basis"), (0.0, "bodyweight")),
        ("Pull-ups,BW+20,8", ("load_kg", "load_basis"), (20.0, "bodyweight")),
        ("Pull-ups,20,8", ("load_kg", "load_basis"), (20.0, "bodyweight")),
        ("Pull-ups,-20,8", ("load_kg", "load_basis"), (-20.0, "assistance")),
        ("Assisted Pull-Up,20,8", ("load_kg", "load_basis"), (-20.0, "assistance")),
        ("Band pull-apart,red band,15", ("load_kg", "load_basis"), (None, "band")),
        ("Leg Curl,pin 7,12", ("load_kg", "load_basis"), (None, "machine_step")),
        ("Plank,,45s", ("duration_s", "reps", "set_kind"), (45.0, None, "timed")),
        ("Bench Press,60,12+", ("reps", "is_at_least"), (12, True)),
        ("Bench Press,60,8+3+2", ("reps", "set_kind"), (13, "rest_pause")),
        ("Bench Press,60,F", ("reps", "load_kg"), (0, 60.0)),
        ("Bench Press,60,8F", ("reps", "rir"), (8, 0.0)),
        ("Split squat,20,8/7", ("reps", "reps_left", "reps_right"), (7, 8, 7)),
        ("Bench Press (warm-up),40,8", ("exercise_id", "set_kind"), (B, "warm_up")),
        ("A1) Bench Press,60,8", ("exercise_id", "superset"), (B, "A1")),
        ("1. Bench Press,60,8", ("exercise_id",), (B,)),
    ],
)
def test_what_the_cells_of_a_set_mean_for_its_exercise(
    cells: str, columns: tuple[str, ...], expected: tuple[object, ...]
) -> None:
    (found,) = read_log(f"Date,Exercise,Load,Reps\n2026-03-02,{cells}\n").values(*columns)
    assert found == tuple(pytest.approx(e) if isinstance(e, float) else e for e in expected)


def test_a_unit_holds_until_a_row_says_another() -> None:
    text = (
        "Date,Exercise,Weight,Reps\n2026-03-02,Bench Press,100 kg,5\nfrom here on pounds,,,\n"
        "2026-03-04,Bench Press,225,5\nall weights in kg again,,,\n2026-03-06,Bench Press,102.5,5\n"
    )
    assert rows(text, unit="") == [
        (2, D2, B, 100.0, 5),
        (4, D4, B, pytest.approx(102.058, abs=1e-3), 5),
        (6, date(2026, 3, 6), B, 102.5, 5),
    ]


def test_a_unit_in_the_cell_beats_the_column_and_the_profile() -> None:
    text = "Date,Exercise,Weight (kg),Reps\n2026-03-02,Bench Press,60,8\n2026-03-02,Bench Press,135 lb,8\n"
    assert [round(load, 2) for load, _ in read_log(text, unit="lb").amounts if load] == [60.0, 61.23]


@pytest.mark.parametrize(
    ("header", "first", "second", "expected"),
    [
        ("Client", "Anna Berg", "ben", ["anna", "ben"]),
        ("Athlete", "Anna", "Okafor Ben", ["anna", "ben"]),
        ("Kunde", "ANNA BERG", "Ben O", ["anna", "ben"]),
    ],
)
def test_several_clients_in_a_file_keep_their_sets(
    header: str, first: str, second: str, expected: list[str]
) -> None:
    text = f"{header},Date,Exercise,kg,Reps\n{first},2026-03-02,Bench,60,8\n{second},2026-03-02,Bench,80,8\n"
    assert [client for (client,) in read_log(text, "saturday.csv").values("client_id")] == expected


@pytest.mark.parametrize(
    "name",
    ["anna/log.csv", "Anna Berg/2026/log.csv", "anna_2026-03.csv", "log anna berg.csv", "March/anna.csv"],
)
def test_the_client_comes_from_folder_or_file_name(name: str) -> None:
    read = read_log("Date,Exercise,kg,Reps\n2026-03-02,Bench,60,8\n", name)
    assert read.values("client_id") == [("anna",)]


def test_drop_sets_share_a_number_and_warm_ups_keep_theirs() -> None:
    text = (
        "Date,Exercise,Kind,kg,Reps\n2026-03-02,Bench,W,40,8\n2026-03-02,Bench,,60,8\n"
        "2026-03-02,Bench,drop,50,6\n2026-03-02,Bench,drop,40,5\n2026-03-02,Bench,,60,7\n"
    )
    found = read_log(text).values("set_kind", "set_index", "drop_index")
    assert found == [("warm_up", 1, 1), ("work", 2, 1), ("drop", 2, 2), ("drop", 2, 3), ("work", 3, 1)]


def test_a_drop_set_in_one_row_is_one_set_of_several_loads() -> None:
    text = "Date,Exercise,Set,kg,Reps\n2026-03-02,Lateral raise,1,20/15/10,10/8/6\n"
    found = read_log(text).values("load_kg", "reps", "set_index", "drop_index", "set_kind")
    assert found == [(20.0, 10, 1, 1, "drop"), (15.0, 8, 1, 2, "drop"), (10.0, 6, 1, 3, "drop")]


def test_left_and_right_in_two_rows_are_one_set() -> None:
    text = (
        "Date,Exercise,Side,kg,Reps\n2026-03-02,One-arm dumbbell row,L,20,10\n"
        "2026-03-02,One-arm dumbbell row,R,20,8\n"
    )
    read = read_log(text)
    assert read.values("source_row", "reps", "reps_left", "reps_right") == [(2, 8, 10, 8)]
    assert read.ignored[3] == "other_side"


def test_a_side_without_its_other_stays_a_set() -> None:
    text = "Date,Exercise,Side,kg,Reps\n2026-03-02,One-arm dumbbell row,R,20,8\n"
    assert read_log(text).values("reps") == [(8,)]

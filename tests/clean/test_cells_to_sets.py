"""What a record's cells come to: the sets of its exercise in its unit, or a refusal with its reason."""

from __future__ import annotations

from datetime import date

import pytest

from tests.inbox_reading import read_log


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
        ("Bench Press (warm-up),40,8", ("exercise_id", "set_kind"), ("bench_press", "warm_up")),
        ("A1) Bench Press,60,8", ("exercise_id", "superset"), ("bench_press", "A1")),
        ("1. Bench Press,60,8", ("exercise_id",), ("bench_press",)),
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
    read = read_log(text, unit="")
    assert read.accounts.faults == ()
    assert read.values("source_row", "session_date", "exercise_id", "load_kg", "reps") == [
        (2, date(2026, 3, 2), "bench_press", 100.0, 5),
        (4, date(2026, 3, 4), "bench_press", pytest.approx(102.058, abs=1e-3), 5),
        (6, date(2026, 3, 6), "bench_press", 102.5, 5),
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

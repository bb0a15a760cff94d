"""The coach's own exercises.csv, laid over the catalogue."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.clean.exercise_names import NameMatcher
from pipeline.contract.inputs import IMPLEMENTS, LOAD_BASES, MUSCLES, PATTERNS
from pipeline.reference import Catalogue, load_catalogue


def load(folder: Path, text: str | bytes) -> Catalogue:
    path = folder / "exercises.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return load_catalogue(path)


def exercise(catalogue: Catalogue, exercise_id: str) -> dict[str, object]:
    return catalogue.exercise.row(by_predicate=pl.col("exercise_id") == exercise_id, named=True)


def muscles(catalogue: Catalogue, exercise_id: str) -> dict[str, float]:
    credit = catalogue.exercise_muscle.filter(pl.col("exercise_id") == exercise_id)
    return dict(zip(credit["muscle"], credit["credit"], strict=True))


def test_without_a_file_the_catalogue_is_as_it_comes(tmp_path: Path) -> None:
    assert load_catalogue(tmp_path / "exercises.csv").exercise.equals(load_catalogue().exercise)


def test_an_own_exercise_is_added_and_its_spellings_are_read(tmp_path: Path) -> None:
    catalogue = load(
        tmp_path,
        (
            "Exercise,Pattern,Implement,Load basis,One sided,Spellings,Muscles\n"
            "Quay Wall Row,row,machine_stack,machine step,yes,Wall row; QWR,upper_back:1; lats:0.5; biceps\n"
        ),
    )
    assert catalogue.problems == ()
    row = exercise(catalogue, "quay_wall_row")
    assert (row["load_basis"], row["is_one_sided"], row["is_coach_own"]) == ("machine_step", True, True)
    assert row["is_e1rm_lift"] is False
    assert muscles(catalogue, "quay_wall_row") == {"upper_back": 1, "lats": 0.5, "biceps": 1}
    matcher = NameMatcher(catalogue)
    for text in ("Quay wall row", "QUAY WALL ROWS", "wall row", "QWR", "qwr", "Quay wlal row"):
        assert matcher.match(text).exercise_id == "quay_wall_row", text
    assert [matcher.match(text).how for text in ("Quay wall row", "QWR")] == ["exact", "known spelling"]


@pytest.mark.parametrize(
    ("cells", "basis", "implements", "is_e1rm"),
    [
        ("dumbbell,", "per_hand", 2, True),
        ("dumbbell,yes", "per_hand", 1, True),
        ("band,", "band", 1, False),
        ("bodyweight,", "bodyweight", 1, False),
        ("cable,", "total", 1, True),
        (",", "total", 1, True),
    ],
)
def test_what_a_new_exercise_leaves_open_follows_from_its_implement(
    tmp_path: Path, cells: str, basis: str, implements: int, is_e1rm: bool
) -> None:
    catalogue = load(tmp_path, f"exercise,implement,one_sided\nMy Lift,{cells}\n")
    row = exercise(catalogue, "my_lift")
    assert (row["load_basis"], row["implements"], row["is_e1rm_lift"]) == (basis, implements, is_e1rm)


def test_muscles_of_a_known_exercise_replace_ours_and_the_rest_stays(tmp_path: Path) -> None:
    catalogue = load(tmp_path, "exercise;muscles\nBSS;quads:1, glutes:1\n".replace(", ", "|"))
    assert catalogue.problems == ()
    assert muscles(catalogue, "bulgarian_split_squat") == {"quads": 1, "glutes": 1}
    before = exercise(load_catalogue(), "bulgarian_split_squat")
    assert exercise(catalogue, "bulgarian_split_squat") == before
    assert muscles(catalogue, "back_squat") == muscles(load_catalogue(), "back_squat")


def test_a_known_exercise_keeps_its_id_and_has_no_e1rm_once_its_load_is_no_kilograms(tmp_path: Path) -> None:
    catalogue = load(tmp_path, "exercise_id,load_basis\nleg_press,machine_step\n")
    row = exercise(catalogue, "leg_press")
    assert (row["load_basis"], row["is_e1rm_lift"], row["pattern"]) == ("machine_step", False, "leg_press")
    assert catalogue.exercise.height == load_catalogue().exercise.height


@pytest.mark.parametrize(
    ("spelling", "exercise_id"),
    [
        ("Press", "overhead_press"),
        ("Row", "barbell_row"),
        ("Bench", "dumbbell_bench_press"),
    ],
)
def test_the_coachs_spelling_wins_over_ours(tmp_path: Path, spelling: str, exercise_id: str) -> None:
    catalogue = load(tmp_path, f"exercise_id,spellings\n{exercise_id},{spelling}\n")
    assert NameMatcher(catalogue).match(spelling).exercise_id == exercise_id


@pytest.mark.parametrize(
    ("row", "column", "reason"),
    [
        ("My Lift,rowing,,,,", "pattern", "unknown_value"),
        ("My Lift,row,lever,,,", "implement", "unknown_value"),
        ("My Lift,row,,heavy,,", "bodyweight_share", "not_a_number"),
        ("My Lift,row,,3,,", "bodyweight_share", "out_of_range"),
        ("My Lift,row,,nan,,", "bodyweight_share", "out_of_range"),
        ("My Lift,row,,,bisceps:1,", "muscles", "unknown_muscle"),
        ("My Lift,row,,,biceps:2,", "muscles", "out_of_range"),
        ("My Lift,row,,,biceps:much,", "muscles", "not_a_number"),
        ("My Lift,row,,,,maybe", "timed", "unknown_value"),
        (",row,,,,", "exercise", "missing_name"),
    ],
)
def test_a_row_that_cannot_be_used_is_a_problem_and_changes_nothing(
    tmp_path: Path, row: str, column: str, reason: str
) -> None:
    header = "exercise,pattern,implement,bodyweight_share,muscles,timed"
    catalogue = load(tmp_path, f"{header}\n{row}\nGood Lift,row,,,,\n")
    assert [(p.source_row, p.column_name, p.reason_code) for p in catalogue.problems] == [(2, column, reason)]
    assert catalogue.problems[0].message.endswith(".")
    added = set(catalogue.exercise["exercise_id"]) - set(load_catalogue().exercise["exercise_id"])
    assert added == {"good_lift"}


def test_an_exercise_named_twice_counts_once_and_is_reported(tmp_path: Path) -> None:
    catalogue = load(tmp_path, "exercise,muscles\nBench press,chest:1\nBP,triceps:1\n")
    assert muscles(catalogue, "bench_press") == {"chest": 1}
    assert [(p.source_row, p.reason_code) for p in catalogue.problems] == [(3, "repeated_exercise")]


def test_a_spelling_given_to_two_exercises_is_reported(tmp_path: Path) -> None:
    catalogue = load(tmp_path, "exercise,spellings\nBench press,the big one\nDeadlift,The Big One\n")
    assert [(p.source_row, p.reason_code) for p in catalogue.problems] == [(3, "spelling_taken")]


def test_a_column_nobody_knows_is_reported_and_the_rest_is_used(tmp_path: Path) -> None:
    catalogue = load(tmp_path, "exercise,colour\nMy Lift,blue\n")
    assert [(p.source_row, p.column_name, p.reason_code) for p in catalogue.problems] == [
        (1, "colour", "unknown_column")
    ]
    assert exercise(catalogue, "my_lift")["exercise_name"] == "My Lift"


@pytest.mark.parametrize(
    ("content", "reasons"),
    [
        (b"", []),
        (b"\n\n", []),
        (b"pattern,implement\nrow,cable\n", ["missing_column"]),
        ("exercise\nÜbung Ä\n".encode("latin-1"), []),
        ("exercise\nMy Lift\n".encode("utf-16"), []),
        ("\ufeffexercise\tpattern\r\nMy Lift\trow\r\n".encode(), []),
    ],
)
def test_odd_files_are_read_or_reported(tmp_path: Path, content: bytes, reasons: list[str]) -> None:
    assert [p.reason_code for p in load(tmp_path, content).problems] == reasons


def test_a_folder_in_its_place_is_reported(tmp_path: Path) -> None:
    (tmp_path / "exercises.csv").mkdir()
    problems = load_catalogue(tmp_path / "exercises.csv").problems
    assert [p.reason_code for p in problems] == ["file_unreadable"]


ROWS = st.text(max_size=300).map(lambda text: f"exercise,muscles\n{text}".encode("utf-8", "replace"))


@pytest.mark.slow
@given(st.binary(max_size=300) | ROWS)
@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_file_raises_and_what_is_kept_is_valid(tmp_path: Path, content: bytes) -> None:
    catalogue = load(tmp_path, content)
    assert set(catalogue.exercise["pattern"]) <= set(PATTERNS)
    assert set(catalogue.exercise["implement"]) <= set(IMPLEMENTS)
    assert set(catalogue.exercise["load_basis"]) <= set(LOAD_BASES)
    assert set(catalogue.exercise_muscle["muscle"]) <= set(MUSCLES)
    NameMatcher(catalogue).match("Bench press")

"""The reference data hold together, and a coach's own exercises.csv is laid over them without a row lost."""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path

import polars as pl
import pytest

from pipeline.clean.name_tokens import canonical, plain_words
from pipeline.contract import TABLES
from pipeline.contract.inputs import IMPLEMENTS, LOAD_BASES, MUSCLES, PATTERNS
from pipeline.reference import load_catalogue, read_name_words
from pipeline.reference.catalogue import read_pattern_credits

CATALOGUE = load_catalogue()
EXERCISES = CATALOGUE.exercise.to_dicts()
FOLDER = Path(__file__).resolve().parents[2] / "pipeline" / "reference"


@pytest.mark.parametrize("name", ["exercise", "exercise_muscle", "muscle_target"])
def test_frames_have_the_columns_of_the_contract(name: str) -> None:
    assert getattr(CATALOGUE, name).columns == [column.name for column in TABLES[name].columns]


def test_there_are_at_least_190_exercises_with_ids_of_their_own() -> None:
    ids = [row["exercise_id"] for row in EXERCISES]
    assert len(ids) >= 190
    assert [key for key, n in Counter(ids).items() if n > 1] == []
    assert [key for key in ids if not key.replace("_", "").isalnum() or key != key.lower()] == []


def test_names_shown_are_unique() -> None:
    assert [n for n, count in Counter(r["exercise_name"] for r in EXERCISES).items() if count > 1] == []


@pytest.mark.parametrize(
    ("column", "allowed"),
    [
        ("pattern", PATTERNS),
        ("implement", IMPLEMENTS),
        ("load_basis", LOAD_BASES),
        ("implements", (1, 2)),
    ],
)
def test_every_exercise_has_allowed_values(column: str, allowed: tuple[object, ...]) -> None:
    assert [row["exercise_id"] for row in EXERCISES if row[column] not in allowed] == []


def test_loads_mean_what_the_implement_says() -> None:
    strange = [
        row["exercise_id"]
        for row in EXERCISES
        if (
            (row["load_basis"] == "per_hand") != (row["implement"] in ("dumbbell", "kettlebell"))
            and row["pattern"] != "carry"
        )
        or (row["load_basis"] == "band") != (row["implement"] == "band")
        or (row["implements"] == 2 and row["load_basis"] != "per_hand")
        or (row["load_basis"] == "assistance" and row["bodyweight_share"] != 1)
        or (row["load_basis"] in ("total", "per_hand") and row["bodyweight_share"] != 0)
    ]
    assert strange == []


def test_an_e1rm_is_only_for_a_known_load_on_a_full_movement() -> None:
    strange = [
        row["exercise_id"]
        for row in EXERCISES
        if row["is_e1rm_lift"]
        and (
            row["is_timed"]
            or row["load_basis"] in ("band", "machine_step", "none")
            or (row["load_basis"] == "bodyweight" and not row["bodyweight_share"])
        )
    ]
    assert strange == []


@pytest.mark.parametrize(
    ("exercise_id", "share"),
    [
        ("push_up", 0.64),
        ("knee_push_up", 0.49),
        ("feet_elevated_push_up", 0.74),  # Ebben et al. 2011
        ("pull_up", 1.0),
        ("chin_up", 1.0),
        ("dip", 1.0),
        ("assisted_pull_up", 1.0),  # [P]
        ("back_squat", 0.0),
        ("walking_lunge", 0.0),
    ],
)
def test_share_of_bodyweight_is_the_published_one(exercise_id: str, share: float) -> None:
    row = CATALOGUE.exercise.row(by_predicate=pl.col("exercise_id") == exercise_id, named=True)
    assert row["bodyweight_share"] == share


def test_every_exercise_trains_a_muscle_unless_it_is_a_carry_or_conditioning() -> None:
    trained = set(CATALOGUE.exercise_muscle["exercise_id"])
    without = [
        row["exercise_id"]
        for row in EXERCISES
        if row["exercise_id"] not in trained and row["pattern"] not in ("carry", "conditioning", "other")
    ]
    assert without == []


def test_credits_are_valid_and_each_given_once() -> None:
    credit = CATALOGUE.exercise_muscle
    assert set(credit["muscle"]) <= set(MUSCLES)
    assert set(credit["credit"]) <= {0.5, 1.0}
    assert set(credit["exercise_id"]) <= {row["exercise_id"] for row in EXERCISES}
    assert credit.select(["exercise_id", "muscle"]).is_duplicated().sum() == 0


@pytest.mark.parametrize(
    ("pattern", "expected"),
    [
        # REFERENCE 9, fractional counting: 1 direct, 0.5 indirect [P]
        ("horizontal_press", {"chest": 1, "triceps": 0.5, "front_delts": 0.5}),
        ("overhead_press", {"front_delts": 1, "triceps": 0.5, "side_delts": 0.5}),
        ("vertical_pull", {"lats": 1, "biceps": 0.5, "upper_back": 0.5, "rear_delts": 0.5}),
        ("row", {"upper_back": 1, "lats": 1, "biceps": 0.5, "rear_delts": 0.5}),
        ("squat", {"quads": 1, "glutes": 0.5, "adductors": 0.5}),
        ("leg_press", {"quads": 1, "glutes": 0.5, "adductors": 0.5}),
        ("lunge", {"quads": 1, "glutes": 0.5, "adductors": 0.5}),
        ("hip_hinge", {"glutes": 1, "hamstrings": 1, "spinal_erectors": 0.5, "upper_back": 0.5}),
    ],
)
def test_pattern_credit_is_the_table_of_the_reference(pattern: str, expected: dict[str, float]) -> None:
    assert read_pattern_credits()[pattern] == expected


def test_every_muscle_has_a_target_range_with_a_source() -> None:
    target = CATALOGUE.muscle_target
    assert set(target["muscle"]) == set(MUSCLES)
    assert target.filter(pl.col("target_low") >= pl.col("target_high")).is_empty()
    assert target.filter(pl.col("source").str.len_chars() < 5).is_empty()


def test_no_spelling_stands_for_two_exercises() -> None:
    words = read_name_words()
    meant: dict[frozenset[str], set[str]] = {}
    named = [(row["exercise_name"], row["exercise_id"]) for row in EXERCISES]
    named += [(row["exercise_id"], row["exercise_id"]) for row in EXERCISES]
    named += [(row["spelling"], row["exercise_id"]) for row in CATALOGUE.spelling.to_dicts()]
    for text, exercise_id in named:
        meant.setdefault(frozenset(canonical(plain_words(text), words)), set()).add(exercise_id)
    assert [ids for ids in meant.values() if len(ids) > 1] == []
    unsure = {frozenset(canonical(plain_words(u.spelling), words)) for u in CATALOGUE.unsure_spellings}
    assert [sorted(bag) for bag in unsure if bag in meant] == []


def test_spellings_and_candidates_point_at_exercises() -> None:
    ids = {row["exercise_id"] for row in EXERCISES}
    assert set(CATALOGUE.spelling["exercise_id"]) <= ids
    assert {c for unsure in CATALOGUE.unsure_spellings for c in unsure.candidates} <= ids
    assert [u.spelling for u in CATALOGUE.unsure_spellings if len(u.candidates) < 2] == []


@pytest.mark.parametrize("file_name", ["exercise_spelling.csv", "unsure_spelling.csv", "name_word.csv"])
def test_no_line_stands_twice(file_name: str) -> None:
    with (FOLDER / file_name).open(encoding="utf-8", newline="") as handle:
        lines = [tuple(line) for line in csv.reader(handle)]
    assert [line for line, n in Counter(lines).items() if n > 1] == []


def test_every_data_file_has_its_provenance_written_down() -> None:
    readme = (FOLDER / "README.md").read_text(encoding="utf-8")
    assert [path.name for path in FOLDER.glob("*.csv") if f"`{path.name}`" not in readme] == []

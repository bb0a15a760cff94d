"""An answer that means nothing to its question is refused at once, by the command line and by the pages alike."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.answer_check import check_answer
from pipeline.errors import SetwrightError

OWN = "exercise_id,exercise_name,spellings\nyard_walk,Yard Walk,gate walk;hof\n"
CELL = {"sets_reps": "sets × repetitions", "load_reps": "load × repetitions"}
COLUMNS = {"date, exercise, load, reps": "date, exercise, load, reps"}
UNIT = {"kg": "kilograms", "lb": "pounds"}


@pytest.fixture
def own_exercises(tmp_path: Path) -> Path:
    path = tmp_path / "exercises.csv"
    path.write_text(OWN, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("kind", "given", "choices", "kept"),
    [
        ("unit", "KG", UNIT, "kg"),
        ("unit", " Pounds ", UNIT, "lb"),
        ("date_order", "DMY", {"dmy": "day first (31/12)"}, "dmy"),
        ("date_order", "month first", {}, "mdy"),
        ("exercise", "back_squat", {}, "back_squat"),
        ("exercise", "Back Squat", {}, "back_squat"),
        ("exercise", "overhead-press", {}, "overhead_press"),
        ("exercise", "Yard walk", {}, "yard_walk"),
        ("exercise", "HOF", {}, "yard_walk"),
        ("exercise", "Ignore", {}, "ignore"),
        ("correction", "Newer", {}, "newer"),
        ("load", "keep", {}, "keep"),
        ("load", "187.4 lb", {}, "187.4 lb"),
        ("date", "28 June 2026", {}, "28 June 2026"),
        ("layout", "Load × repetitions", CELL, "load_reps"),
        ("layout", "exercise, reps, load", COLUMNS, "exercise, reps, load"),
        ("client", "somebody_new", {"anna": "anna"}, "somebody_new"),
    ],
)
def test_an_answer_is_kept_as_an_update_understands_it(
    kind: str, given: str, choices: dict[str, str], kept: str, own_exercises: Path
) -> None:
    assert check_answer(kind, given.strip(), choices, own_exercises) == kept


@pytest.mark.parametrize(
    ("kind", "given", "choices", "said"),
    [
        ("unit", "stones", UNIT, "stones is no answer to this question. Answer with kg or lb."),
        ("date_order", "ymd", {}, "Answer with dmy or mdy."),
        ("exercise", "banana", {}, "banana is no known exercise. Use the name or id of one, or add it to"),
        ("exercise", "Press", {}, "Press can be more than one exercise. Answer with "),
        ("correction", "maybe", {}, "Answer with newer, older or both."),
        ("load", "heavy", {}, "heavy is no load."),
        ("date", "some day", {}, "some day is no day."),
        ("layout", "upside down", CELL, "Answer with sets_reps or load_reps."),
        ("layout", "sets_reps", COLUMNS, "Answer with date, exercise, load, reps."),
    ],
)
def test_an_answer_that_means_nothing_is_refused_with_what_would_do(
    kind: str, given: str, choices: dict[str, str], said: str, own_exercises: Path
) -> None:
    with pytest.raises(SetwrightError) as refused:
        check_answer(kind, given, choices, own_exercises)
    assert said in str(refused.value)

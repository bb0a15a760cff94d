"""The exercise catalogue: the CSV files beside this module, and the coach's own exercises laid over them."""

from __future__ import annotations

import csv
import re
import unicodedata
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import polars as pl

_HERE = Path(__file__).resolve().parent


@dataclass(frozen=True)
class CatalogueProblem:
    """A row or cell of the coach's exercises.csv left out; `source_row` counts from 1, header included."""

    source_row: int
    column_name: str
    raw_text: str
    reason_code: str
    message: str


@dataclass(frozen=True)
class Exercise:
    """An exercise as in the contract table `exercise`; `bodyweight_share` is None where nobody knows it."""

    exercise_id: str
    exercise_name: str
    pattern: str
    implement: str
    load_basis: str
    bodyweight_share: float | None = 0.0
    implements: int = 1
    is_one_sided: bool = False
    is_timed: bool = False
    is_e1rm_lift: bool = False
    is_coach_own: bool = False


@dataclass(frozen=True)
class Spelling:
    """Another way of writing an exercise; the coach's own win over the catalogue's."""

    exercise_id: str
    spelling: str
    is_coach_own: bool = False


@dataclass(frozen=True)
class UnsureSpelling:
    """A name that means different exercises to different people: always asked, with these candidates."""

    spelling: str
    candidates: tuple[str, ...]


@dataclass(frozen=True)
class CatalogueRows:
    """The catalogue as plain rows, before the frames; `credits`: exercise id → muscle → credit."""

    exercises: dict[str, Exercise]
    credits: dict[str, dict[str, float]]
    spellings: tuple[Spelling, ...]
    problems: tuple[CatalogueProblem, ...] = ()


@dataclass(frozen=True)
class Catalogue:
    """What is known of exercises.

    `exercise`, `exercise_muscle` and `muscle_target` have the columns of the contract tables of those names;
    `spelling` has exercise_id, spelling, is_coach_own. `problems` are rows of the coach's file left out.
    """

    exercise: pl.DataFrame
    exercise_muscle: pl.DataFrame
    muscle_target: pl.DataFrame
    spelling: pl.DataFrame
    unsure_spellings: tuple[UnsureSpelling, ...] = ()
    problems: tuple[CatalogueProblem, ...] = field(default=())


def plain_key(text: str) -> str:
    """Letters and digits in lower case without accents, all else one space: `Pull-Up (W)` → `pull up w`."""
    text = unicodedata.normalize("NFKD", text.replace("ß", "ss").replace("ø", "o").replace("ł", "l"))
    text = "".join(ch for ch in text if not unicodedata.combining(ch)).lower()
    return re.sub(r"[\W_]+", " ", text).strip()


def read_rows(file_name: str) -> list[dict[str, str]]:
    """The rows of a CSV file beside this module."""
    with (_HERE / file_name).open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


@cache
def read_pattern_credits() -> dict[str, dict[str, float]]:
    """Movement pattern → muscle → credit, from pattern_muscle.csv (REFERENCE 9)."""
    credit: dict[str, dict[str, float]] = {}
    for row in read_rows("pattern_muscle.csv"):
        credit.setdefault(row["pattern"], {})[row["muscle"]] = float(row["credit"])
    return credit


@cache
def read_catalogue_rows() -> CatalogueRows:
    """The catalogue that comes with the product, without any coach's changes."""
    exercises = {
        row["exercise_id"]: Exercise(
            exercise_id=row["exercise_id"],
            exercise_name=row["exercise_name"],
            pattern=row["pattern"],
            implement=row["implement"],
            load_basis=row["load_basis"],
            bodyweight_share=float(row["bodyweight_share"]) if row["bodyweight_share"] else None,
            implements=int(row["implements"]),
            is_one_sided=row["is_one_sided"] == "true",
            is_timed=row["is_timed"] == "true",
            is_e1rm_lift=row["is_e1rm_lift"] == "true",
        )
        for row in read_rows("exercise.csv")
    }
    own: dict[str, dict[str, float]] = {}
    for row in read_rows("exercise_muscle.csv"):
        own.setdefault(row["exercise_id"], {})[row["muscle"]] = float(row["credit"])
    by_pattern = read_pattern_credits()
    # an exercise with rows of its own takes nothing from its pattern
    credit = {key: own.get(key) or by_pattern.get(ex.pattern, {}) for key, ex in exercises.items()}
    spellings = tuple(
        Spelling(row["exercise_id"], row["spelling"]) for row in read_rows("exercise_spelling.csv")
    )
    return CatalogueRows(exercises, credit, spellings)


@cache
def read_unsure_spellings() -> tuple[UnsureSpelling, ...]:
    """Names that are always asked about, from unsure_spelling.csv."""
    return tuple(
        UnsureSpelling(row["spelling"], tuple(row["candidates"].split(";")))
        for row in read_rows("unsure_spelling.csv")
    )


def build_catalogue(rows: CatalogueRows) -> Catalogue:
    """Frames with the contract's columns from plain rows."""
    text, real, yes_no = pl.String, pl.Float64, pl.Boolean
    exercise = pl.DataFrame(
        [vars(ex) for ex in rows.exercises.values()],
        schema={
            "exercise_id": text,
            "exercise_name": text,
            "pattern": text,
            "implement": text,
            "load_basis": text,
            "bodyweight_share": real,
            "implements": pl.Int64,
            "is_one_sided": yes_no,
            "is_timed": yes_no,
            "is_e1rm_lift": yes_no,
            "is_coach_own": yes_no,
        },
    )
    exercise_muscle = pl.DataFrame(
        [(key, muscle, value) for key, credit in rows.credits.items() for muscle, value in credit.items()],
        schema={"exercise_id": text, "muscle": text, "credit": real},
        orient="row",
    )
    muscle_target = pl.DataFrame(
        [
            (row["muscle"], float(row["target_low"]), float(row["target_high"]), row["source"])
            for row in read_rows("muscle_target.csv")
        ],
        schema={"muscle": text, "target_low": real, "target_high": real, "source": text},
        orient="row",
    )
    spelling = pl.DataFrame(
        [vars(s) for s in rows.spellings],
        schema={"exercise_id": text, "spelling": text, "is_coach_own": yes_no},
    )
    return Catalogue(
        exercise, exercise_muscle, muscle_target, spelling, read_unsure_spellings(), rows.problems
    )

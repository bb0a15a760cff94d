"""Reference data every stage may read: exercises, their spellings and muscles, target ranges, word lists.

The data are the CSV files in this folder; README.md there says where each comes from.
"""

from __future__ import annotations

from pathlib import Path

from pipeline.reference.catalogue import (
    Catalogue,
    CatalogueProblem,
    UnsureSpelling,
    build_catalogue,
    plain_key,
    read_catalogue_rows,
)
from pipeline.reference.coach_exercises import lay_coach_exercises_over
from pipeline.reference.name_words import NameWords, read_name_words, singular

__all__ = [
    "Catalogue",
    "CatalogueProblem",
    "NameWords",
    "UnsureSpelling",
    "load_catalogue",
    "plain_key",
    "read_name_words",
    "singular",
]


def load_catalogue(exercises_csv: Path | None = None) -> Catalogue:
    """The exercise catalogue, with the coach's own exercises.csv laid over it where that file exists.

    Never raises for what the coach wrote: rows that cannot be used are in `problems`, the rest applies.
    """
    rows = read_catalogue_rows()
    if exercises_csv is not None and exercises_csv.exists():
        rows = lay_coach_exercises_over(rows, exercises_csv)
    return build_catalogue(rows)

"""Notes that mention pain, found and kept word for word; never scored."""

from __future__ import annotations

import csv
import re
from functools import cache
from pathlib import Path

import polars as pl

from pipeline.clean.cells.folding import fold

_PAIN_CSV = Path(__file__).resolve().parents[1] / "reference" / "pain_word.csv"


@cache
def _patterns() -> tuple[re.Pattern[str], re.Pattern[str], re.Pattern[str]]:
    """Pain words, warning signs, and wordings that only sound like pain."""
    with _PAIN_CSV.open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))

    def joined(kind: str) -> re.Pattern[str]:
        words = sorted((fold(row["pattern"]) for row in rows if row["kind"] == kind), key=len, reverse=True)
        return re.compile(r"\b(?:" + "|".join(words) + r")")

    return joined("pain"), joined("warning"), joined("no_pain")


def find_pain(note: str | None) -> tuple[str, bool] | None:
    """The first word of a note that tells of pain, and whether it is a warning sign; None where there is none."""
    if not note:
        return None
    folded = fold(note)
    pain, warning, no_pain = _patterns()
    sign = warning.search(folded)
    if sign:
        return sign.group(0), True
    word = pain.search(no_pain.sub(" ", folded))
    return (word.group(0), False) if word else None


def pain_notes(frame: pl.DataFrame) -> pl.DataFrame:
    """Rows of a frame with a `note` that mentions pain, with `word` and `is_warning_sign`; one a note and row."""
    notes = frame["note"].drop_nulls().unique().to_list()
    found = [(note, *hit) for note in notes if (hit := find_pain(note))]
    words = pl.DataFrame(
        found, orient="row", schema={"note": pl.String, "word": pl.String, "is_warning_sign": pl.Boolean}
    )
    return frame.join(words, on="note", how="inner", maintain_order="left")

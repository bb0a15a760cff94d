"""Lines of words that take back figures: which of the sets above they speak of."""

from __future__ import annotations

import re
from collections.abc import Sequence

from pipeline.clean.cells.folding import fold


def sets_spoken_of(text: str, rows: Sequence[dict[str, object]], exercise: str) -> list[dict[str, object]]:
    """Earlier sets that a correction names by exercise, weekday and figure, of the latest such day.

    `exercise`: the one it is about where it names none.
    """
    words = {word for word in re.split(r"[^a-z]+", fold(text)) if len(word) >= 3}
    figures = figures_of(text)
    sets = [row for row in rows if not row["problem"]]
    named = [row for row in sets if words & set(re.split(r"[^a-z]+", fold(str(row["exercise_text"]))))]
    named = named or [row for row in sets if row["exercise_text"] == exercise]
    of_day = [row for row in named if words & set(re.split(r"[^a-z]+", fold(str(row["date_text"]))))]
    named = of_day or named
    hit = [row for row in named if figures & figures_of(row["load_text"], row["reps_text"])]
    last = (hit or named)[-1:]
    return [row for row in hit or named if row["date_text"] == last[0]["date_text"]]


def figures_of(*texts: object) -> set[str]:
    """The numbers in texts, with decimal points."""
    joined = " ".join(str(text) for text in texts if text)
    return {figure.replace(",", ".") for figure in re.findall(r"\d+(?:[.,]\d+)?", joined)}

"""Whether a column of whole numbers numbers the sets or counts them, by how they go on."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence

import polars as pl

from pipeline.clean.headers import HeaderCell

MOST_NUMBERS = 400  # as many of a column tell whether it numbers sets or counts them


def numbers_sets(body: pl.DataFrame, columns: dict[str, HeaderCell], number: str, header: str) -> bool:
    """True where a column numbers sets although none is the first: by its word, or 2 and 3 of one exercise."""
    if re.search(r"#|\b(?:no|nr|num|number|nummer|order|index|id)\b", header.lower()):
        return True
    same = [c for c, cell in columns.items() if cell.role in ("client", "date", "exercise")]
    rows = body.select(number, *same).drop_nulls(number).head(MOST_NUMBERS).rows()
    return any(
        above[0].isdecimal()
        and below[0].isdecimal()
        and abs(int(below[0]) - int(above[0])) == 1
        and all(b in (None, a) for a, b in zip(above[1:], below[1:], strict=True))
        for above, below in itertools.pairwise(rows)
    )


def _whole(values: Sequence[str | None]) -> list[int]:
    """The first whole numbers of a column, as many as tell how it counts."""
    found = (str(value).strip().removesuffix(".0") for value in values if value)
    numbers = (int(value) for value in found if value.isdecimal())
    return list(itertools.islice(numbers, MOST_NUMBERS))


def counts_up(values: Sequence[str | None]) -> bool:
    """1, 2, 3, 1, 2, 3 … : the column numbers the sets."""
    numbers = _whole(values)
    steps = [b for a, b in itertools.pairwise(numbers) if b == a + 1 or b == 1]
    rises = [b for a, b in itertools.pairwise(numbers) if b == a + 1]
    return (
        len(numbers) >= 3 and numbers[0] == 1 and len(steps) >= 0.85 * (len(numbers) - 1) and len(rises) >= 2
    )


def never_counts_up(values: Sequence[str | None]) -> bool:
    """3, 3, 4, 3 … without a 1: the column counts sets."""
    numbers = _whole(values)
    return len(numbers) >= 2 and min(numbers) >= 2

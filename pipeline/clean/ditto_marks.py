"""Ditto marks (`″`, `-"-`, `idem`, `do.`): the text that stands above in the same column."""

from __future__ import annotations

import re

import polars as pl

from pipeline.clean.cells.folding import fold
from pipeline.clean.layout import HOW_MUCH, Layout

_SIGN = re.compile(r"[-.]* ?(?:[\"〃„]{1,2}|''|,,) ?[-.]*")
_WORD = re.compile(
    r"ditto|dito|dto|do|idem|id|same|same as above|as above|wie oben|comme ci-dessus|come sopra"
)
_SAID_AGAIN = ("date", "exercise", "client", "weekday", "rpe", "rir", *HOW_MUCH)


def is_ditto(text: str, *, is_weekday: bool = False) -> bool:
    """True for a mark that repeats what stands above; `do` is Thursday in a column of weekdays."""
    folded = fold(text).strip()
    return _SIGN.fullmatch(folded) is not None or (
        not is_weekday and _WORD.fullmatch(folded.rstrip(".")) is not None
    )


def write_out_dittos(body: pl.DataFrame, layout: Layout) -> pl.DataFrame:
    """The records with each ditto mark replaced by the text above it; one with nothing above it is blank."""
    changes = []
    for column, cell in layout.columns.items():
        if cell.role not in _SAID_AGAIN or column not in body.columns:
            continue
        texts = body[column].drop_nulls().unique().to_list()
        marks = [t for t in texts if len(t) <= 20 and is_ditto(t, is_weekday=cell.role == "weekday")]
        if marks:
            is_mark = pl.col(column).is_in(marks)
            above = pl.when(is_mark).then(None).otherwise(pl.col(column)).forward_fill()
            changes.append(pl.when(is_mark).then(above).otherwise(pl.col(column)).alias(column))
    return body.with_columns(changes) if changes else body

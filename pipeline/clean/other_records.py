"""Records of a table that hold no set, each by the rule that names it; headings also speak for the rows below."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

import polars as pl

from pipeline.clean.cells.folding import fold, is_blank
from pipeline.clean.entries import Unfolded
from pipeline.clean.layout import Layout
from pipeline.clean.row_rules import (
    is_not_done,
    is_rest_day,
    is_total,
    parse_client_statement,
    parse_unit_statement,
)
from pipeline.clean.titles import parse_day_heading
from pipeline.clean.week_days import parse_weekday

HEADING_KINDS = ("date", "unit", "client", "exercise", "weekday")


def says_something(body: pl.DataFrame, column: str) -> pl.Expr:
    blank = [
        text
        for text in body[column].drop_nulls().unique().to_list()
        if is_blank(text) or (len(text) < 40 and is_not_done(text))
    ]
    there = pl.col(column).is_not_null()
    return there & ~pl.col(column).is_in(blank) if blank else there


_LONGEST_WORDS = 60  # characters of a text that names a total


def is_total_row(body: pl.DataFrame, column: str) -> pl.Expr:
    """True for a record whose cell in a column names a total."""
    return _says(body, column, is_total)


_OF_ALL_SETS = re.compile(r"best|max(?:imum)?|min(?:imum)?|mean|top")


def is_summed(body: pl.DataFrame, column: str) -> pl.Expr:
    """True for `Average` or `Best` where the number of a set stands: a figure of all sets, none of its own."""
    return _says(body, column, lambda text: is_total(text) or _OF_ALL_SETS.fullmatch(fold(text)) is not None)


def _says(body: pl.DataFrame, column: str, is_it: Callable[[str], bool]) -> pl.Expr:
    texts = body[column].drop_nulls().unique().to_list()
    found = [text for text in texts if len(text) < _LONGEST_WORDS and is_it(text)]
    return pl.col(column).is_in(found).fill_null(value=False) if found else pl.lit(value=False)


def classify_others(
    marked: pl.DataFrame,
    layout: Layout,
    general: dict[str, str],
    notes: list[str],
    unfolded: Unfolded,
    knows: Callable[[str], bool],
) -> dict[str, dict[int, str]]:
    """Name the rule of each record that holds no set; headings also say something for the rows below."""
    headings: dict[str, dict[int, str]] = {kind: {} for kind in HEADING_KINDS}
    cell_columns = [c for c in marked.columns if c.startswith("c") and c[1:].isdigit()]
    amount_like = {
        c
        for c in cell_columns
        if layout.columns.get(c)
        and layout.columns[c].role
        in ("reps", "load", "set_cell", "notation", "date_column", "n_sets", "rpe", "rir")
    }
    exercise = general.get("exercise_text")
    for row in marked.filter(~pl.col("has_amount") | pl.col("is_total")).iter_rows(named=True):
        number = row["source_row"]
        filled = {c: row[c] for c in cell_columns if row[c] is not None}
        texts = list(dict.fromkeys(filled.values()))
        if not texts:
            unfolded.ignored[number] = "blank"
        elif row["is_total"]:
            unfolded.ignored[number] = "total"
        elif any(is_rest_day(text) for text in texts):
            unfolded.ignored[number] = "rest_day"
        else:
            said = {c: t for c, t in filled.items() if not is_blank(t) and c not in amount_like}
            unfolded.ignored[number] = _heading(number, said, exercise, filled, texts, headings, notes, knows)
    return headings


def _heading(
    number: int,
    said: dict[str, str],
    exercise: str | None,
    filled: dict[str, str],
    texts: Iterable[str],
    headings: dict[str, dict[int, str]],
    notes: list[str],
    knows: Callable[[str], bool],
) -> str:
    alone = list(dict.fromkeys(said.values()))
    for text in texts:
        if parse_unit_statement(text):
            headings["unit"][number] = parse_unit_statement(text)
            return "heading"
        if parse_client_statement(text):
            headings["client"][number] = parse_client_statement(text)
            return "heading"
    if 1 <= len(alone) <= 2 and parse_day_heading(alone[0]) and exercise not in list(said)[1:]:
        headings["date"][number] = parse_day_heading(alone[0])
        return "heading"
    if len(alone) == 1 and parse_weekday(alone[0]) and len(filled) == len(said):
        headings["weekday"][number] = alone[0]
        return "heading"
    if exercise in said and len(said) == 1 and len(filled) == 1:
        headings["exercise"][number] = said[exercise]
        return "heading"
    if exercise is None and len(alone) == 1 and knows(alone[0]):
        headings["exercise"][number] = alone[0]
        return "heading"
    if exercise in said:
        return "not_done"
    return (
        "note" if alone and (list(said) == notes or len(alone[0]) > 25) else "heading" if alone else "blank"
    )
